"""The calibration of the axis in a run's figures; constructed runs."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from rig.analysis.edges.sweep_points import points_of_run
from rig.analysis.run.run_figures import run_figures
from rig.model.calibration import AxisCalibration
from rig.model.figures import Figure
from rig.model.sweeps import Run

MakeRun = Callable[..., Run]
# Datum 20000 steps, 1600 steps/mm: 12.5 mm from home; 8 mm gap is 4.5 mm from home
OPERATE = [7200, 7201, 7199, 7202, 7198, 7200]
RELEASE = [at - 1600 - 64 for at in OPERATE]
SPEEDS = [1.0, 2.0] * 3
PLACES = tuple(0.5 * index for index in range(61))


def calibrated(run: Run, **changes: object) -> Run:
    given: dict[str, object] = {
        "calibration_id": "c1",
        "rig_id": "bench-1",
        "certificate": "AX-7",
        "calibrated_on": date(2026, 1, 10),
        "due_on": date(2027, 1, 10),
        # 1 um too far for every mm from home
        "positions_mm": PLACES,
        "corrections_mm": tuple(0.001 * place for place in PLACES),
        "standard_uncertainty_mm": (0.003,) * len(PLACES),
    }
    calibration = AxisCalibration(**given | changes)  # type: ignore[arg-type]
    conditions = replace(run.header.conditions, calibration=calibration)
    return replace(run, header=replace(run.header, conditions=conditions))


def axis_line(figure: Figure) -> float:
    (line,) = [line for line in figure.budget if "axis" in line.name]
    return abs(line.standard_uncertainty * line.sensitivity)


def test_a_longer_scale_makes_every_gap_longer_in_proportion(make_run: MakeRun) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS)

    plain, corrected = run_figures(run), run_figures(calibrated(run))

    for name in ("operate", "release", "differential_travel"):
        before, after = getattr(plain, name).value, getattr(corrected, name).value
        assert after == pytest.approx(1.001 * before, abs=1e-9), name


def test_single_readings_are_corrected_like_the_figures(make_run: MakeRun) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS)

    for (on, off), (new_on, new_off) in zip(
        points_of_run(run), points_of_run(calibrated(run)), strict=True
    ):
        assert on is not None
        assert off is not None
        assert new_on == pytest.approx(1.001 * on, abs=1e-9)
        assert new_off == pytest.approx(1.001 * off, abs=1e-9)


def test_a_valid_calibration_brings_its_own_uncertainty(make_run: MakeRun) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS, axis_mm=0.010)

    figures = run_figures(calibrated(run))

    # Both ends, 3 um each, root sum of squares
    assert axis_line(figures.operate) == pytest.approx(0.003 * 2**0.5)
    assert not [said for said in figures.warnings if "calibration" in said]


def test_a_stale_calibration_is_said_and_trusted_less(make_run: MakeRun) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS, axis_mm=0.010)

    figures = run_figures(calibrated(run, due_on=date(2026, 11, 24)))

    (said,) = [said for said in figures.warnings if "calibration" in said]
    assert said.startswith("The calibration AX-7 of the axis was due on 2026-11-24")
    assert axis_line(figures.operate) == pytest.approx((2 * 0.003**2 + 0.01**2) ** 0.5)


def test_a_gap_outside_the_calibrated_places_is_left_alone_and_said(
    make_run: MakeRun,
) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS)

    shifted = tuple(5.0 + place for place in PLACES)
    figures = run_figures(calibrated(run, positions_mm=shifted))

    assert figures.operate.value == run_figures(run).operate.value
    (said,) = [said for said in figures.warnings if "calibration" in said]
    assert "it is not applied" in said


LEAD = 2.0


def screw_mm(place_mm: float, amplitude_mm: float, phase: float) -> float:
    """Error of a screw that repeats with every turn, at a commanded place."""
    return amplitude_mm * math.sin(2.0 * math.pi * place_mm / LEAD + phase)


def run_on_a_screw(
    make_run: MakeRun,
    *,
    amplitude_mm: float,
    phase: float,
    backlash_mm: float,
    operate_mm: float = 8.0,
    travel_mm: float = 1.4,
) -> Run:
    """Return a run of a bench whose carriage goes m + s(m) on approach, and on retreat
    the backlash more; datum and backlash are what the contacts show in counts.
    """
    scale = 16000.0  # fine steps: the screw alone is to be seen

    def count(actual_mm: float, lost_mm: float) -> float:
        place = actual_mm - lost_mm
        for _ in range(60):
            place = actual_mm - lost_mm - screw_mm(place, amplitude_mm, phase)
        return place * scale

    face_mm = 12.5 + phase
    closing, opening = count(face_mm, 0.0), count(face_mm, backlash_mm)
    on = round(count(face_mm - operate_mm, 0.0) + 0.5)
    off = round(count(face_mm - operate_mm - travel_mm, backlash_mm) - 0.5)
    run = make_run([on] * 6, [off] * 6, SPEEDS)
    conditions = run.header.conditions
    conditions = replace(
        conditions,
        axis=replace(conditions.axis, steps_per_mm=scale),
        datum=replace(conditions.datum, position_steps=closing),
        backlash=replace(conditions.backlash, value_mm=(closing - opening) / scale),
    )
    return replace(run, header=replace(run.header, conditions=conditions))


def table_of_screw(
    spacing_mm: float, *, amplitude_mm: float, phase: float, backlash_mm: float
) -> dict[str, object]:
    places = tuple(float(x) for x in np.arange(0.0, 30.0 + 1e-9, spacing_mm))
    up = tuple(screw_mm(x, amplitude_mm, phase) for x in places)
    known = (0.0003,) * len(places)
    return {
        "positions_mm": places,
        "corrections_mm": up,
        "standard_uncertainty_mm": known,
        "corrections_down_mm": tuple(each + backlash_mm for each in up),
        "standard_uncertainty_down_mm": known,
        "screw_lead_mm": LEAD,
    }


@pytest.mark.parametrize("phase", [0.0, 0.8, 1.6, 2.4, 3.2, 4.0, 4.8, 5.6])
@pytest.mark.parametrize("backlash_mm", [0.0, 0.04, 0.093])
def test_a_dense_table_takes_a_bad_screw_out_whatever_the_backlash(
    make_run: MakeRun, backlash_mm: float, phase: float
) -> None:
    screw = {"amplitude_mm": 0.05, "phase": phase, "backlash_mm": backlash_mm}
    run = run_on_a_screw(make_run, **screw)

    figures = run_figures(calibrated(run, **table_of_screw(0.1, **screw)))

    for figure, true_mm in (
        (figures.operate, 8.0),
        (figures.release, 9.4),
        (figures.differential_travel, 1.4),
    ):
        # Half a step of 0.06 um, and what lines leave of 50 um in a tenth of a mm
        assert abs(figure.value - true_mm) < 0.0013
        line = axis_line(figure)
        assert abs(figure.value - true_mm) < 0.0001 + 2.0 * line
        assert line < 0.0012


def test_approach_alone_corrects_release_at_the_right_places_too(
    make_run: MakeRun,
) -> None:
    screw = {"amplitude_mm": 0.05, "phase": 1.6, "backlash_mm": 0.093}
    run = run_on_a_screw(make_run, **screw)
    table = table_of_screw(0.1, **screw)
    table |= {"corrections_down_mm": (), "standard_uncertainty_down_mm": ()}

    figures = run_figures(calibrated(run, **table))

    assert abs(figures.release.value - 9.4) < 0.0013


@pytest.mark.long
def test_what_lies_between_the_places_is_covered_by_its_line(
    make_run: MakeRun,
) -> None:
    chance = random.Random(4)
    missed = 0
    for _ in range(300):
        screw = {
            "amplitude_mm": 0.02,
            "phase": chance.uniform(0.0, 2.0 * math.pi),
            "backlash_mm": 0.04,
        }
        run = run_on_a_screw(make_run, **screw, operate_mm=chance.uniform(7.0, 9.0))
        table = table_of_screw(0.5, **screw)
        travel = run_figures(calibrated(run, **table)).differential_travel
        missed += abs(travel.value - 1.4) > 2.0 * axis_line(travel)

    assert missed <= 0.05 * 300


@pytest.mark.parametrize("spacing_mm", [1.0, 2.0])
def test_places_that_leave_the_period_unseen_carry_its_uncertainty_and_say_so(
    make_run: MakeRun, spacing_mm: float
) -> None:
    screw = {"amplitude_mm": 0.005, "phase": 0.0, "backlash_mm": 0.04}
    run = run_on_a_screw(make_run, **screw)
    plain = run_figures(run)

    figures = run_figures(calibrated(run, **table_of_screw(spacing_mm, **screw)))

    assert axis_line(figures.operate) >= axis_line(plain.operate)
    (said,) = [said for said in figures.warnings if "calibration" in said]
    assert f"places up to {spacing_mm:g} mm apart" in said
    assert "that error is not seen" in said
