"""A plan on record: how far it is, its figures, and what the standard makes of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.limits.verdict import GUARDED, Rule
from rig.analysis.numbers.ratio import ratio, shared_contributions
from rig.analysis.standard.iec_60947_5_2 import not_the_standard_target
from rig.analysis.standard.run_against_standard import RunStandard, standard_of_run
from rig.inquiry.runs_behind import RunBehind, runs_behind
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run
from rig.records import PlanEntry, Reader, Store
from rig.records.entries import ItemProgress


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedFigures:
    """One item of a plan, with the figures of the run that counts.

    Attributes:
        progress: What is on record for the item.
        figures: Latest figures of the run that counts; None if there are none.
    """

    progress: ItemProgress
    figures: RunFigures | None


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
        run: The run that counts; None if none ended yet.
        factor: Operate point over that of the same sensor on the standard target; None
            without one.
        standard: What the standard makes of the run; None where the target is not the
            standard one, or there are no figures.
    """

    run: Run | None
    factor: Figure | None
    standard: RunStandard | None


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
    known = [_with_figures(one) for one in counting]
    references = [pair for pair in known if pair and _on_standard_target(pair[0])]
    return PlanResult(
        entry=entry,
        items=tuple(
            PlanItemResult(
                progress=one,
                figures=pair[1] if pair else None,
                run=found.run if found else None,
                factor=_factor(pair, references) if pair else None,
                standard=(
                    standard_of_run(*pair, rule)
                    if pair and _on_standard_target(pair[0])
                    else None
                ),
            )
            for one, found, pair in zip(progress, counting, known, strict=True)
        ),
        runs=tuple(runs),
    )


def _with_figures(one: RunBehind | None) -> tuple[Run, RunFigures] | None:
    if one is None or one.computation is None:
        return None
    return one.run, one.computation.figures


def _on_standard_target(run: Run) -> bool:
    return not not_the_standard_target(run.header.target, run.header.sensor)


def _factor(
    pair: tuple[Run, RunFigures], references: Sequence[tuple[Run, RunFigures]]
) -> Figure | None:
    """Return the ratio to the same sensor's run on the standard target, if any."""
    run, figures = pair
    header = run.header
    for other, reference in references:
        of_other = other.header
        same = (of_other.sensor, of_other.part) == (header.sensor, header.part)
        if same and of_other.target != header.target:
            return ratio(
                figures.operate,
                reference.operate,
                shared=shared_contributions(header.conditions, of_other.conditions),
                labels=(header.target.name, of_other.target.name),
            )
    return None
