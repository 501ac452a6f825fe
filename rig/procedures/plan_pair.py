"""One pair of a plan by itself, for somebody who goes through it pair by pair."""

from __future__ import annotations

from rig.analysis.run.run_figures import run_figures
from rig.errors import InputError
from rig.model.sweeps import Run
from rig.procedures.events import PlanItemBegan, Remarked
from rig.procedures.plan import PlanDesk
from rig.procedures.run import RunOrder, RunResult, carry_out_run
from rig.procedures.touch_off import touch_off
from rig.records.entries import ItemProgress, PlanEntry, PlanState, RunSummary


def run_that_counts(progress: ItemProgress) -> RunSummary | None:
    """Return the latest run of a pair that ended and is not void; None for none."""
    ended = [run for run in progress.runs if run.ended_at and not run.void]
    return ended[-1] if ended else None


def run_to_go_on_with(progress: ItemProgress, *, again: bool) -> RunSummary | None:
    """Return the run of a pair that was cut short; None to begin a new one.

    Args:
        progress: Of the pair.
        again: Whether the pair is measured again although a run counts already.
    """
    usable = [run for run in progress.runs if not run.void]
    if not usable or usable[-1].ended_at is not None:
        return None
    return usable[-1] if again or run_that_counts(progress) is None else None


def carry_out_pair(
    entry: PlanEntry, index: int, order: RunOrder, desk: PlanDesk, *, again: bool
) -> RunResult:
    """Mount, touch off and measure one pair; the plan is done with its last one.

    Args:
        entry: The plan as it is on record.
        index: Of the pair.
        order: What to measure, as `order_of` gives it.
        desk: All that a plan needs to go on.
        again: Measure it although a run counts already; the newer one counts then.

    Raises:
        InputError: The plan was begun on a rig of the other kind.
        Stopped: Somebody stopped it; it can be gone on with.
        RigError: Something failed; likewise.
    """
    simulated = desk.mover.traits.simulated
    if entry.simulated is not simulated:
        kinds = ("a real rig", "the simulated rig")
        raise InputError(
            f"this plan was begun on {kinds[entry.simulated]}, and this is "
            f"{kinds[simulated]}",
            hint="begin it anew here, or connect to the other one",
        )
    desk.writer.set_plan_state(entry.plan_id, PlanState.RUNNING)
    try:
        result = _measure(entry, index, order, desk, again)
    except Exception:
        desk.writer.set_plan_state(entry.plan_id, PlanState.STOPPED)
        raise
    if all(run_that_counts(one) for one in desk.reader.plan_progress(entry.plan_id)):
        desk.writer.set_plan_state(entry.plan_id, PlanState.DONE)
    return result


def order_of(entry: PlanEntry, index: int) -> RunOrder:
    """Return what a plan asks of a pair."""
    item = entry.items[index]
    return RunOrder(
        sensor=item.sensor,
        target=item.target,
        sweeps=item.sweeps_wanted,
        speeds_mm_s=item.speeds_mm_s,
        plan_id=entry.plan_id,
        plan_item=item.index,
        part=item.part,
        timetable=item.timetable,
    )


def _measure(
    entry: PlanEntry, index: int, order: RunOrder, desk: PlanDesk, again: bool
) -> RunResult:
    progress = desk.reader.plan_progress(entry.plan_id)[index]
    begun = run_to_go_on_with(progress, again=again)
    unfinished: Run | None = None
    desk.tell(
        PlanItemBegan(
            index=index,
            count=len(entry.items),
            sensor=order.sensor,
            target=order.target,
        )
    )
    if begun is not None:
        unfinished = desk.reader.run(begun.run_id)
        good = begun.good_sweeps
        desk.tell(
            Remarked(sentence=f"Run {begun.run_id} goes on after {good} good sweeps.")
        )
    desk.mount(order.sensor, order.target)
    bench = touch_off(desk.mover, desk.settings, desk.tell, now=desk.now)
    return carry_out_run(
        bench,
        order,
        desk.writer,
        desk.tell,
        unfinished=unfinished,
        now=desk.now,
        chance=desk.chance,
    )


def complete_figures(progress: ItemProgress, desk: PlanDesk) -> None:
    """Work out figures that a power cut kept from being worked out."""
    run = run_that_counts(progress)
    if run is not None and desk.reader.latest_figures(run.run_id) is None:
        figures = run_figures(desk.reader.run(run.run_id))
        desk.writer.add_figures(run.run_id, figures, computed_at=desk.now())
