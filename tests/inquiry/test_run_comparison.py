"""One part measured twice: which run is which, what is refused, what changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from rig.analysis.run.run_figures import run_figures
from rig.errors import InputError
from rig.inquiry.comparison_document import comparison_document
from rig.inquiry.recorded_run import RecordedRun, evaluated_run
from rig.inquiry.run_comparison import (
    ContributionChange,
    RunComparison,
    comparison_on_record,
    run_comparison,
)
from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    ValueSource,
    knowledge_of,
)
from rig.model.calibration import AxisCalibration
from rig.model.mounted import Target
from rig.model.sweeps import Run
from rig.records import Store, open_records
from tests.declared_benches import declared_bench
from tests.report.conftest import make_run
from tests.report.kinds import VALID, part_run

LATER = timedelta(hours=1)
# Closer than a turn of a 2 mm screw needs, around all places of the run
FINE = replace(
    VALID,
    positions_mm=tuple(0.25 * k for k in range(81)),
    corrections_mm=(0.0,) * 81,
    standard_uncertainty_mm=(0.0005,) * 81,
    screw_lead_mm=2.0,
)


def run_on(
    run_id: str,
    *,
    declared: BenchDeclaration = NOTHING_DECLARED,
    calibration: AxisCalibration | None = None,
    later: timedelta = timedelta(0),
    **header: Any,
) -> Run:
    run = make_run(run_id=run_id)
    known = replace(
        run.header.conditions,
        bench=knowledge_of(declared, touch_speed_mm_s=0.25),
        calibration=calibration,
    )
    begun = run.header.started_at + later
    return replace(
        run,
        header=replace(run.header, conditions=known, started_at=begun, **header),
    )


def answer(run: Run) -> RecordedRun:
    return evaluated_run(run, run_figures(run))


def compared(**later: Any) -> RunComparison:
    return run_comparison(
        answer(run_on("run-1")), answer(run_on("run-2", later=LATER, **later))
    )


def changes(found: RunComparison, field: str) -> dict[str, ContributionChange]:
    (one,) = (one for one in found.figures if one.field == field)
    return {row.cause: row.change for row in one.contributions}


def test_the_earlier_run_stands_first_however_they_are_named() -> None:
    first, second = answer(run_on("run-1")), answer(run_on("run-2", later=LATER))

    for found in (run_comparison(first, second), run_comparison(second, first)):
        assert found.earlier.run.header.run_id == "run-1"
        assert found.later.run.header.run_id == "run-2"


def test_a_calibration_takes_the_errors_of_the_screw_out_and_its_own_in() -> None:
    found = compared(calibration=FINE)

    what = changes(found, "operate")
    assert what["periodic error of the screw, at the datum"] is ContributionChange.GONE
    assert what["linear error of the screw"] is ContributionChange.GONE
    assert what["axis position error"] is ContributionChange.NEW
    assert what["touch probe, offset"] is ContributionChange.SAME
    for one in found.figures[:4]:
        assert one.uncertainty_ratio is not None
        assert one.uncertainty_ratio < 0.9
        assert one.changed


def test_a_declaration_makes_its_own_lines_smaller_and_leaves_the_rest() -> None:
    found = compared(declared=declared_bench(ValueSource.MAKER, offset_um=2.0))

    what = changes(found, "operate")
    assert what["touch probe, offset"] is ContributionChange.SMALLER
    assert what["touch probe, pre-travel"] is ContributionChange.GONE
    assert what["repeatability"] is ContributionChange.SAME
    (operate,) = (one for one in found.figures if one.field == "operate")
    (offset,) = (
        row for row in operate.contributions if row.cause == "touch probe, offset"
    )
    # Bounds of 8 um assumed and 2 um declared, GUM 4.3.7: over the root of 3
    assert offset.earlier == pytest.approx(0.008 / 3**0.5)
    assert offset.later == pytest.approx(0.002 / 3**0.5)
    assert (offset.earlier_source, offset.later_source) == ("assumed", "maker")


def test_contributions_stand_by_size_and_make_up_the_uncertainty() -> None:
    for one in compared(calibration=FINE).figures:
        sizes = [max(c.earlier or 0.0, c.later or 0.0) for c in one.contributions]
        assert sizes == sorted(sizes, reverse=True)
        for figure, parts in (
            (one.earlier, [c.earlier or 0.0 for c in one.contributions]),
            (one.later, [c.later or 0.0 for c in one.contributions]),
        ):
            assert figure.expanded_uncertainty is not None
            assert figure.coverage_factor is not None
            combined = figure.expanded_uncertainty / figure.coverage_factor
            assert sum(u * u for u in parts) ** 0.5 == pytest.approx(combined)


def test_the_same_edges_differ_by_nothing_and_agree() -> None:
    for one in compared().figures:
        assert one.difference.value == 0.0
        if one.field.startswith("repeat_accuracy"):
            assert one.agrees is None
            assert "range" in one.difference.why_none
        else:
            assert one.agrees is True


def test_a_point_that_moved_by_more_than_its_uncertainty_does_not_agree() -> None:
    first = run_on("run-1", declared=declared_bench())
    # All edges 0.1 mm nearer to the face: both points moved alike
    near = part_run(1, shift=160)
    second = replace(
        first,
        header=replace(
            first.header, run_id="run-2", started_at=first.header.started_at + LATER
        ),
        sweeps=near.sweeps,
    )

    found = run_comparison(answer(first), answer(second))

    agreement = {one.field: one.agrees for one in found.figures}
    assert agreement["operate"] is agreement["release"] is False
    assert agreement["differential_travel"] is True


@pytest.mark.parametrize(
    "header",
    [
        {"part": "another"},
        {"target": Target(name="sheet", material="pvc", thickness_mm=3.0)},
    ],
)
def test_runs_of_two_parts_or_on_two_targets_are_refused(header: Any) -> None:
    with pytest.raises(InputError) as refused:
        compared(**header)

    assert "run run-1 is of level 18, nest 3" in str(refused.value)
    assert "run run-2 is of level 18, nest 3" in str(refused.value)


def test_a_void_run_is_refused() -> None:
    void = replace(run_on("run-2"), void="steps were lost")

    with pytest.raises(InputError, match="run run-2 is void: steps were lost"):
        run_comparison(answer(run_on("run-1")), answer(void))


@pytest.fixture
def store(tmp_path: Any) -> Any:
    with open_records(str(tmp_path / "records.sqlite")) as store:
        yield store


def test_a_run_beside_itself_is_refused(store: Store) -> None:
    with pytest.raises(InputError, match="run run-1 is named twice"):
        comparison_on_record(store, "run-1", "run-1")


def test_the_document_says_what_each_run_rests_on() -> None:
    declared = declared_bench(ValueSource.MAKER)
    found = comparison_document(compared(declared=declared, calibration=FINE))

    assert found.earlier.calibration is None
    assert found.earlier.declared == ()
    assert len(found.earlier.assumed) > len(found.later.assumed)
    assert found.later.calibration is not None
    assert found.later.calibration.calibration_id == FINE.calibration_id
    assert {value.source for value in found.later.declared} == {ValueSource.MAKER}
    assert found.not_included
