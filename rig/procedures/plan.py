"""A plan: its runs one after another, each pair mounted and touched off first.

After a crash, a stop or a power cut it goes on at the sweep that was due.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from rig.analysis.figures import run_figures
from rig.catalogue.plan_file import Plan
from rig.errors import InputError
from rig.model.bench import Sensor, Target
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.events import PlanItemBegan, Remarked, Tell
from rig.procedures.mover import Mover
from rig.procedures.run import RunOrder, carry_out_run, utc_now
from rig.procedures.touch_off import touch_off
from rig.records.entries import (
    ItemProgress,
    PlanEntry,
    PlanItem,
    PlanState,
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


def carry_out_plan(entry: PlanEntry, desk: PlanDesk) -> tuple[str, ...]:
    """Carry out what a plan still lacks.

    Returns:
        The runs that make up the plan, in its order.

    Raises:
        Stopped: Somebody stopped it; it can be resumed.
        RigError: Something failed; likewise.
    """
    desk.writer.set_plan_state(entry.plan_id, PlanState.RUNNING)
    try:
        run_ids = tuple(
            _item(progress, entry, desk)
            for progress in desk.reader.plan_progress(entry.plan_id)
        )
    except Exception:
        desk.writer.set_plan_state(entry.plan_id, PlanState.STOPPED)
        raise
    desk.writer.set_plan_state(entry.plan_id, PlanState.DONE)
    return run_ids


def _item(progress: ItemProgress, entry: PlanEntry, desk: PlanDesk) -> str:
    item = progress.item
    desk.tell(
        PlanItemBegan(
            index=item.index,
            count=len(entry.items),
            sensor=item.sensor,
            target=item.target,
        )
    )
    usable = [run for run in progress.runs if not run.void]
    ended = [run for run in usable if run.ended_at is not None]
    if ended:
        _complete_figures(ended[-1].run_id, desk)
        return ended[-1].run_id
    unfinished: Run | None = None
    if usable:
        unfinished = desk.reader.run(usable[-1].run_id)
        desk.tell(
            Remarked(
                sentence=f"Run {unfinished.header.run_id} goes on after "
                f"{usable[-1].good_sweeps} good sweeps."
            )
        )
    if item.part:
        desk.tell(Remarked(sentence=f"Part {item.part} is due."))
    desk.mount(item.sensor, item.target)
    bench = touch_off(desk.mover, desk.settings, desk.tell, now=desk.now)
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
    result = carry_out_run(
        bench,
        order,
        desk.writer,
        desk.tell,
        unfinished=unfinished,
        now=desk.now,
        chance=desk.chance,
    )
    return result.run.header.run_id


def _complete_figures(run_id: str, desk: PlanDesk) -> None:
    # A power cut may have come between the end of the run and its figures
    if desk.reader.latest_figures(run_id) is None:
        figures = run_figures(desk.reader.run(run_id))
        desk.writer.add_figures(run_id, figures, computed_at=desk.now())
