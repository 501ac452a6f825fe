"""A run: locate, sweep until it is enough, home again, work out the figures.

Every sweep is on disk before the next begins.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from rig.analysis.run.run_figures import run_figures
from rig.errors import BenchError, InputError
from rig.link.traits import RigTraits
from rig.model.calibration import AxisCalibration
from rig.model.figures import RunFigures
from rig.model.mounted import Sensor, Target
from rig.model.settings import BenchSettings
from rig.model.sweeps import Conditions, Run, RunHeader, Timetable
from rig.procedures.assumed_delay import longest_delay_s
from rig.procedures.estimate import Durations
from rig.procedures.events import Remarked, RunBegan, RunEnded, StepBegan, Tell
from rig.procedures.goal import Goal
from rig.procedures.homing_check import HomeCheck, check_home
from rig.procedures.kinematics import ramp_mm
from rig.procedures.ready_bench import Bench
from rig.procedures.speeds import choose_speeds
from rig.procedures.sweeping import Session, good_sweeps
from rig.procedures.timetable import check_timetable, clock_of
from rig.records.entries import make_run_id
from rig.records.writer import Writer
from rig.version import SOFTWARE_VERSION

# What the weakest usual target leaves before the face, of the rated distance
_ROOM_SHARE = 0.1
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
        sweeps: Number of good sweeps wanted; with `until_mm` the most there may be.
        speeds_mm_s: Speeds that the sweeps go through in turn.
        until_mm: Expanded uncertainty of the operate point that ends the run; None
            to take all sweeps.
        plan_id: The plan that it belongs to; empty for none.
        plan_item: Index in the plan; -1 for none.
        operator: Who answers for it; may be empty.
        note: Free text; may be empty.
        temperature_c: Ambient temperature, if known.
        part: Serial or sample number of the sensor; empty if nobody gave it.
        timetable: When the sweeps are due, shared out evenly; None for one after
            another.
        label: Which of several settings it belongs to; empty for none.

    Raises:
        InputError: The number of sweeps, a speed or the uncertainty is not usable.
    """

    sensor: Sensor
    target: Target
    sweeps: int
    speeds_mm_s: tuple[float, ...]
    until_mm: float | None = None
    plan_id: str = ""
    plan_item: int = -1
    operator: str = ""
    note: str = ""
    temperature_c: float | None = None
    part: str = ""
    timetable: Timetable | None = None
    label: str = ""

    def __post_init__(self) -> None:
        if not 1 <= self.sweeps <= 10_000:
            raise InputError(f"sweeps is {self.sweeps}: it must be 1 to 10000")
        if self.until_mm is not None and not 0.0 < self.until_mm <= 1.0:
            raise InputError(
                f"until is {self.until_mm:g} mm: give an uncertainty above 0 and up "
                f"to 1 mm"
            )
        if self.timetable is not None:
            check_timetable(self.timetable, self.sweeps)
            if self.until_mm is not None:
                raise InputError("a run ends by its timetable or by until, not by both")
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
        remarks: Why a goal was not reached, in whole sentences.
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
    )


