"""A run: locate, sweep until it is enough, home again, work out the figures.

Every sweep is on disk before the next begins.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from firmware_protocol.messages import Quantity
from rig.analysis.edges.run_arrays import closings_of_run
from rig.analysis.run.run_figures import run_figures
from rig.model.attempts import Outcome
from rig.model.bench_items import THERMOMETER
from rig.model.calibration import AxisCalibration
from rig.model.figures import RunFigures
from rig.model.phases import Phase
from rig.model.sweeps import Conditions, Run, RunHeader
from rig.procedures.attempt import attempt
from rig.procedures.clock_check import clock_remark
from rig.procedures.datum_check import FaceGone
from rig.procedures.events import Remarked, RunBegan, RunEnded, StepBegan
from rig.procedures.goal import EndsSweeps, Goal
from rig.procedures.homing_check import check_home, home_is_due
from rig.procedures.ready_bench import Bench
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.procedures.run_sweeps import RunSweeps, good_sweeps, moved_datum
from rig.procedures.supply_setting import supply_set
from rig.procedures.timetable import clock_of
from rig.procedures.unmeasured import Unmeasured
from rig.procedures.verdict_goal import VerdictGoal
from rig.version import SOFTWARE_VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenRun:
    """A run that has been swept for and not ended yet.

    Attributes:
        bench: The bench with its datum in the count as it is now.
        run: The run as it is on record.
        shift_steps: Steps by which the home switch moved over the sweeps; None if it
            was not touched again.
        home_repeatability_mm: Standard deviation of the place at which that switch
            closes; None if nobody repeated it.
        goal: What was to end the sweeps sooner; None if their number decides.
        now: Gives the time, UTC, by the clock of the run.
    """

    bench: Bench
    run: Run
    shift_steps: int | None
    home_repeatability_mm: float | None
    goal: EndsSweeps | None
    now: Callable[[], datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunResult:
    """A run that ended.

    Attributes:
        bench: The bench with its datum in the count after homing again.
        run: The run as it is on record.
        figures: Figures of the run.
        remarks: Why a goal was not reached, or that the run ended early, in whole
            sentences.
    """

    bench: Bench
    run: Run
    figures: RunFigures
    remarks: tuple[str, ...] = ()


def conditions_of(
    bench: Bench, order: RunOrder, calibration: AxisCalibration | None = None
) -> Conditions:
    """Return the conditions that sweeps on this bench are taken under."""
    traits = bench.mover.traits
    current_ma = residual_v = None
    if bench.mover.output_level():
        # Of an output that does not conduct they tell its leakage alone
        current_ma = bench.mover.measured(Quantity.LOAD_CURRENT)
        residual_v = bench.mover.measured(Quantity.RESIDUAL_VOLTAGE)
    return Conditions(
        simulated=traits.simulated,
        rig_id=traits.rig_id,
        firmware_version=traits.firmware_version,
        protocol_version=traits.protocol_version,
        boot_number=traits.boot_number,
        axis=bench.axis,
        datum=bench.datum,
        backlash=bench.backlash,
        temperature_c=order.temperature_c,
        operator=order.operator,
        note=order.note,
        calibration=calibration,
        bench=bench.known,
        measured_temperature_c=bench.mover.temperature_c(),
        set_supply_v=order.supply_v,
        measured_supply_v=bench.mover.measured(Quantity.SUPPLY),
        load_current_ma=current_ma,
        residual_voltage_v=residual_v,
    )


def _temperature_doubt(conditions: Conditions) -> str:
    """Say that a temperature given is not that which was measured; empty if it is."""
    given_c, measured_c = conditions.temperature_c, conditions.measured_temperature_c
    known = conditions.bench
    if given_c is None or measured_c is None or known is None:
        return ""
    (own_k,) = (one.value for one in known.values if one.key == THERMOMETER)
    # Two thermometers of one kind, at 95 %
    if abs(given_c - measured_c) <= 2.0 * math.sqrt(2.0) * own_k:
        return ""
    return (
        f"The temperature given is {given_c:g} °C, and the rig measures"
        f" {measured_c:.1f} °C: see which of them is right; what was given counts."
    )


def carry_out_run(
    bench: Bench,
    order: RunOrder,
    context: RunContext,
    *,
    unfinished: Run | None = None,
) -> RunResult:
    """Carry out one run, or the rest of one that was cut short.

    However it ends, the attempt is on record with its outcome.

    Args:
        bench: A bench that was touched off.
        order: What to measure; for a run on record as `order_on_record` gives it.
        context: What it is carried out with.
        unfinished: The run to resume, as it is on record; None for a new one.

    Raises:
        BenchError: The sensor cannot be measured, or steps were lost.
        Stopped: Somebody stopped it; what was measured is on record.
        RecordsError: The records cannot be written.
        LinkError: The rig failed.
    """
    with attempt(order, context, unfinished=unfinished) as trying:
        swept = take_sweeps(
            bench, order, context, run_id=trying.run_id, unfinished=unfinished
        )
        result = end_run(swept, context)
        trying.sentence = " ".join(result.remarks)
        return result


def touch_off_and_run(order: RunOrder, context: RunContext) -> RunResult:
    """Find the datum of what is mounted and carry out one run.

    However it ends, the attempt is on record with its outcome.

    Raises:
        BenchError: It cannot be touched off or measured, or steps were lost.
        Stopped: Somebody stopped it; what was measured is on record.
        RecordsError: The records cannot be written.
        LinkError: The rig failed.
    """
    with attempt(order, context) as trying:
        bench = context.touch_off(order.sensor, order.target)
        swept = take_sweeps(bench, order, context, run_id=trying.run_id)
        result = end_run(swept, context)
        trying.sentence = " ".join(result.remarks)
        return result


def take_sweeps(
    bench: Bench,
    order: RunOrder,
    context: RunContext,
    *,
    run_id: str,
    sweeps: int | None = None,
    unfinished: Run | None = None,
) -> OpenRun:
    """Begin a run or resume it, sweep, and home again; the run stays open.

    Args:
        bench: A bench that was touched off.
        order: What to measure; for a run on record as `order_on_record` gives it.
        context: What it is carried out with.
        run_id: Identity for a new run, as its attempt has it.
        sweeps: Good sweeps that the run is to have afterwards; None for all of them.
        unfinished: The run to resume, as it is on record; None for a new one.

    Raises:
        BenchError: The sensor cannot be measured, or steps were lost.
        Stopped: Somebody stopped it; what was measured is on record.
        RecordsError: The records cannot be written.
        LinkError: The rig failed.
    """
    with supply_set(bench.mover, order.supply_v):
        return _take_sweeps(
            bench, order, context, run_id, sweeps=sweeps, unfinished=unfinished
        )


def _take_sweeps(
    bench: Bench,
    order: RunOrder,
    context: RunContext,
    run_id: str,
    *,
    sweeps: int | None,
    unfinished: Run | None,
) -> OpenRun:
    if order.timetable is not None:
        now = clock_of(bench.mover, context.now, unfinished)
        context = replace(context, now=now)
    goal = _goal(order, context)
    speeds_mm_s = order.speeds_mm_s
    if order.for_verdict:
        # The coarse pass tells best where an edge is at a speed near its own
        speeds_mm_s = tuple(sorted(speeds_mm_s, reverse=True))
    run = _on_record(bench, order, context, run_id, unfinished)
    context.tell(RunBegan(header=run.header, good=good_sweeps(run)))
    sweeping = RunSweeps(
        bench=bench,
        sensor=order.sensor,
        speeds_mm_s=speeds_mm_s,
        sweeps=order.sweeps if sweeps is None else sweeps,
        goal=goal,
        writer=context.writer,
        tell=context.tell,
        now=context.now,
        phase=_phases(bench),
    )
    swept = OpenRun(
        bench=replace(bench, way_in=None),
        run=run,
        shift_steps=None,
        home_repeatability_mm=None,
        goal=goal,
        now=context.now,
    )
    try:
        run = sweeping.carry_out(run)
        if moved_datum(run) is None:
            # Before homing: the datum stands in the count of the sweeps
            run = sweeping.touch_again(run, go_back=False)
    except FaceGone as exc:
        void = f"{exc}, so the face moved"
        raise _void(swept, void, Outcome.DATUM_MOVED, context) from exc
    return _proven(replace(swept, run=run), context)


def _goal(order: RunOrder, context: RunContext) -> EndsSweeps | None:
    if order.until_mm is not None:
        return Goal(order.until_mm, order.sweeps)
    return VerdictGoal(context.judge, order.sweeps) if order.for_verdict else None


def _proven(swept: OpenRun, context: RunContext) -> OpenRun:
    """Return the run if neither steps nor datum were lost; home again to tell.

    Raises:
        BenchError: The run is void.
        Stopped: Somebody stopped it.
    """
    bench = swept.bench
    closings = closings_of_run(swept.run)
    if not home_is_due(bench.datum, closings, bench.mover.homed_for_s):
        context.tell(StepBegan(what="moving out of the way", phase=Phase.CLOSING))
        away = bench.mover.traits.travel_low_steps
        bench.mover.go(away, bench.settings.retreat_speed_mm_s)
        return swept
    context.tell(StepBegan(what="homing again", phase=Phase.CLOSING))
    check = check_home(swept.bench)
    swept = replace(
        swept,
        bench=check.bench,
        shift_steps=check.shift_steps,
        home_repeatability_mm=check.repeatability_mm,
    )
    if check.lost_steps:
        shift_um = 1000 * check.shift_steps / check.bench.axis.steps_per_mm
        void = f"the home switch moved by {shift_um:.0f} µm, so steps were lost"
        raise _void(swept, void, Outcome.STEPS_LOST, context)
    closing = moved_datum(swept.run)
    if closing is not None:
        void = (
            f"the face was found {1000 * closing.difference_mm:+.0f} µm from the datum"
            f" when it was touched again, more than {1000 * closing.bound_mm:.0f} µm:"
            " it moved after the touch-off, or the axis lost steps"
        )
        raise _void(swept, void, Outcome.DATUM_MOVED, context)
    return swept


def end_run(swept: OpenRun, context: RunContext) -> RunResult:
    """End a run that has all its sweeps, and work out its figures.

    Raises:
        RecordsError: The records cannot be written.
    """
    run = _ended(swept, context, void="")
    figures = run_figures(run)
    context.writer.add_figures(run.header.run_id, figures, computed_at=swept.now())
    context.tell(RunEnded(run=run, figures=figures))
    goal = swept.goal
    remark = "" if goal is None else goal.remark(figures)
    remarks = (remark,) if remark else ()
    for sentence in remarks:
        context.tell(Remarked(sentence=sentence))
    return RunResult(bench=swept.bench, run=run, figures=figures, remarks=remarks)


def _phases(bench: Bench) -> random.Random:
    """Return random phases of the step grid that a rig's start alone decides.

    So a simulated rig gives the same sweeps for the same seed, at any pace.
    """
    traits = bench.mover.traits
    return random.Random(f"{traits.rig_id} {traits.boot_number}")


def _on_record(
    bench: Bench,
    order: RunOrder,
    context: RunContext,
    run_id: str,
    unfinished: Run | None,
) -> Run:
    """Put on record that a run begins or is resumed, and under which conditions."""
    writer = context.writer
    calibration = writer.calibration_in_force(bench.mover.traits.rig_id)
    conditions = conditions_of(bench, order, calibration)
    doubt = _temperature_doubt(conditions)
    if doubt:
        context.tell(Remarked(sentence=doubt))
    if unfinished is not None:
        index = len(unfinished.conditions)
        writer.add_conditions(run_id, index, conditions)
        later = (*unfinished.later_conditions, conditions)
        return replace(unfinished, later_conditions=later)
    started_at = context.now()
    remark = clock_remark(context.reader, started_at)
    if remark:
        context.tell(Remarked(sentence=remark))
    header = RunHeader(
        run_id=run_id,
        sensor=order.sensor,
        target=order.target,
        sweeps_wanted=order.sweeps,
        speeds_mm_s=order.speeds_mm_s,
        conditions=conditions,
        software_version=SOFTWARE_VERSION,
        started_at=started_at,
        plan_id=order.plan_id,
        plan_item=order.plan_item,
        part=order.part,
        timetable=order.timetable,
        label=order.label,
        until_mm=order.until_mm,
        product=order.product,
        for_verdict=order.for_verdict,
    )
    writer.begin_run(header)
    return Run(header=header, sweeps=())


def _void(
    swept: OpenRun, void: str, outcome: Outcome, context: RunContext
) -> Unmeasured:
    """End a run that is void; return what to raise."""
    run = _ended(swept, context, void=void)
    return Unmeasured(
        f"run {run.header.run_id} is void: {void}",
        outcome=outcome,
        hint="look for a jam, a loose coupling or a clamp that gives way, then touch"
        " off and run again",
    )


def _ended(swept: OpenRun, context: RunContext, *, void: str) -> Run:
    ended_at, shift_steps = swept.now(), swept.shift_steps
    repeatability_mm = swept.home_repeatability_mm
    context.writer.end_run(
        swept.run.header.run_id,
        ended_at=ended_at,
        void=void,
        home_shift_steps=shift_steps,
        home_repeatability_mm=repeatability_mm,
    )
    return replace(
        swept.run,
        ended_at=ended_at,
        void=void,
        home_shift_steps=shift_steps,
        home_repeatability_mm=repeatability_mm,
    )
