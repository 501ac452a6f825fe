"""What the plan of a day asks of the rig: begin a plan, measure one pair of it."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import ClassVar

from rig.catalogue.plan_file import Plan
from rig.errors import InputError
from rig.model.mounted import Sensor, Target
from rig.procedures.plan import PlanDesk, begin_plan
from rig.procedures.plan_pair import carry_out_pair, complete_figures, order_of
from rig.records import PlanEntry, Reader, Writer
from rig.tui.jobs import Hands, Job
from rig.tui.particulars import Particulars
from rig.tui.rig_events import News


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanBegan(News):
    """A plan is on record."""

    entry: PlanEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class BeginPlan(Job):
    """Put a plan on record."""

    DOING: ClassVar[str] = "beginning the plan"
    plan: Plan

    def carry_out(self, hands: Hands) -> None:
        """Do it, and tell under which identity."""
        entry = begin_plan(self.plan, _desk(hands, Particulars()))
        hands.post(PlanBegan(entry=entry))


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurePair(Job):
    """Touch off and measure one pair of a plan; it must be mounted.

    Attributes:
        entry: The plan as it is on record.
        index: Of the pair.
        again: Whether it is measured although a run counts already.
        particulars: Written down with the run.
    """

    DOING: ClassVar[str] = "measuring a pair of the plan"
    MOVES: ClassVar[bool] = True
    entry: PlanEntry
    index: int
    again: bool
    particulars: Particulars

    def carry_out(self, hands: Hands) -> None:
        """Do it; what is measured is on disk sweep by sweep."""
        desk = _desk(hands, self.particulars)
        hands.set_bench(None)
        order = self.particulars.beside(order_of(self.entry, self.index))
        result = carry_out_pair(self.entry, self.index, order, desk, again=self.again)
        hands.set_bench(result.bench)
        for progress in desk.reader.plan_progress(self.entry.plan_id):
            complete_figures(progress, desk)


def _desk(hands: Hands, particulars: Particulars) -> PlanDesk:
    def mounted(sensor: Sensor, target: Target) -> None:
        # The technician has mounted it and said so before this job was asked for
        if hands.mounted() != (sensor, target):
            raise InputError("what is to be measured is not what is mounted")

    store = hands.records()
    return PlanDesk(
        mover=hands.rig().mover,
        settings=hands.settings,
        mount=mounted,
        reader=Reader(store),
        writer=Writer(store),
        tell=hands.tell,
        operator=particulars.operator,
        chance=random.SystemRandom(),
    )
