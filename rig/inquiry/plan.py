"""A plan on record: how far it is, its figures, and what the standard makes of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from rig.analysis.limits.verdict import GUARDED, Rule
from rig.analysis.standard.iec_60947_5_2 import not_the_standard_target
from rig.analysis.standard.product_match import limited_target_differences
from rig.analysis.standard.run_against_standard import RunStandard
from rig.inquiry.axis_calibration import CalibrationResult
from rig.inquiry.comparison_document import ComparisonDocument, comparison_document
from rig.inquiry.other_runs import reduction_factor
from rig.inquiry.recorded_run import RecordedRun, evaluated_run
from rig.inquiry.run_comparison import RunComparison
from rig.inquiry.run_document import RunDocument, run_document
from rig.inquiry.runs_behind import RunBehind, runs_behind
from rig.inquiry.tried import Ending, ending_of_run, outcome_words
from rig.model.attempts import Outcome
from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.records import PlanEntry, Reader, Store
from rig.records.entries import ItemProgress, PlanState


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedFigures:
    """One item of a plan, with the figures of the run that counts.

    Attributes:
        progress: What is on record for the item.
        figures: Latest figures of the run that counts; None if there are none.
    """

    progress: ItemProgress
    figures: RunFigures | None

    @property
    def ending(self) -> Ending | None:
        """How the last attempt at the item ended; None if it was never tried."""
        one = self.progress
        if one.counting is not None:
            return Ending(outcome=Outcome.FIGURES, sentence="", causes="")
        if one.attempts:
            last = one.attempts[-1]
            void = next((r.void for r in one.runs if r.run_id == last.run_id), "")
            return ending_of_run(None, void, last.end)
        if not one.runs:
            return None
        return ending_of_run(one.runs[-1].ended_at, one.runs[-1].void, None)

    @property
    def result(self) -> str:
        """That ending in a word or two, "not detected" among them; empty for none."""
        if self.ending is None:
            return ""
        item, tried = self.progress.item, self.progress.attempts
        product = tried[-1].product if tried else None
        return outcome_words(self.ending.outcome, item.sensor, item.target, product)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanProgress:
    """How far a plan is.

    Attributes:
        entry: The plan as it began, with its present state.
        items: Every item in the plan's order.
    """

    entry: PlanEntry
    items: tuple[PlannedFigures, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanItemResult(PlannedFigures):
    """One item of a plan, with all that is said of the run that counts.

    Attributes:
        run: The run that counts, with its factor to the same sensor's run on the
            standard target; None if none ended yet.
    """

    run: RecordedRun | None

    @property
    def standard(self) -> RunStandard | None:
        """What is decided about the run; None on a target that no limit is for."""
        if self.run is None or not _on_limited_target(self.run.run):
            return None
        return self.run.standard


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanResult:
    """A plan with its figures and the runs behind them.

    Attributes:
        entry: The plan as it began, with its present state.
        items: Every item in the plan's order.
        runs: Runs of the plan that ended and are not void, oldest first; of an item
            that was measured again the earlier ones too.
    """

    entry: PlanEntry
    items: tuple[PlanItemResult, ...]
    runs: tuple[RunBehind, ...]

    @property
    def done(self) -> int:
        """Number of items that have figures."""
        return sum(item.figures is not None for item in self.items)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanItemDocument:
    """What came of one item of a plan.

    Attributes:
        number: Number of the item in the plan, from 1.
        sensor: Name of the sensor.
        part: Serial or sample number; null if the plan names none.
        target: Name of the target.
        run_id: The run that counts; null if there is none.
        outcome: How the last attempt ended; null if it was never tried.
        result: Outcome in a word or two, such as "not detected"; null if never tried.
        sentence: What was seen; empty for figures.
        causes: Likely causes or what to do; empty for figures.
        settled: Whether it is no longer due: it has figures or would give none.
    """

    number: int
    sensor: str
    part: str | None
    target: str
    run_id: str | None
    outcome: Outcome | None
    result: str | None
    sentence: str
    causes: str
    settled: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDocument:
    """A plan with its runs as it is printed.

    Attributes:
        simulated: Whether it is carried out on a simulated rig.
        plan_id: Identity of the plan.
        title: Title that the user gave it.
        state: How far it has come.
        items: What came of each item, in the plan's order.
        runs: The run that counts for each item that has one, in the plan's order.
    """

    simulated: bool
    plan_id: str
    title: str
    state: PlanState
    items: tuple[PlanItemDocument, ...]
    runs: tuple[RunDocument, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoDocument(PlanDocument):
    """What the demo measured as it is printed.

    Attributes:
        calibration: What gauge blocks showed of the axis afterwards.
        beside: The first run and the same once more, with that calibration.
        report: File that the report was written to.
        records: File of the records.
    """

    calibration: CalibrationResult
    beside: ComparisonDocument
    report: str
    records: str


def plan_document(result: PlanResult) -> PlanDocument:
    """Return a plan as it is printed."""
    return PlanDocument(**_printed(result))


def demo_document(
    result: PlanResult,
    *,
    calibration: CalibrationResult,
    beside: RunComparison,
    report: str,
    records: str,
) -> DemoDocument:
    """Return what the demo measured as it is printed, with where all of it was left."""
    return DemoDocument(
        calibration=calibration,
        beside=comparison_document(beside),
        report=report,
        records=records,
        **_printed(result),
    )


def _printed(result: PlanResult) -> dict[str, Any]:
    entry = result.entry
    return {
        "simulated": entry.simulated,
        "plan_id": entry.plan_id,
        "title": entry.title,
        "state": entry.state,
        "items": tuple(map(_item_document, result.items)),
        "runs": tuple(run_document(one.run) for one in result.items if one.run),
    }


def _item_document(one: PlanItemResult) -> PlanItemDocument:
    item, ending = one.progress.item, one.ending
    counting = one.progress.counting
    return PlanItemDocument(
        number=item.index + 1,
        sensor=item.sensor.name,
        part=item.part or None,
        target=item.target.name,
        run_id=None if counting is None else counting.run_id,
        outcome=None if ending is None else ending.outcome,
        result=one.result or None,
        sentence="" if ending is None else ending.sentence,
        causes="" if ending is None else ending.causes,
        settled=one.progress.settled,
    )


def plan_progress(store: Store, plan_id: str) -> PlanProgress:
    """Read how far a plan is, without loading any edge.

    Raises:
        RecordsError: It is not on record, or cannot be read.
    """
    with store.snapshot() as moment:
        reader = Reader(moment)
        entry, progress = reader.plan(plan_id), reader.plan_progress(plan_id)
        counting = [one.counting for one in progress]
        ids = [run.run_id for run in counting if run is not None]
        known = reader.latest_computations(ids)
    figures = [None if run is None else known.get(run.run_id) for run in counting]
    return PlanProgress(
        entry=entry,
        items=tuple(
            PlannedFigures(progress=one, figures=found.figures if found else None)
            for one, found in zip(progress, figures, strict=True)
        ),
    )


def plan_result(store: Store, plan_id: str, rule: Rule = GUARDED) -> PlanResult:
    """Read a plan with its runs, and hold them against each other and the standard.

    A run that is void or has not ended is left out.

    Args:
        store: Open records.
        plan_id: Identity of the plan.
        rule: Decision rule of the verdicts.

    Raises:
        InputError: A limit of a data sheet is not possible.
        RecordsError: The plan is not on record, or cannot be read.
    """
    with store.snapshot() as moment:
        reader = Reader(moment)
        entry, progress = reader.plan(plan_id), reader.plan_progress(plan_id)
        ended = [
            run.run_id
            for one in progress
            for run in one.runs
            if run.ended_at and not run.void
        ]
        runs = runs_behind(reader, ended)
    return plan_of_runs(entry, progress, runs, rule)


def plan_of_runs(
    entry: PlanEntry,
    progress: Sequence[ItemProgress],
    runs: Sequence[RunBehind],
    rule: Rule = GUARDED,
) -> PlanResult:
    """Hold the runs of a plan against each other and the standard.

    Args:
        entry: The plan as it began, with its present state.
        progress: What is on record for each of its items.
        runs: Runs of the plan that ended and are not void.
        rule: Decision rule of the verdicts.

    Raises:
        InputError: A limit of a data sheet is not possible.
    """
    by_id = {one.run.header.run_id: one for one in runs}
    counting = [
        by_id.get(one.counting.run_id) if one.counting else None for one in progress
    ]
    references = [
        (one.run, one.computation.figures)
        for one in counting
        if one and one.computation and _on_standard_target(one.run)
    ]
    return PlanResult(
        entry=entry,
        items=tuple(
            _item(one, found, references, rule)
            for one, found in zip(progress, counting, strict=True)
        ),
        runs=tuple(runs),
    )


def _item(
    progress: ItemProgress,
    found: RunBehind | None,
    references: Sequence[tuple[Run, RunFigures]],
    rule: Rule,
) -> PlanItemResult:
    if found is None:
        return PlanItemResult(progress=progress, figures=None, run=None)
    run, computed = found.run, found.computation
    figures = computed.figures if computed else None
    reference = _reference(run, references)
    factor = None
    if figures is not None and reference is not None:
        factor = reduction_factor((run, figures), reference)
    run_id = run.header.run_id
    recorded = evaluated_run(
        run,
        figures,
        rule=rule,
        check=found.check,
        factor=factor,
        attempts=tuple(one for one in progress.attempts if one.run_id == run_id),
    )
    return PlanItemResult(progress=progress, figures=recorded.figures, run=recorded)


def _on_limited_target(run: Run) -> bool:
    header = run.header
    specified = None if header.product is None else header.product.specification
    return not limited_target_differences(header.sensor, header.target, specified)


def _on_standard_target(run: Run) -> bool:
    return not not_the_standard_target(run.header.target, run.header.sensor)


def _reference(
    run: Run, references: Sequence[tuple[Run, RunFigures]]
) -> tuple[Run, RunFigures] | None:
    """Return the same sensor's run on the standard target; None without one."""
    own = run.header
    for other in references:
        header = other[0].header
        same = (header.sensor, header.part) == (own.sensor, own.part)
        if same and header.target != own.target:
            return other
    return None
