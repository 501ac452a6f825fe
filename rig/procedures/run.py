"""A run: locate, sweep until enough are good, home again, work out the figures.

Every sweep is on disk before the next begins.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from rig.analysis.figures import run_figures
from rig.analysis.sweep_points import points_of
from rig.errors import BenchError, InputError
from rig.model.bench import Sensor, Target
from rig.model.figures import RunFigures
from rig.model.sweeps import Conditions, Run, RunHeader, Sweep
from rig.procedures.bench import Bench
from rig.procedures.events import (
    Remarked,
    RunBegan,
    RunEnded,
    StepBegan,
    SweepEnded,
    Tell,
)
from rig.procedures.homing_check import check_home
from rig.procedures.locate import Band, locate
from rig.procedures.sweep import Shuttle
from rig.records.entries import make_run_id
from rig.records.writer import Writer
from rig.version import SOFTWARE_VERSION

_VOIDS_IN_A_ROW = 3  # as many surprises one after another are no chance
_WIDENING = 2.0  # of the guard after a surprise
SLOWEST_MM_S = 0.05
FASTEST_MM_S = 10.0  # faster, and a delay of 10 ms could carry the target to the face


def utc_now() -> datetime:
    """Return the time, UTC."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOrder:
    """What to measure.

    Attributes:
        sensor: The sensor that is mounted.
        target: The target that is mounted.
        sweeps: Number of good sweeps wanted.
        speeds_mm_s: Speeds that the sweeps go through in turn.
        plan_id: The plan that it belongs to; empty for none.
        plan_item: Index in the plan; -1 for none.
        operator: Who answers for it; may be empty.
        note: Free text; may be empty.
        temperature_c: Ambient temperature, if known.

    Raises:
        InputError: The number of sweeps or a speed is not usable.
    """

    sensor: Sensor
    target: Target
    sweeps: int
    speeds_mm_s: tuple[float, ...]
    plan_id: str = ""
    plan_item: int = -1
    operator: str = ""
    note: str = ""
    temperature_c: float | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.sweeps <= 10_000:
            raise InputError(f"sweeps is {self.sweeps}: it must be 1 to 10000")
        if not self.speeds_mm_s:
            raise InputError("speeds is empty: give one or more in mm/s, such as 1,4")
        for speed in self.speeds_mm_s:
            if not SLOWEST_MM_S <= speed <= FASTEST_MM_S:
                raise InputError(
                    f"speed {speed:g} mm/s is out of range: it must be "
                    f"{SLOWEST_MM_S:g} to {FASTEST_MM_S:g} mm/s"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class RunResult:
    """A run that ended.

    Attributes:
        bench: The bench with its datum in the count after homing again.
        run: The run as it is on record.
        figures: Its figures.
    """

    bench: Bench
    run: Run
    figures: RunFigures


def conditions_of(bench: Bench, order: RunOrder) -> Conditions:
    """Return the conditions that sweeps on this bench are taken under."""
    traits = bench.mover.traits
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
    )


def carry_out_run(
    bench: Bench,
    order: RunOrder,
    writer: Writer,
    tell: Tell,
    *,
    unfinished: Run | None = None,
    now: Callable[[], datetime] = utc_now,
    chance: random.Random | None = None,
) -> RunResult:
    """Carry out one run, or the rest of one that was cut short.

    Args:
        bench: A bench that was touched off.
        order: What to measure.
        writer: Where every sweep goes before the next begins.
        tell: Told of progress.
        unfinished: The run to go on with, as it is on record.
        now: The time, UTC.
        chance: Source of run identities and random phases.

    Raises:
        BenchError: The sensor cannot be measured, or steps were lost.
        Stopped: Somebody stopped it; what was measured is on record.
        RecordsError: The records cannot be written.
        LinkError: The rig failed.
    """
    source = chance or random.Random()
    run = unfinished or _begun(bench, order, writer, now, source)
    if unfinished is not None:
        run = _taken_up(run, conditions_of(bench, order), writer)
    tell(RunBegan(header=run.header, good=_good(run)))
    band = locate(bench, order.sensor, tell)
    run = _sweeps(bench, order, run, band, writer, tell, now, source)
    tell(StepBegan(what="homing again"))
    check = check_home(bench)
    run = _ended(run, check.lost_steps, check.shift_steps, writer, now)
    if run.void:
        raise BenchError(
            f"run {run.header.run_id} is void: {run.void}",
            hint="look for a jam or a loose coupling, then touch off and run again",
        )
    figures = run_figures(run)
    writer.add_figures(run.header.run_id, figures, computed_at=now())
    tell(RunEnded(run=run, figures=figures))
    return RunResult(bench=check.bench, run=run, figures=figures)


