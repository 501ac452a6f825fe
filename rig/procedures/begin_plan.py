"""A plan put on record, or found there again to be resumed."""

from __future__ import annotations

from rig.catalogue.plan_file import Plan
from rig.errors import InputError
from rig.inquiry.products import product_in_force
from rig.procedures.events import Remarked
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import check_sensor
from rig.records import Reader
from rig.records.entries import PlanEntry, PlanItem, PlanState, make_run_id


def items_of(plan: Plan) -> tuple[PlanItem, ...]:
    """Return what a plan asks for, as the records keep it."""
    return tuple(
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


def begin_plan(
    plan: Plan, context: RunContext, *, for_verdict: bool = False
) -> PlanEntry:
    """Put a plan on record.

    Args:
        plan: What it asks for.
        context: What its runs are carried out with.
        for_verdict: Whether its runs end as soon as their verdicts are clear.

    Raises:
        InputError: A product of it is not on record or not approved, a sensor is not
            what its product asks for, or its runs cannot end by their verdicts.
        RecordsError: The records cannot be written.
    """
    if for_verdict and (plan.interleaved or any(run.timetable for run in plan.runs)):
        raise InputError(
            f"the runs of {plan.title!r} cannot end by their verdicts: pairs in rounds"
            " and timetables take all their sweeps",
            hint="measure the whole runs, or take interleave and timetable out",
        )
    for run in plan.runs:
        if run.product:
            check_sensor(run.sensor, product_in_force(context.products, run.product))
    created_at = context.now()
    entry = PlanEntry(
        plan_id=make_run_id(created_at, context.chance),
        title=plan.title,
        toml_text=plan.text,
        created_at=created_at,
        simulated=context.mover.traits.simulated,
        items=items_of(plan),
        for_verdict=for_verdict,
    )
    context.writer.begin_plan(entry)
    return entry


def plan_on_record(
    plan: Plan, context: RunContext, *, resume: bool, for_verdict: bool = False
) -> PlanEntry:
    """Return the plan as it is on record, to be resumed or begun.

    That it was begun before and not ended is said.

    Args:
        plan: What it asks for.
        context: What its runs are carried out with.
        resume: Whether it goes on as it was begun.
        for_verdict: Whether its runs end as soon as their verdicts are clear.

    Raises:
        InputError: There is nothing to resume, it was begun for whole runs, or a
            product is not as the plan has it.
        RecordsError: The records cannot be read or written.
    """
    simulated = context.mover.traits.simulated
    if resume:
        entry = plan_to_resume(plan, context.reader, simulated=simulated)
        if for_verdict and not entry.for_verdict:
            raise InputError(
                f"plan {entry.plan_id} was begun for all sweeps of its runs, not for"
                " their verdicts",
                hint="resume it as it was begun, or begin it again",
            )
        return entry
    if unfinished_plan(plan, context.reader, simulated=simulated) is not None:
        context.tell(
            Remarked(
                sentence="This plan is on record unfinished and can be resumed; it"
                " begins again with its first pair."
            )
        )
    return begin_plan(plan, context, for_verdict=for_verdict)


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
    """Return the plan to resume.

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
