"""A whole plan now, as scripts have it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from rig.catalogue.plan_file import Plan
from rig.errors import InputError
from rig.inquiry.plan import PlanResult, plan_result
from rig.model.mounted import Sensor, Target
from rig.procedures.begin_plan import plan_on_record
from rig.procedures.events import Tell
from rig.procedures.motions_ahead import USUAL
from rig.procedures.particulars import Particulars
from rig.procedures.plan_walk import Mount, PlanWalk, never_go_on
from rig.procedures.rounds import Visit
from rig.procedures.run_context import RunContext
from rig.procedures.unmeasured import Unmeasured
from rig.records import Store
from rig.wiring import Rig

MountByName = Callable[[str, str, str], None]
"""Has a sensor, a target and a part mounted, by their names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWanted:
    """How somebody wants a plan carried out.

    Attributes:
        resume: Whether it goes on where it stopped, rather than begins.
        retry: Whether pairs that gave no figures are due once more.
        go_on: Whether it goes on past a pair that gives no figures.
        mount: Has each pair mounted; None where the simulated rig mounts them.
        particulars: Written down with each of its runs.
    """

    resume: bool
    retry: bool
    go_on: bool
    mount: MountByName | None
    particulars: Particulars


def plan_now(
    rig: Rig, store: Store, plan: Plan, wanted: PlanWanted, tell: Tell
) -> PlanResult:
    """Carry out all that is due of a plan.

    Raises:
        InputError: Nobody would mount what is due, there is nothing to resume, or a
            product is not as the plan has it.
        BenchError: A pair cannot be measured, or steps were lost.
        Stopped: Somebody stopped it; it can be resumed.
        RecordsError: The records cannot be read or written.
        LinkError: The rig failed.
    """
    if wanted.retry and not wanted.resume:
        raise InputError("retry goes with resume: a plan that begins tries every pair")
    context = RunContext.on(rig.mover, USUAL, store, tell)
    mount = _mount(rig, wanted.mount)
    entry = plan_on_record(plan, context, resume=wanted.resume)
    walk = PlanWalk(entry, context, mount, wanted.particulars, retry=wanted.retry)
    walk.carry_out_rest(_always if wanted.go_on else never_go_on)
    return plan_result(store, entry.plan_id)


def _mount(rig: Rig, by_name: MountByName | None) -> Mount:
    if rig.simulation is not None:
        return rig.simulation.mount
    if by_name is None:
        raise InputError(
            "sensor and target must be mounted by hand, and nobody is named who does",
            hint="give mount=, a function that returns when they are mounted",
        )

    def mount(sensor: Sensor, target: Target, *, part: str = "") -> None:
        by_name(sensor.name, target.name, part)

    return mount


def _always(visit: Visit, why: Unmeasured) -> bool:
    return True
