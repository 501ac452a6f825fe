"""A plan as a screen knows it: what the records say and what goes on now. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from rig.catalogue.plan_file import Plan
from rig.model.figures import RunFigures
from rig.model.rounding import format_figure
from rig.procedures.plan_pair import run_that_counts
from rig.records import ItemProgress, PlanEntry, PlanItem, Reader
from rig.tui.pace import duration_text, pace_of_sweeps
from rig.tui.time_left import pace_of_runs, pairs_left_s, sweeps_left
from rig.tui.widgets.pair_table import (
    BEGUN,
    DONE,
    DUE,
    MEASURING,
    SKIPPED,
    VOID,
    PairRow,
)
from rig.tui.widgets.progress_line import Progress
from rig.tui.words import Sign


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanStanding:
    """How far a plan is.

    Attributes:
        title: Of the plan.
        entry: As it is on record; None before it is begun.
        progress: Of each pair.
        figures: By run.
        skipped: Pairs that are left out today.
        measuring: The pair that is measured now; None for none.
        good: Its good sweeps.
        sweeps_ended_at: When its sweeps ended.
    """

    title: str
    entry: PlanEntry | None = None
    progress: tuple[ItemProgress, ...] = ()
    figures: Mapping[str, RunFigures] = field(default_factory=dict)
    skipped: frozenset[int] = frozenset()
    measuring: int | None = None
    good: int = 0
    sweeps_ended_at: tuple[datetime, ...] = ()

    @property
    def done(self) -> bool:
        """Whether every pair has a run that counts."""
        return bool(self.progress) and all(map(run_that_counts, self.progress))

    def next_due(self, after: int = -1) -> int | None:
        """Return the next pair that is neither done nor left out; None for none."""
        due = [
            one.item.index
            for one in self.progress
            if run_that_counts(one) is None and one.item.index not in self.skipped
        ]
        later = [index for index in due if index > after]
        return next(iter(later or due), None)

    def rows(self) -> tuple[PairRow, ...]:
        """Return the pairs as the table shows them."""
        return tuple(self._row(one) for one in self.progress)

    def run_id(self, index: int) -> str:
        """Return the run that counts for a pair; empty for none."""
        run = run_that_counts(self.progress[index])
        return "" if run is None else run.run_id

    def detail(self, index: int) -> str:
        """Return what the table has no room for; empty for a pair without figures."""
        if not 0 <= index < len(self.progress):
            return ""
        figures = self.figures.get(self.run_id(index))
        if figures is None:
            return ""
        release = format_figure(figures.release)
        travel = format_figure(figures.differential_travel)
        return f"pair {index + 1}: release {release}; diff. travel {travel}"

    def _row(self, one: ItemProgress) -> PairRow:
        run = run_that_counts(one)
        figures = None if run is None else self.figures.get(run.run_id)
        good = one.item.sweeps_wanted - sweeps_left(one)
        state = self._state(one, good)
        if state is MEASURING:
            good = self.good
        elif run is not None:
            good = run.good_sweeps
        row = PairRow(item=one.item, state=state, good=good)
        if figures is None:
            return row
        return replace(
            row,
            operate=figures.operate,
            release=figures.release,
            travel=figures.differential_travel,
        )

    def _state(self, one: ItemProgress, good: int) -> Sign:
        if one.item.index == self.measuring:
            return MEASURING
        if run_that_counts(one) is not None:
            return DONE
        if one.item.index in self.skipped:
            return SKIPPED
        if good:
            return BEGUN
        return VOID if one.runs else DUE

    def bar(self) -> Progress:
        """Return how much is done and how long the rest takes."""
        wanted = sum(one.item.sweeps_wanted for one in self.progress)
        left = sum(sweeps_left(one) for one in self.progress)
        pace_s = pace_of_sweeps(self.sweeps_ended_at) or self._pace_of_runs()
        seconds = pairs_left_s(self.progress, pace_s)
        if self.measuring is not None:
            # The records were read before the sweeps of now
            since = min(left, self._since_read(self.progress[self.measuring]))
            seconds *= 1.0 - since / left if left else 0.0
            left -= since
        pairs = sum(run_that_counts(one) is not None for one in self.progress)
        return Progress(
            done=wanted - left,
            wanted=wanted,
            words=f"{wanted - left} of {wanted} sweeps, "
            f"{pairs} of {len(self.progress)} pairs",
            left=duration_text(seconds) if seconds > 0 else "",
        )

    def _since_read(self, one: ItemProgress) -> int:
        known = one.item.sweeps_wanted - sweeps_left(one)
        return max(0, self.good - known)

    def _pace_of_runs(self) -> float | None:
        return pace_of_runs(
            [
                run
                for one in self.progress
                if one.item.timetable is None
                for run in one.runs
            ]
        )


def not_begun(plan: Plan) -> PlanStanding:
    """Return a plan that is not on record yet."""
    items = (
        PlanItem(
            index=index,
            sensor=run.sensor,
            target=run.target,
            sweeps_wanted=run.sweeps,
            speeds_mm_s=run.speeds_mm_s,
            part=run.part,
            timetable=run.timetable,
        )
        for index, run in enumerate(plan.runs)
    )
    progress = tuple(ItemProgress(item=item, runs=()) for item in items)
    return PlanStanding(title=plan.title, progress=progress)


def on_record(plan_id: str, reader: Reader) -> PlanStanding:
    """Read how far a plan is.

    Raises:
        RecordsError: It is not there, or the records cannot be read.
    """
    entry = reader.plan(plan_id)
    progress = tuple(reader.plan_progress(plan_id))
    runs = [run for one in progress if (run := run_that_counts(one)) is not None]
    computed = reader.latest_computations([run.run_id for run in runs])
    return PlanStanding(
        title=entry.title,
        entry=entry,
        progress=progress,
        figures={run_id: one.figures for run_id, one in computed.items()},
    )
