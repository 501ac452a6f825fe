"""A plan: its runs one after another, each pair mounted and touched off first.

After a crash, a stop or a power cut it goes on at the sweep that was due.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Protocol

from rig.analysis.run.run_figures import run_figures
from rig.catalogue.plan_file import Plan
from rig.errors import InputError
from rig.model.mounted import Sensor, Target
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.estimate import Durations
from rig.procedures.events import Event, PlanItemBegan, Remarked, SweepEnded, Tell
from rig.procedures.mover import Mover
from rig.procedures.ready_bench import Bench
from rig.procedures.rounds import Visit, visits
from rig.procedures.run import RunOrder, carry_out_part, carry_out_run, utc_now
from rig.procedures.sweeping import durations_of, good_sweeps
from rig.procedures.touch_off import touch_off
from rig.records.entries import (
    ItemProgress,
    PlanEntry,
    PlanItem,
    PlanState,
    RunFilter,
    make_run_id,
)
from rig.records.reader import Reader
from rig.records.writer import Writer


class Mount(Protocol):
    """Sees to it that a sensor and a target are mounted; returns when they are."""

    def __call__(self, sensor: Sensor, target: Target) -> None:
        """Mount them, or have somebody do it.

        Raises:
            Stopped: Nobody will.
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDesk:
    """All that a plan needs to go on.

    Attributes:
        mover: The axis.
        settings: How it is driven.
        mount: Has pairs mounted.
        reader: The records.
        writer: The records.
        tell: Told of progress.
        operator: Who answers for it; may be empty.
        now: The time, UTC.
        chance: Source of identities and random phases.
    """

    mover: Mover
    settings: BenchSettings
    mount: Mount
    reader: Reader
    writer: Writer
    tell: Tell
    operator: str = ""
    now: Callable[[], datetime] = utc_now
    chance: random.Random


def begin_plan(plan: Plan, desk: PlanDesk) -> PlanEntry:
    """Put a plan on record."""
    created_at = desk.now()
    entry = PlanEntry(
        plan_id=make_run_id(created_at, desk.chance),
        title=plan.title,
        toml_text=plan.text,
        created_at=created_at,
        simulated=desk.mover.traits.simulated,
        items=tuple(
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
        ),
    )
    desk.writer.begin_plan(entry)
    return entry


def unfinished_plan(plan: Plan, reader: Reader, *, simulated: bool) -> PlanEntry | None:
    """Return the latest plan on record with this very text that is not done."""
    fitting = [
        entry
        for entry in reader.plans()
        if entry.toml_text == plan.text
        and entry.simulated is simulated
        and entry.state is not PlanState.DONE
    ]
    return fitting[-1] if fitting else None


def plan_to_resume(plan: Plan, reader: Reader, *, simulated: bool) -> PlanEntry:
    """Return the plan to go on with.

    Raises:
        InputError: There is none.
    """
    entry = unfinished_plan(plan, reader, simulated=simulated)
    if entry is None:
        raise InputError(
            f"the records hold no unfinished plan {plan.title!r} with this text",
            hint="leave out --resume to begin it, or give the --records it began in",
        )
    return entry


def carry_out_plan(
    entry: PlanEntry,
    desk: PlanDesk,
    *,
    interleaved: Sequence[Sequence[int]] = (),
) -> tuple[str, ...]:
    """Carry out what a plan still lacks.

    Args:
        entry: The plan as it is on record.
        desk: All that it needs.
        interleaved: Groups of items whose sweeps are taken in rounds; the same again
            when the plan is resumed.

    Returns:
        The runs that make up the plan, in its order.

    Raises:
        Stopped: Somebody stopped it; it can be resumed.
        RigError: Something failed; likewise.
    """
    desk.writer.set_plan_state(entry.plan_id, PlanState.RUNNING)
    order = visits(entry.items, interleaved)
    clock = _Clock(order, desk)
    run_ids: dict[int, str] = {}
    try:
        for place, visit in enumerate(order):
            desk.tell(
                PlanItemBegan(
                    index=place,
                    count=len(order),
                    sensor=visit.item.sensor,
                    target=visit.item.target,
                    seconds_left=clock.left_s(place, entry),
                )
            )
            run_ids[visit.item.index] = _visit(visit, place, entry, desk, clock)
    except Exception:
        desk.writer.set_plan_state(entry.plan_id, PlanState.STOPPED)
        raise
    desk.writer.set_plan_state(entry.plan_id, PlanState.DONE)
    return tuple(run_ids[item.index] for item in entry.items)


def expected_plan_s(
    entry: PlanEntry,
    desk: PlanDesk,
    *,
    interleaved: Sequence[Sequence[int]] = (),
) -> float:
    """Return how long the rest of a plan should take, mounting by hand left out."""
    return _Clock(visits(entry.items, interleaved), desk).left_s(0, entry)


