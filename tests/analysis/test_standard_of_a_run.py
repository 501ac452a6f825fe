"""From a run's figures to its verdicts; constructed runs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from rig.analysis.edges.shared_causes import shared_contributions
from rig.analysis.limits.limit_table import limits_for
from rig.analysis.limits.verdict import Decision
from rig.analysis.numbers.ratio import ratio
from rig.analysis.run.run_figures import run_figures
from rig.analysis.standard.iec_60947_5_2 import (
    not_the_standard_target,
    run_decisions,
    run_verdicts,
)
from rig.model.sweeps import Run

MakeRun = Callable[..., Run]
# Datum 20000 steps, 1600 steps/mm: 8.0 mm is 7200; backlash 0.04 mm is 64 steps
SPEEDS = [1.0, 2.0] * 5


def run_at(make_run: MakeRun, gap_mm: float, travel_mm: float) -> Run:
    operate = [20000 - round(1600 * gap_mm) + i % 3 for i in range(10)]
    release = [at - round(1600 * travel_mm) - 64 for at in operate]
    return make_run(operate, release, SPEEDS)


@pytest.mark.parametrize(
    ("gap_mm", "travel_mm", "expected"),
    [
        (8.0, 1.0, {"s_r": "conforms", "H": "conforms", "R": "not tested"}),
        (9.0, 1.0, {"s_r": "does not conform", "H": "conforms", "R": "not tested"}),
        (8.0, 2.0, {"s_r": "conforms", "H": "does not conform", "R": "not tested"}),
        (8.8, 1.0, {"s_r": "undecided", "H": "conforms", "R": "not tested"}),
    ],
)
def test_a_run_gets_its_verdicts(
    make_run: MakeRun, gap_mm: float, travel_mm: float, expected: dict[str, str]
) -> None:
    run = run_at(make_run, gap_mm, travel_mm)
    sensor = run.header.sensor

    found = run_verdicts(run_figures(run), sensor, limits_for(sensor, {}))

    assert {symbol: one.decision.value for symbol, one in found.items()} == expected
    assert run_decisions(run_figures(run), sensor, limits_for(sensor, {})) == expected


def test_one_sweep_has_no_repeat_accuracy_and_decides_nothing(
    make_run: MakeRun,
) -> None:
    run = make_run([7200], [5536], [1.0])
    sensor = run.header.sensor

    found = run_verdicts(run_figures(run), sensor, limits_for(sensor, {}))

    assert set(found) == {"s_r", "H"}
    assert {one.decision for one in found.values()} == {Decision.UNDECIDED}
    assert "one sweep" in found["s_r"].sentence


def test_the_zero_error_of_one_datum_counts_once_between_two_runs(
    make_run: MakeRun,
) -> None:
    steel, wheat = run_at(make_run, 8.0, 1.0), run_at(make_run, 5.0, 1.0)
    on_steel, on_wheat = run_figures(steel).operate, run_figures(wheat).operate

    apart = ratio(on_steel, on_wheat)
    shared = ratio(
        on_steel,
        on_wheat,
        shared=shared_contributions(steel.header.conditions, wheat.header.conditions),
    )

    assert apart.expanded_uncertainty is not None
    assert shared.expanded_uncertainty is not None
    # The probe's 2 um stood in both
    assert shared.expanded_uncertainty < 0.8 * apart.expanded_uncertainty
    sizes = {line.name: line.sensitivity for line in shared.budget}
    # (1 - ratio) over the denominator
    left = (1.0 - shared.value) / on_wheat.value
    assert sizes["touch probe"] == pytest.approx(left)
    assert sizes["touch-off scatter"] == pytest.approx(left)


def test_what_is_not_the_standard_target_is_said(make_run: MakeRun) -> None:
    header = run_at(make_run, 8.0, 1.0).header

    assert not_the_standard_target(header.target, header.sensor) == ()
    other = replace(
        header.target, material="PVC", thickness_mm=3.0, wall_mm=0.5, earthed=False
    )
    said = not_the_standard_target(other, header.sensor)
    assert len(said) == 4
    assert "PVC" in said[0]