def _begun(
    bench: Bench,
    order: RunOrder,
    writer: Writer,
    now: Callable[[], datetime],
    source: random.Random,
) -> Run:
    started_at = now()
    header = RunHeader(
        run_id=make_run_id(started_at, source),
        sensor=order.sensor,
        target=order.target,
        sweeps_wanted=order.sweeps,
        speeds_mm_s=order.speeds_mm_s,
        conditions=conditions_of(bench, order),
        software_version=SOFTWARE_VERSION,
        started_at=started_at,
        plan_id=order.plan_id,
        plan_item=order.plan_item,
    )
    writer.begin_run(header)
    return Run(header=header, sweeps=())


def _taken_up(run: Run, conditions: Conditions, writer: Writer) -> Run:
    writer.add_conditions(run.header.run_id, len(run.conditions), conditions)
    return replace(run, later_conditions=(*run.later_conditions, conditions))


def _good(run: Run) -> int:
    return sum(1 for sweep in run.sweeps if not sweep.void)


def _sweeps(
    bench: Bench,
    order: RunOrder,
    run: Run,
    band: Band,
    writer: Writer,
    tell: Tell,
    now: Callable[[], datetime],
    source: random.Random,
) -> Run:
    shuttle = Shuttle(
        bench=bench, sensor=order.sensor, band=band, phase=source, now=now
    )
    voids = 0
    while (good := _good(run)) < order.sweeps:
        speed_mm_s = order.speeds_mm_s[good % len(order.speeds_mm_s)]
        sweep = shuttle.sweep(len(run.sweeps), speed_mm_s, len(run.conditions) - 1)
        writer.add_sweep(run.header.run_id, sweep)
        run = replace(run, sweeps=(*run.sweeps, sweep))
        tell(_told(sweep, run.conditions[-1], _good(run), order.sweeps))
        if not sweep.void:
            voids = 0
            shuttle = replace(shuttle, seen=(*shuttle.seen, sweep))
            continue
        voids += 1
        if voids == _VOIDS_IN_A_ROW:
            raise BenchError(
                f"{voids} sweeps in a row are void, the last because {sweep.void}",
                hint="check target, sensor and cable, then run again",
            )
        tell(Remarked(sentence=f"Sweep {sweep.index + 1} is void: {sweep.void}."))
        band = locate(bench, order.sensor, tell)
        shuttle = replace(
            shuttle, band=band, seen=(), widening=shuttle.widening * _WIDENING
        )
    return run


def _told(sweep: Sweep, conditions: Conditions, good: int, wanted: int) -> SweepEnded:
    operate_mm, release_mm = points_of(sweep, conditions)
    return SweepEnded(
        sweep=sweep,
        operate_mm=operate_mm,
        release_mm=release_mm,
        good=good,
        wanted=wanted,
    )


def _ended(
    run: Run,
    lost_steps: bool,
    shift_steps: int,
    writer: Writer,
    now: Callable[[], datetime],
) -> Run:
    scale = run.header.conditions.axis.steps_per_mm
    shift_um = 1000 * shift_steps / scale
    void = f"the home switch moved by {shift_um:.0f} um, so steps were lost"
    run = replace(
        run,
        ended_at=now(),
        void=void if lost_steps else "",
        home_shift_steps=shift_steps,
    )
    writer.end_run(
        run.header.run_id,
        ended_at=run.ended_at or now(),
        void=run.void,
        home_shift_steps=shift_steps,
    )
    return run