def _visit(
    visit: Visit, place: int, entry: PlanEntry, desk: PlanDesk, clock: _Clock
) -> str:
    item = visit.item
    progress = desk.reader.plan_progress(entry.plan_id)[item.index]
    usable = [run for run in progress.runs if not run.void]
    ended = [run for run in usable if run.ended_at is not None]
    if ended:
        _complete_figures(ended[-1].run_id, desk)
        return ended[-1].run_id
    if usable and usable[-1].good_sweeps >= visit.sweeps and not visit.last:
        return usable[-1].run_id
    unfinished: Run | None = None
    if usable:
        unfinished = desk.reader.run(usable[-1].run_id)
        good = usable[-1].good_sweeps
        # A round that goes on where the one before ended is no news
        if good != visit.first or visit.first == 0:
            sentence = f"Run {usable[-1].run_id} goes on after {good} good sweeps."
            desk.tell(Remarked(sentence=sentence))
    if item.part:
        desk.tell(Remarked(sentence=f"Part {item.part} is due."))
    desk.mount(item.sensor, item.target)
    began_s = desk.mover.link.now_s()
    bench = touch_off(desk.mover, desk.settings, desk.tell, now=desk.now)
    clock.durations = durations_of(bench)
    tell = clock.telling(place, entry)
    run = _measure(visit, unfinished, bench, entry, replace(desk, tell=tell))
    clock.took(visit, unfinished, desk.mover.link.now_s() - began_s)
    return run.header.run_id


def _measure(
    visit: Visit,
    unfinished: Run | None,
    bench: Bench,
    entry: PlanEntry,
    desk: PlanDesk,
) -> Run:
    item = visit.item
    order = RunOrder(
        sensor=item.sensor,
        target=item.target,
        sweeps=item.sweeps_wanted,
        speeds_mm_s=item.speeds_mm_s,
        plan_id=entry.plan_id,
        plan_item=item.index,
        operator=desk.operator,
        part=item.part,
        timetable=item.timetable,
    )
    if visit.last:
        return carry_out_run(
            bench,
            order,
            desk.writer,
            desk.tell,
            unfinished=unfinished,
            now=desk.now,
            chance=desk.chance,
        ).run
    return carry_out_part(
        bench,
        order,
        desk.writer,
        desk.tell,
        sweeps=visit.sweeps,
        unfinished=unfinished,
        now=desk.now,
        chance=desk.chance,
    )


class _Clock:
    """Reckons how long the rest of a plan takes, and learns from what is done.

    Attributes:
        durations: With face and backlash as the latest touch-off or the records say.
    """

    def __init__(self, order: Sequence[Visit], desk: PlanDesk) -> None:
        self.durations = _durations_on_record(desk)
        self._order = order
        self._desk = desk
        self._expected_s = self._taken_s = 0.0

    def left_s(self, place: int, entry: PlanEntry) -> float:
        """Return the time from the beginning of a visit to the end of the plan."""
        progress = self._desk.reader.plan_progress(entry.plan_id)
        left_s = sum(
            self._visit_s(visit, *_standing(progress[visit.item.index]))
            for visit in self._order[place:]
        )
        return left_s * self._learnt

    def telling(self, place: int, entry: PlanEntry) -> Tell:
        """Return a way to tell that counts the visits to come as time left too."""
        later_s = self.left_s(place + 1, entry)
        tell = self._desk.tell

        def told(event: Event) -> None:
            if isinstance(event, SweepEnded) and event.seconds_left is not None:
                event = replace(event, seconds_left=event.seconds_left + later_s)
            tell(event)

        return told

    def took(self, visit: Visit, unfinished: Run | None, duration_s: float) -> None:
        """Learn from a visit that is done."""
        good = 0 if unfinished is None else good_sweeps(unfinished)
        self._expected_s += self._visit_s(visit, good, ended=False)
        self._taken_s += duration_s

    @property
    def _learnt(self) -> float:
        return self._taken_s / self._expected_s if self._expected_s else 1.0

    def _visit_s(self, visit: Visit, good: int, ended: bool) -> float:
        if ended or (good >= visit.sweeps and not visit.last):
            return 0.0
        item = visit.item
        run_s = self.durations.run_s(
            item.sensor,
            item.speeds_mm_s,
            first=max(good, visit.first),
            sweeps=visit.sweeps,
            timetable=item.timetable,
        )
        return self.durations.touch_off_s() + run_s


def _standing(progress: ItemProgress) -> tuple[int, bool]:
    """Good sweeps of the run that counts for an item, and whether it has ended."""
    usable = [run for run in progress.runs if not run.void]
    if not usable:
        return 0, False
    return usable[-1].good_sweeps, any(run.ended_at is not None for run in usable)


def _durations_on_record(desk: PlanDesk) -> Durations:
    """Return durations with what the newest run shows, if it was on this rig."""
    traits = desk.mover.traits
    durations = Durations(traits=traits, settings=desk.settings)
    for newest in desk.reader.runs(RunFilter(simulated=traits.simulated, newest=1)):
        conditions = desk.reader.run(newest.run_id).conditions[-1]
        if conditions.rig_id == traits.rig_id:
            datum, scale = conditions.datum, conditions.axis.steps_per_mm
            return replace(
                durations,
                face_mm=datum.position_steps / scale,
                backlash_mm=conditions.backlash.value_mm,
            )
    return durations


def _complete_figures(run_id: str, desk: PlanDesk) -> None:
    # A power cut may have come between the end of the run and its figures
    if desk.reader.latest_figures(run_id) is None:
        figures = run_figures(desk.reader.run(run_id))
        desk.writer.add_figures(run_id, figures, computed_at=desk.now())
