"""The calibration of the axis in a run's figures; constructed runs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

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


def calibrated(run: Run, **changes: object) -> Run:
    given: dict[str, object] = {
        "calibration_id": "c1",
        "rig_id": "bench-1",
        "certificate": "AX-7",
        "calibrated_on": date(2026, 1, 10),
        "due_on": date(2027, 1, 10),
        # 1 um too far for every mm from home
        "positions_mm": (0.0, 30.0),
        "corrections_mm": (0.0, 0.030),
        "standard_uncertainty_mm": (0.003, 0.003),
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

    figures = run_figures(calibrated(run, positions_mm=(5.0, 30.0)))

    assert figures.operate.value == run_figures(run).operate.value
    (said,) = [said for said in figures.warnings if "calibration" in said]
    assert "it is not applied" in said
