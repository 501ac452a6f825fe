"""A plan as a screen knows it: what the records say and what goes on now. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from rig.catalogue.plan_file import Plan
from rig.link.traits import RigTraits
from rig.model.figures import RunFigures
from rig.model.rounding import format_figure
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import items_of
from rig.procedures.plan_forecast import forecast_from_records
from rig.procedures.rounds import Visit, next_due, visit_of_item, visits, visits_of
from rig.records import ItemProgress, PlanEntry, Reader
from rig.sheets.duration_words import duration_text
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
        order: Its mountings in order; interleaved pairs come in rounds.
        figures: By run.
        skipped: Pairs that are left out today.
        measuring: The pair that is measured now; None for none.
        good: Its good sweeps.
        seconds_left: How long the rest should take, mounting left out; None if nobody
            reckoned.
    """

    title: str
    entry: PlanEntry | None = None
    progress: tuple[ItemProgress, ...] = ()
    order: tuple[Visit, ...] = ()
    figures: Mapping[str, RunFigures] = field(default_factory=dict)
    skipped: frozenset[int] = frozenset()
    measuring: int | None = None
    good: int = 0
    seconds_left: float | None = None

    @property
    def done(self) -> bool:
        """Whether every pair has a run that counts."""
        return bool(self.progress) and all(one.counting for one in self.progress)

    def next_due(self, after: int = -1) -> Visit | None:
        """Return the next mounting that is neither done nor left out; None for none.

        Args:
            after: Place of the mounting before; those behind it come first.
        """
        return next_due(self.order, self.progress, skipped=self.skipped, after=after)

    def visit_of(self, index: int) -> Visit:
        """Return the mounting that a pair is due for; a repetition if it is done."""
        return visit_of_item(self.order, self.progress, index)

    def rows(self) -> tuple[PairRow, ...]:
        """Return the pairs as the table shows them."""
        return tuple(self._row(one) for one in self.progress)

    def run_id(self, index: int) -> str:
        """Return the run that counts for a pair; empty for none."""
        run = self.progress[index].counting
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
        run = one.counting
        figures = None if run is None else self.figures.get(run.run_id)
        state = self._state(one)
        good = self.good if state is MEASURING else one.good_sweeps
        row = PairRow(item=one.item, state=state, good=good)
        if figures is None:
            return row
        return replace(
            row,
            operate=figures.operate,
            release=figures.release,
            travel=figures.differential_travel,
        )

    def _state(self, one: ItemProgress) -> Sign:
        if one.item.index == self.measuring:
            return MEASURING
        if one.counting is not None:
            return DONE
        if one.item.index in self.skipped:
            return SKIPPED
        if one.good_sweeps:
            return BEGUN
        return VOID if one.runs else DUE

    def bar(self) -> Progress:
        """Return how much is done and how long the rest takes."""
        wanted = sum(one.item.sweeps_wanted for one in self.progress)
        left = sum(one.missing_sweeps for one in self.progress)
        if self.measuring is not None:
            # The records were read before the sweeps of now
            left -= min(left, self._since_read(self.progress[self.measuring]))
        pairs = sum(one.counting is not None for one in self.progress)
        return Progress(
            done=wanted - left,
            wanted=wanted,
            words=f"{wanted - left} of {wanted} sweeps, "
            f"{pairs} of {len(self.progress)} pairs",
            left=duration_text(self.seconds_left) if self.seconds_left else "",
        )

    def _since_read(self, one: ItemProgress) -> int:
        return max(0, self.good - (one.item.sweeps_wanted - one.missing_sweeps))


def not_begun(plan: Plan) -> PlanStanding:
    """Return a plan that is not on record yet."""
    items = items_of(plan)
    return PlanStanding(
        title=plan.title,
        progress=tuple(ItemProgress(item=item, runs=()) for item in items),
        order=visits(items, plan.interleaved),
    )


def on_record(plan_id: str, reader: Reader, traits: RigTraits | None) -> PlanStanding:
    """Read how far a plan is.

    Args:
        plan_id: Identity of the plan.
        reader: Open records.
        traits: The rig that it would be resumed on; None without one.

    Raises:
        InputError: Its text does not fit its items.
        RecordsError: It is not there, or the records cannot be read.
    """
    entry = reader.plan(plan_id)
    progress = tuple(reader.plan_progress(plan_id))
    order = visits_of(entry)
    runs = [run for one in progress if (run := one.counting) is not None]
    computed = reader.latest_computations([run.run_id for run in runs])
    seconds_left = None
    if traits is not None:
        forecast = forecast_from_records(order, traits, BenchSettings(), reader)
        seconds_left = forecast.left_s(progress)
    return PlanStanding(
        title=entry.title,
        entry=entry,
        progress=progress,
        order=order,
        figures={run_id: one.figures for run_id, one in computed.items()},
        seconds_left=seconds_left,
    )