def planned_speeds(
    traits: RigTraits, settings: BenchSettings, sensor: Sensor
) -> tuple[float, ...]:
    """Return the speeds at which a sensor gives an uncertainty in the least time."""
    durations = Durations(traits=traits, settings=settings)
    room_mm = _ROOM_SHARE * sensor.rated_distance_mm
    top_mm_s = min(FASTEST_MM_S, traits.speed_limit_steps_s / traits.steps_per_mm)

    def fits(speed_mm_s: float) -> bool:
        brakes_mm = ramp_mm(speed_mm_s, settings.acceleration_mm_s2)
        runs_on_mm = speed_mm_s * longest_delay_s(sensor)
        return speed_mm_s <= top_mm_s and brakes_mm + runs_on_mm <= room_mm

    return choose_speeds(lambda speed: durations.pair_s(sensor, speed), fits)


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
        chance: Source of run identities; the operating system's if None.

    Raises:
        BenchError: The sensor cannot be measured, or steps were lost.
        Stopped: Somebody stopped it; what was measured is on record.
        RecordsError: The records cannot be written.
        LinkError: The rig failed.
    """
    goal = None if order.until_mm is None else Goal(order.until_mm, order.sweeps)
    if order.timetable is not None:
        now = clock_of(bench.mover, now, unfinished)
    desk = _RunDesk(
        order=order,
        writer=writer,
        tell=tell,
        now=now,
        ids=chance or random.SystemRandom(),
    )
    run, check = desk.session(bench, unfinished, order.sweeps, goal)
    run = desk.end(run, check)
    figures = run_figures(run)
    writer.add_figures(run.header.run_id, figures, computed_at=now())
    tell(RunEnded(run=run, figures=figures))
    remarks = (goal.why_short,) if goal is not None and goal.why_short else ()
    for sentence in remarks:
        tell(Remarked(sentence=sentence))
    return RunResult(bench=check.bench, run=run, figures=figures, remarks=remarks)


def carry_out_part(
    bench: Bench,
    order: RunOrder,
    writer: Writer,
    tell: Tell,
    *,
    sweeps: int,
    unfinished: Run | None = None,
    now: Callable[[], datetime] = utc_now,
    chance: random.Random | None = None,
) -> Run:
    """Carry out a part of a run; it stays open for the next part.

    Args:
        bench: A bench that was touched off.
        order: What to measure.
        writer: Where every sweep goes before the next begins.
        tell: Told of progress.
        sweeps: Good sweeps that the run is to have afterwards, the parts before
            included.
        unfinished: The run to go on with, as it is on record; None for a first part.
        now: The time, UTC.
        chance: Source of run identities; the operating system's if None.

    Raises:
        BenchError: The sensor cannot be measured, or steps were lost.
        Stopped: Somebody stopped it; what was measured is on record.
        RecordsError: The records cannot be written.
        LinkError: The rig failed.
    """
    desk = _RunDesk(
        order=order,
        writer=writer,
        tell=tell,
        now=now,
        ids=chance or random.SystemRandom(),
    )
    run, check = desk.session(bench, unfinished, sweeps, None)
    return desk.end(run, check) if check.lost_steps else run


def _phases(bench: Bench) -> random.Random:
    """Return random phases of the step grid that a rig's start alone decides.

    So a simulated rig gives the same sweeps for the same seed, at any pace.
    """
    traits = bench.mover.traits
    return random.Random(f"{traits.rig_id} {traits.boot_number}")


@dataclass(frozen=True, slots=True, kw_only=True)
class _RunDesk:
    """A run's way onto the records."""

    order: RunOrder
    writer: Writer
    tell: Tell
    now: Callable[[], datetime]
    ids: random.Random

    def session(
        self, bench: Bench, unfinished: Run | None, sweeps: int, goal: Goal | None
    ) -> tuple[Run, HomeCheck]:
        """Begin a run or take it up again, sweep, and home again."""
        order = self.order
        calibration = self.writer.calibration_in_force(bench.mover.traits.rig_id)
        conditions = conditions_of(bench, order, calibration)
        if unfinished is None:
            run = self._begun(conditions)
        else:
            run = self._taken_up(unfinished, conditions)
        self.tell(RunBegan(header=run.header, good=good_sweeps(run)))
        session = Session(
            bench=bench,
            sensor=order.sensor,
            speeds_mm_s=order.speeds_mm_s,
            sweeps=sweeps,
            goal=goal,
            writer=self.writer,
            tell=self.tell,
            now=self.now,
            phase=_phases(bench),
        )
        run = session.carry_out(run)
        self.tell(StepBegan(what="homing again"))
        return run, check_home(bench)

    def _begun(self, conditions: Conditions) -> Run:
        started_at, order = self.now(), self.order
        header = RunHeader(
            run_id=make_run_id(started_at, self.ids),
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
        )
        self.writer.begin_run(header)
        return Run(header=header, sweeps=())

    def _taken_up(self, run: Run, conditions: Conditions) -> Run:
        self.writer.add_conditions(run.header.run_id, len(run.conditions), conditions)
        return replace(run, later_conditions=(*run.later_conditions, conditions))

    def end(self, run: Run, check: HomeCheck) -> Run:
        """Put the end of a run on record.

        Raises:
            BenchError: Steps were lost, so that the run is void.
        """
        scale = run.header.conditions.axis.steps_per_mm
        shift_um = 1000 * check.shift_steps / scale
        void = f"the home switch moved by {shift_um:.0f} um, so steps were lost"
        ended_at = self.now()
        run = replace(
            run,
            ended_at=ended_at,
            void=void if check.lost_steps else "",
            home_shift_steps=check.shift_steps,
        )
        self.writer.end_run(
            run.header.run_id,
            ended_at=ended_at,
            void=run.void,
            home_shift_steps=check.shift_steps,
        )
        if run.void:
            raise BenchError(
                f"run {run.header.run_id} is void: {run.void}",
                hint="look for a jam or a loose coupling, then touch off and run again",
            )
        return run
