"""What the plan of a day asks of the rig: begin a plan, measure one pair of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rig.catalogue.plan_file import Plan
from rig.procedures.begin_plan import begin_plan
from rig.procedures.particulars import Particulars
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.rounds import Visit
from rig.records import PlanEntry
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_access import RigAccess
from rig.tui.rig.rig_events import News


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanBegan(News):
    """A plan is on record."""

    entry: PlanEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class BeginPlan(Job):
    """Put a plan on record."""

    DOING: ClassVar[str] = "beginning the plan"
    plan: Plan

    def carry_out(self, access: RigAccess) -> None:
        """Do it, and tell under which identity."""
        access.post(PlanBegan(entry=begin_plan(self.plan, access.run_context())))


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurePair(Job):
    """Touch off and measure one pair of a plan; it must be mounted.

    Attributes:
        entry: The plan as it is on record.
        visit: The mounting that is due.
        particulars: Written down with the run.
    """

    DOING: ClassVar[str] = "measuring a pair of the plan"
    MOVES: ClassVar[bool] = True
    entry: PlanEntry
    visit: Visit
    particulars: Particulars

    def carry_out(self, access: RigAccess) -> None:
        """Do it; what is measured is on disk sweep by sweep."""
        # The technician has mounted it and said so before this job was asked for
        context = access.run_context()
        access.set_bench(None)
        walk = PlanWalk(self.entry, context, access.check_mounted, self.particulars)
        access.set_bench(walk.carry_out(self.visit).bench)
