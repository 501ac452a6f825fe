"""A walk through a plan on record: which pair is mounted next, and how it is measured.

After a crash, a stop or a power cut it resumes at the sweep that was due; after a loss
of the link it goes on there by itself.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Protocol

from rig.analysis.run.run_figures import run_figures
from rig.catalogue.plan_file import products_of_runs
from rig.errors import InputError
from rig.inquiry.products import product_in_force
from rig.model.attempts import Outcome
from rig.model.mounted import Sensor, Target
from rig.model.product import ProductVersion
from rig.model.sweeps import Run
from rig.procedures.attempt import attempt
from rig.procedures.carry_out_run import OpenRun, RunResult, end_run, take_sweeps
from rig.procedures.estimate import durations_of
from rig.procedures.events import Event, PlanItemBegan, Remarked, SweepEnded, Tell
from rig.procedures.link_loss import LOSSES, MOST_IN_A_ROW, outlast
from rig.procedures.particulars import Particulars
from rig.procedures.plan_forecast import forecast_from_records
from rig.procedures.plan_lease import leased
from rig.procedures.rounds import Visit, next_due, visits_of
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import order_of_item, order_on_record
from rig.procedures.unmeasured import Unmeasured
from rig.records.entries import ItemProgress, PlanEntry, PlanState

NOTHING_BESIDE = Particulars()


class GoOn(Protocol):
    """Decides whether a plan goes on past a pair that gives no figures."""

    def __call__(self, visit: Visit, why: Unmeasured) -> bool:
        """Return whether the next pair is due."""


def never_go_on(visit: Visit, why: Unmeasured) -> bool:
    """Stop the plan at the first pair that gives no figures."""
    return False


class Mount(Protocol):
    """Sees to it that a sensor and a target are mounted; returns when they are."""

    def __call__(self, sensor: Sensor, target: Target, *, part: str) -> None:
        """Mount them, or have somebody do it.

        Args:
            sensor: Kind of sensor.
            target: Target.
            part: Serial or sample number of the sensor; may be empty.

        Raises:
            Stopped: Nobody will.
        """


class PlanWalk:
    """Leads through the mountings of one plan; used by the thread that owns the rig.

    Attributes:
        entry: The plan as it began.
        order: Mountings of the plan in order; interleaved pairs come in rounds.
    """

    def __init__(
        self,
        entry: PlanEntry,
        context: RunContext,
        mount: Mount,
        particulars: Particulars = NOTHING_BESIDE,
        *,
        retry: bool = False,
    ) -> None:
        """Look at the plan; nothing moves and nothing is written.

        Args:
            entry: The plan as it is on record.
            context: What its runs are carried out with.
            mount: Has pairs mounted.
            particulars: Written down with each of its runs.
            retry: Whether pairs that gave no figures are due once more.

        Raises:
            InputError: Its text does not fit its items.
            RecordsError: The records cannot be read.
        """
        self.entry = entry
        self.order = visits_of(entry)
        self._context = context
        self._mount = mount
        self._particulars = particulars
        self._has_lease = False
        before = context.reader.plan_progress(entry.plan_id) if retry else []
        self._to_retry = {one.item.index for one in before if one.without_figures}
        where = f"plan {entry.plan_id}"
        self._products = products_of_runs(entry.toml_text, where)
        self._forecast = forecast_from_records(
            self.order,
            context.mover.traits,
            context.settings,
            context.reader,
            context.now(),
        )

    def next_visit(
        self, *, skipped: Collection[int] = (), after: int = -1
    ) -> Visit | None:
        """Return the mounting that is due; None if there is none.

        Args:
            skipped: Items that are left out, by index.
            after: Place of the mounting before; those behind it come first.
        """
        return next_due(self.order, self._progress(), skipped=skipped, after=after)

    def seconds_left(self) -> float:
        """Return how long the rest of the plan should take, mounting counted."""
        return self._forecast.left_s(self._progress())

    def carry_out(self, visit: Visit) -> OpenRun | RunResult:
        """Mount, touch off and measure; the plan is done with its last pair.

        Raises:
            InputError: The plan was begun on a rig of the other kind.
            BenchError: It cannot be measured, or steps were lost.
            Stopped: Somebody stopped it; it can be resumed.
            RecordsError: The records cannot be written, or another program carries
                out the plan.
            LinkError: The rig failed.
        """
        self._check_kind_of_rig()
        with self._lease():
            return self._carry_out(visit)

    @contextmanager
    def _lease(self) -> Iterator[None]:
        """Have the plan for oneself; within the whole of it, once for all mountings."""
        if self._has_lease:
            yield
            return
        with leased(self.entry.plan_id):
            self._has_lease = True
            try:
                yield
            finally:
                self._has_lease = False

    def _carry_out(self, visit: Visit) -> OpenRun | RunResult:
        writer, plan_id = self._context.writer, self.entry.plan_id
        writer.set_plan_state(plan_id, PlanState.RUNNING)
        try:
            self._announce(visit, self._progress())
            self._mount(visit.item.sensor, visit.item.target, part=visit.item.part)
            result = self._measure_through_losses(visit)
        except Exception:
            writer.set_plan_state(plan_id, PlanState.STOPPED)
            raise
        self.settle()
        return result

    def settle(self) -> None:
        """Make up for what a power cut prevented; the plan is done with its last pair.

        Raises:
            RecordsError: The records cannot be written.
        """
        context, progress = self._context, self._progress()
        counting = [run for one in progress if (run := one.counting) is not None]
        for run_id in [run.run_id for run in counting]:
            if context.reader.latest_figures(run_id) is None:
                figures = run_figures(context.reader.run(run_id))
                context.writer.add_figures(run_id, figures, computed_at=context.now())
        if all(one.settled for one in progress):
            context.writer.set_plan_state(self.entry.plan_id, PlanState.DONE)

    def carry_out_rest(self, go_on: GoOn = never_go_on) -> tuple[str, ...]:
        """Carry out all that is due, one mounting after another.

        Args:
            go_on: Asked when a pair gives no figures and would not again.

        Returns:
            The runs that make up the plan, in its order.

        Raises:
            InputError: The plan was begun on a rig of the other kind.
            BenchError: It cannot be measured, or steps were lost.
            Stopped: Somebody stopped it; it can be resumed.
            RecordsError: The records cannot be written, or another program carries
                out the plan.
            LinkError: The rig failed.
        """
        with self._lease():
            return self._carry_out_rest(go_on)

    def _carry_out_rest(self, go_on: GoOn) -> tuple[str, ...]:
        self.settle()
        while (visit := self.next_visit()) is not None:
            try:
                self.carry_out(visit)
            except Unmeasured as exc:
                if not exc.outcome.recurs or not go_on(visit, exc):
                    raise
                words = f"{visit.item.sensor.name} against {visit.item.target.name}"
                sentence = f"{words} gives no figures: {exc}. The plan goes on."
                self._context.tell(Remarked(sentence=sentence))
                self.settle()
        runs = [one.counting for one in self._progress()]
        return tuple(run.run_id for run in runs if run is not None)

    def _progress(self) -> list[ItemProgress]:
        found = self._context.reader.plan_progress(self.entry.plan_id)
        return [
            replace(one, attempts=()) if one.item.index in self._to_retry else one
            for one in found
        ]

    def _check_kind_of_rig(self) -> None:
        simulated = self._context.mover.traits.simulated
        if self.entry.simulated is not simulated:
            kinds = ("a real rig", "the simulated rig")
            raise InputError(
                f"this plan was begun on {kinds[self.entry.simulated]}, and this is "
                f"{kinds[simulated]}",
                hint="begin it again here, or connect to the other one",
            )

    def _measure_through_losses(self, visit: Visit) -> OpenRun | RunResult:
        """Measure; after a loss of the link go on at the next sweep."""
        in_a_row, good = 0, self._progress()[visit.item.index].good_sweeps
        while True:
            try:
                return self._measure(visit)
            except LOSSES as exc:
                before, good = good, self._progress()[visit.item.index].good_sweeps
                in_a_row = 1 if good > before else in_a_row + 1
                if in_a_row > MOST_IN_A_ROW:
                    raise
                outlast(exc, self._context.mover, self._context.tell)

    def _measure(self, visit: Visit) -> OpenRun | RunResult:
        context, item = self._context, visit.item
        progress = self._progress()
        before = progress[item.index]
        unfinished = self._to_resume(visit, before)
        self._to_retry.discard(item.index)
        began_s = context.mover.link.now_s()
        order = self._particulars.beside(
            replace(
                order_of_item(self.entry, item.index),
                product=self._product(item.index),
            )
            if unfinished is None
            else order_on_record(unfinished.header)
        )
        with attempt(order, context, unfinished=unfinished) as trying:
            bench = context.touch_off(order.sensor, order.target)
            self._forecast.durations = durations_of(bench)
            later_s = self._forecast.left_s(progress, without=visit)
            told = replace(context, tell=_with_plan(context.tell, later_s))
            swept = take_sweeps(
                bench,
                order,
                told,
                run_id=trying.run_id,
                sweeps=visit.sweeps,
                unfinished=unfinished,
            )
            result: OpenRun | RunResult = swept
            if visit.last:
                result = end_run(swept, told)
            else:
                trying.outcome = Outcome.ROUND_TAKEN
        self._forecast.learn(visit, before, context.mover.link.now_s() - began_s)
        return result

    def _product(self, index: int) -> ProductVersion | None:
        """Return the product of an item, as it is in force when its run begins.

        Raises:
            InputError: It is not on record, or not approved.
        """
        name = self._products[index]
        return product_in_force(self._context.products, name) if name else None

    def _announce(self, visit: Visit, progress: list[ItemProgress]) -> None:
        item = visit.item
        self._context.tell(
            PlanItemBegan(
                index=visit.place,
                count=len(self.order),
                sensor=item.sensor,
                target=item.target,
                seconds_left=self._forecast.left_s(progress, without=visit)
                + self._forecast.visit_s(visit, progress[item.index]),
            )
        )
        if item.part:
            self._context.tell(Remarked(sentence=f"Part {item.part} is due."))

    def _to_resume(self, visit: Visit, progress: ItemProgress) -> Run | None:
        begun = progress.to_resume(again=visit.again)
        if begun is None:
            return None
        good = begun.good_sweeps
        # A round that follows where the one before ended is no news
        if good != visit.first or visit.first == 0:
            sentence = f"Run {begun.run_id} resumes after {good} good sweeps."
            self._context.tell(Remarked(sentence=sentence))
        return self._context.reader.run(begun.run_id)


def _with_plan(tell: Tell, later_s: float) -> Tell:
    """Return a way to tell that adds the mountings to come to the time left."""

    def told(event: Event) -> None:
        if isinstance(event, SweepEnded) and event.seconds_left is not None:
            left_s = event.seconds_left + later_s
            event = replace(event, plan_seconds_left=left_s)
        tell(event)

    return told
