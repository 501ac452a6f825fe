"""A plan as a screen knows it: what the records say and what goes on now. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace

from rig.catalogue.plan_file import Plan
from rig.inquiry.plan import PlannedFigures, plan_progress
from rig.link.traits import RigTraits
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import items_of
from rig.procedures.plan_forecast import forecast_from_records
from rig.procedures.rounds import Visit, next_due, visit_of_item, visits, visits_of
from rig.procedures.run_context import utc_now
from rig.records import ItemProgress, PlanEntry, Reader, Store
from rig.sheets.duration_words import duration_text
from rig.sheets.plan_sheet import plan_row
from rig.tui.state.status_words import Sign
from rig.tui.widgets.pair_table import (
    BEGUN,
    CUT_REPEAT,
    DONE,
    DUE,
    MEASURING,
    NO_FIGURES,
    SKIPPED,
    VOID,
    PairRow,
)
from rig.tui.widgets.progress_line import Progress


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanStanding:
    """How far a plan is.

    Attributes:
        title: Title of the plan.
        entry: Plan as it is on record; None before it is begun.
        items: Pairs of the plan in order, with their figures.
        order: Mountings of the plan in order; interleaved pairs come in rounds.
        skipped: Pairs that are left out today.
        measuring: The pair that is measured now; None for none.
        good: Number of good sweeps.
        seconds_left: How long the rest should take, mounting counted; None if nobody
            reckoned.
    """

    title: str
    entry: PlanEntry | None = None
    items: tuple[PlannedFigures, ...] = ()
    order: tuple[Visit, ...] = ()
    skipped: frozenset[int] = frozenset()
    measuring: int | None = None
    good: int = 0
    seconds_left: float | None = None

    @property
    def progress(self) -> tuple[ItemProgress, ...]:
        """What is on record for each pair."""
        return tuple(item.progress for item in self.items)

    @property
    def done(self) -> bool:
        """Whether every pair has a run that counts, or would give none."""
        return bool(self.progress) and all(one.settled for one in self.progress)

    @property
    def cut_repeats(self) -> tuple[int, ...]:
        """Indices of the pairs with a repeat that was cut off."""
        return tuple(
            one.item.index for one in self.progress if one.cut_repeat is not None
        )

    def next_due(self, after: int = -1) -> Visit | None:
        """Return the next mounting that is neither done nor left out; None for none.

        Args:
            after: FramedScreen of the mounting before; those behind it come first.
        """
        return next_due(self.order, self.progress, skipped=self.skipped, after=after)

    def visit_of(self, index: int) -> Visit:
        """Return the mounting that a pair is due for; a repetition if it is done."""
        return visit_of_item(self.order, self.progress, index)

    def rows(self) -> tuple[PairRow, ...]:
        """Return the pairs as the table shows them."""
        return tuple(self._row(item) for item in self.items)

    def run_id(self, index: int) -> str:
        """Return the run that counts for a pair; empty for none."""
        run = self.progress[index].counting
        return "" if run is None else run.run_id

    def detail(self, index: int) -> str:
        """Return what the table has no room for; empty for a pair never tried."""
        if not 0 <= index < len(self.items):
            return ""
        row, cut = plan_row(self.items[index]), self.progress[index].cut_repeat
        if cut is not None and index != self.measuring:
            return (
                f"pair {row.number}: the run before counts; its repeat was cut off "
                f"after {cut.good_sweeps} of {cut.sweeps_wanted} sweeps"
            )
        if row.release is None:
            return f"pair {row.number}: {self.seen(index)}" if row.seen else ""
        return f"pair {row.number}: release {row.release}; diff. travel {row.travel}"

    def seen(self, index: int) -> str:
        """Return how a pair without figures ended and what was seen."""
        row = plan_row(self.items[index])
        return f"{row.outcome}. {row.seen}"

    def _row(self, item: PlannedFigures) -> PairRow:
        progress = item.progress
        state = self._state(progress)
        good = self.good if state is MEASURING else progress.good_sweeps
        if state is CUT_REPEAT and progress.cut_repeat is not None:
            good = progress.cut_repeat.good_sweeps
        sweeps = f"{good}/{progress.item.sweeps_wanted}"
        return PairRow(row=plan_row(item), state=state, sweeps=sweeps)

    def _state(self, one: ItemProgress) -> Sign:
        if one.item.index == self.measuring:
            return MEASURING
        if one.cut_repeat is not None:
            return CUT_REPEAT
        if one.counting is not None:
            return DONE
        if one.without_figures is not None:
            return NO_FIGURES
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
        items=tuple(
            PlannedFigures(progress=ItemProgress(item=item, runs=()), figures=None)
            for item in items
        ),
        order=visits(items, plan.interleaved),
    )


def on_record(plan_id: str, store: Store, traits: RigTraits | None) -> PlanStanding:
    """Read how far a plan is.

    Args:
        plan_id: Identity of the plan.
        store: Open records.
        traits: The rig that it would be resumed on; None without one.

    Raises:
        InputError: Its text does not fit its items.
        RecordsError: It is not there, or the records cannot be read.
    """
    found = plan_progress(store, plan_id)
    order = visits_of(found.entry)
    standing = PlanStanding(
        title=found.entry.title, entry=found.entry, items=found.items, order=order
    )
    if traits is None:
        return standing
    forecast = forecast_from_records(
        order, traits, BenchSettings(), Reader(store), utc_now()
    )
    return replace(standing, seconds_left=forecast.left_s(standing.progress))
