"""What the bench adds to each figure: names, signs and what cancels, worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.edges.bench_causes import bench_causes, widest
from rig.analysis.run.run_figures import run_figures
from rig.model.bench_declaration import (
    SCREW_CLASSES,
    BenchDeclaration,
    ValueSource,
    knowledge_of,
    screw_class,
)
from rig.model.bench_items import BENCH_ITEMS
from rig.model.figures import Contribution, Figure
from rig.model.mounted import BacklashSource
from rig.model.sweeps import Run
from tests import builders
from tests.declared_benches import declared_bench

ON = [7200, 7203, 7198, 7201, 7202, 7199]
OFF = [6400, 6398, 6403, 6401, 6397, 6402]
SPEEDS = [1.0, 4.0] * 3


def run_on(declaration: BenchDeclaration | None, **conditions: object) -> Run:
    known = None
    if declaration is not None:
        known = knowledge_of(declaration, touch_speed_mm_s=0.25)
    sweeps = [
        builders.sweep(
            index,
            [
                builders.edge(on, approaching=True, level=True),
                builders.edge(off, approaching=False, level=False),
            ],
            speed_mm_s=speed,
        )
        for index, (on, off, speed) in enumerate(zip(ON, OFF, SPEEDS, strict=True))
    ]
    return builders.run(sweeps, conditions={"bench": known, **conditions})


def line(figure: Figure, begins: str) -> Contribution:
    (found,) = (line for line in figure.budget if line.name.startswith(begins))
    return found


def names(figure: Figure) -> str:
    return " | ".join(line.name for line in figure.budget)


def test_a_late_probe_moves_the_datum_once_and_the_travel_twice_the_other_way() -> None:
    figures = run_figures(run_on(declared_bench(delay_ms=10.0)))

    late = "touch probe, delay"
    assert line(figures.operate, late).sensitivity == 1.0
    assert line(figures.release, late).sensitivity == -1.0
    assert line(figures.differential_travel, late).sensitivity == -2.0
    # 10 ms at 0.25 mm/s, one way
    u = line(figures.operate, late).standard_uncertainty
    assert u == pytest.approx(0.0025 / math.sqrt(2.0))


def test_a_late_probe_is_not_in_a_backlash_that_an_indicator_gave() -> None:
    figures = run_figures(
        run_on(
            declared_bench(delay_ms=10.0, hysteresis_um=5.0),
            backlash={"source": BacklashSource.INDICATOR},
        )
    )

    assert line(figures.release, "touch probe, delay").sensitivity == 1.0
    assert "touch probe" not in names(figures.differential_travel)


def test_what_moves_the_datum_alone_is_not_in_the_travel() -> None:
    figures = run_figures(
        run_on(declared_bench(offset_um=5.0, pretravel_um=3.0, tilt_um=4.0))
    )

    for cause in ("touch probe, offset", "touch probe, pre-travel", "plate out of"):
        assert line(figures.operate, cause).sensitivity == 1.0
        assert cause not in names(figures.differential_travel)
        assert line(figures.differential_travel_percent, cause)


def test_a_wrong_scale_cancels_in_the_share_of_the_travel() -> None:
    figures = run_figures(
        run_on(declared_bench(linear_um_per_mm=1.0, cosine_deg=3.0, span_k=10.0))
    )

    for cause in ("linear error", "angle between", "thermal expansion"):
        travel = line(figures.differential_travel, cause)
        assert travel.sensitivity == pytest.approx(figures.differential_travel.value)
        assert cause not in names(figures.differential_travel_percent)


def test_a_periodic_error_of_whole_turns_apart_cancels() -> None:
    travel = run_figures(run_on(None)).differential_travel.value
    figures = run_figures(
        run_on(declared_bench(lead_mm=travel / 2.0, periodic_um=10.0))
    )

    parts = [
        line(figures.differential_travel, f"periodic error of the screw, {part}")
        for part in ("sine", "cosine")
        if part in names(figures.differential_travel)
    ]
    assert all(abs(part.sensitivity) < 1e-9 for part in parts)
    assert "sine part" in names(figures.operate)


def test_with_an_unknown_lead_places_agree_as_over_all_leads() -> None:
    figures = run_figures(run_on(declared_bench(lead_mm=0.0, periodic_um=10.0)))

    variance = {
        figure: sum(
            (one.sensitivity * one.standard_uncertainty) ** 2
            for one in getattr(figures, figure).budget
            if one.name.startswith("periodic error of the screw, at the")
        )
        for figure in ("operate", "release", "differential_travel")
    }
    # Leads even in their logarithm, one by one; 10 um at each place for a rectangle
    leads_mm = np.geomspace(1.0, 10.0, 200_001)
    apart_mm = figures.differential_travel.value
    alike = float(np.mean(np.cos(2.0 * np.pi * apart_mm / leads_mm)))
    of_place = 0.010**2 / 3.0
    assert abs(alike) > 0.01
    assert variance["operate"] == pytest.approx(2.0 * of_place)
    assert variance["release"] == pytest.approx(2.0 * of_place)
    assert variance["differential_travel"] == pytest.approx(
        2.0 * of_place * (1.0 - alike), rel=1e-4
    )


@pytest.mark.parametrize(
    ("source", "dof"),
    [
        (ValueSource.CERTIFICATE, math.inf),
        # GUM, G.4.2: an uncertainty good to 10 and to 25 %
        (ValueSource.MEASURED, 50.0),
        (ValueSource.MAKER, 50.0),
        (ValueSource.ASSUMED, 8.0),
    ],
)
def test_degrees_of_freedom_follow_the_source(source: ValueSource, dof: float) -> None:
    figures = run_figures(run_on(declared_bench(source, offset_um=5.0)))

    found = line(figures.operate, "touch probe, offset")
    assert found.name.endswith(f"({source.value})")
    assert found.degrees_of_freedom == dof


def test_a_run_from_before_benches_were_declared_keeps_what_it_stated() -> None:
    figures = run_figures(run_on(None))

    assert line(figures.operate, "touch probe").standard_uncertainty == 0.002
    assert line(figures.operate, "axis position").standard_uncertainty == 0.001
    assert "(" not in names(figures.operate)
    expected = math.hypot(
        0.002,
        0.001,
        0.0005,
        line(figures.operate, "repeatability").standard_uncertainty
        * line(figures.operate, "repeatability").sensitivity,
    )
    combined = figures.operate.expanded_uncertainty / figures.operate.coverage_factor
    assert combined == pytest.approx(expected)


def test_an_undeclared_bench_assumes_every_item() -> None:
    undeclared = knowledge_of(BenchDeclaration(), touch_speed_mm_s=0.25)

    assert not undeclared.declared
    assert [value.value for value in undeclared.values] == [
        item.assumed for item in BENCH_ITEMS if item.in_runs and not item.of_scale
    ]
    narrow = run_figures(run_on(declared_bench())).operate.expanded_uncertainty
    wide = run_figures(run_on(BenchDeclaration())).operate.expanded_uncertainty
    assert narrow is not None
    assert wide is not None
    assert wide > 3.0 * narrow


def test_a_number_of_its_own_stands_before_the_class() -> None:
    named = BenchDeclaration(
        screw_class="ISO 3408-3 P3", screw_class_source=ValueSource.MAKER
    )
    numbers = declared_bench(periodic_um=1.0)

    known = knowledge_of(numbers.changed(named), touch_speed_mm_s=0.25)

    (periodic,) = (v for v in known.values if v.key == "screw.periodic_um")
    assert periodic.value == 1.0


def test_a_class_is_found_by_its_last_word() -> None:
    assert all(
        screw_class(known.name.rpartition(" ")[2].lower()) is known
        for known in SCREW_CLASSES
    )


def test_under_two_declarations_the_widest_counts() -> None:
    small, large = (
        bench_causes(
            knowledge_of(declaration, touch_speed_mm_s=0.25),
            screw=True,
        )
        for declaration in (
            declared_bench(periodic_um=1.0, offset_um=5.0),
            declared_bench(lead_mm=5.0, periodic_um=3.0),
        )
    )

    found = widest([small, large])

    assert found.offset_mm == small.offset_mm
    assert found.lead_mm == 0.0
    assert found.periodic_mm == pytest.approx(0.003 / math.sqrt(3.0))
