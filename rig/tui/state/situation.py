"""All that the screens show, as one frozen value, and how each event changes it.

Pure: no screen, no thread, no clock.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from rig.procedures.events import (
    Event,
    Located,
    Operated,
    PlanItemBegan,
    Remarked,
    RunBegan,
    RunEnded,
    StepBegan,
    SweepEnded,
    Touched,
)
from rig.sheets.duration_words import left_text
from rig.tui.rig.bench_job import CarryOutRun, CheckBench, Connect, Mount
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_events import (
    BenchChecked,
    CalibrationStands,
    Connected,
    DatumStands,
    DeclarationStands,
    Done,
    Failed,
    LinkGone,
    PortsListed,
    Problem,
    ProcedureReported,
    RigChangesStand,
    RigEvent,
)

if TYPE_CHECKING:
    from rig.link.serial_port import PortListing
    from rig.link.traits import RigTraits
    from rig.model.calibration import AxisCalibration
    from rig.model.figures import RunFigures
    from rig.model.mounted import Datum, Sensor, Target
    from rig.model.sweeps import RunHeader
    from rig.procedures.bench_finding import Finding


class LinkState(StrEnum):
    """Whether there is a link."""

    NONE = "none"
    OPENING = "opening"
    LIVE = "live"
    LOST = "lost"


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepRow:
    """One sweep of the run that is shown.

    Attributes:
        number: Number of the sweep, from 1; void ones are counted too.
        speed_mm_s: Speed on both ways.
        operate_mm: Operate point, delay still in it; None if there is none.
        release_mm: Release point, delay still in it; None if there is none.
        void: Empty, or why it is not used.
    """

    number: int
    speed_mm_s: float
    operate_mm: float | None
    release_mm: float | None
    void: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunShown:
    """The run under way, or the last one.

    Attributes:
        header: What it measures.
        good: Good sweeps so far.
        rows: Sweeps of the run since it was begun or taken up again.
        coming: The sweep under way once it has operated; no release point yet.
        band_mm: Coarse operate and release point; None before they are known.
        remarks: Sentences that were told meanwhile.
        figures: None until it ended.
    """

    header: RunHeader
    good: int
    rows: tuple[SweepRow, ...] = ()
    coming: SweepRow | None = None
    band_mm: tuple[float, float] | None = None
    remarks: tuple[str, ...] = ()
    figures: RunFigures | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """How things stand.

    Attributes:
        ports: Serial ports of this computer; None before anybody looked.
        link: Whether there is a link.
        rig_name: The rig, as the user calls it.
        traits: What it says of itself; None without a link.
        sensor: The sensor that is mounted; None if nobody has said so.
        target: The target that is mounted; None if nobody has said so.
        datum: Where the gap is 0; None if that is not known.
        calibration: Calibration of the axis, as on record for this rig; None if there
            is none.
        undeclared: Whether nobody has declared the bench of the rig or put it off.
        changes: What of the rig is not as it is known, in words, until somebody
            confirms it.
        findings: Findings of the last bench check.
        under_way: The job that the user waits for.
        doing: What it is doing, in words.
        problem: What went wrong last; None once something else was begun.
        run: The run under way, or the last one.
    """

    ports: tuple[PortListing, ...] | None = None
    link: LinkState = LinkState.NONE
    rig_name: str = ""
    traits: RigTraits | None = None
    sensor: Sensor | None = None
    target: Target | None = None
    datum: Datum | None = None
    calibration: AxisCalibration | None = None
    undeclared: bool = False
    changes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    under_way: Job | None = None
    doing: str = ""
    problem: Problem | None = None
    run: RunShown | None = None

    @property
    def simulated(self) -> bool:
        """Whether the rig says that there is no machine behind it."""
        return self.traits is not None and self.traits.simulated

    @property
    def moving(self) -> bool:
        """Whether a job is under way that moves the axis."""
        return self.under_way is not None and self.under_way.MOVES

    @property
    def unfinished(self) -> RunShown | None:
        """A run of what is mounted that was cut short and can be taken up again."""
        run = self.run
        if run is None or self.moving or run.figures is not None:
            return None
        same = (run.header.sensor, run.header.target) == (self.sensor, self.target)
        return run if same and run.good < run.header.sweeps_wanted else None


def after_request(now: Situation, job: Job) -> Situation:
    """Return how things stand once a job is in the queue."""
    match job:
        case Mount(sensor=sensor, target=target):
            return replace(now, sensor=sensor, target=target)
        case Connect(rig_name=rig_name):
            now = Situation(
                ports=now.ports, link=LinkState.OPENING, rig_name=rig_name, run=now.run
            )
        case CheckBench():
            now = replace(now, findings=())
        case CarryOutRun(unfinished_run_id=""):
            now = replace(now, run=None)
        case _ if not job.MOVES:
            return now
    return replace(now, under_way=job, doing=job.DOING, problem=None)


def after_event(now: Situation, event: RigEvent) -> Situation:
    """Return how things stand after an event."""
    match event:
        case PortsListed(ports=ports):
            return replace(now, ports=ports)
        case Connected(traits=traits):
            return replace(now, link=LinkState.LIVE, traits=traits)
        case LinkGone(problem=problem):
            gone = Situation(
                ports=now.ports, link=LinkState.LOST, rig_name=now.rig_name, run=now.run
            )
            return replace(gone, problem=problem)
        case DatumStands(datum=datum):
            return replace(now, datum=datum)
        case CalibrationStands(calibration=calibration):
            return replace(now, calibration=calibration)
        case DeclarationStands(rig_id=rig_id, answered=answered):
            here = now.traits is not None and now.traits.rig_id == rig_id
            return replace(now, undeclared=not answered) if here else now
        case RigChangesStand(rig_id=rig_id, changes=changes):
            here = now.traits is not None and now.traits.rig_id == rig_id
            return replace(now, changes=changes) if here else now
        case BenchChecked(findings=findings):
            return replace(now, findings=findings)
        case ProcedureReported(event=inner):
            return _procedure_told(now, inner)
        case Done(job=job):
            return _ended(now, job)
        case Failed(job=job, problem=problem):
            return _failed(now, job, problem)
        case _:
            return now


def _ended(now: Situation, job: Job) -> Situation:
    if job is not now.under_way:
        return now
    return replace(now, under_way=None, doing="")


def _failed(now: Situation, job: Job, problem: Problem) -> Situation:
    now = replace(_ended(now, job), problem=problem)
    if isinstance(job, Connect):
        return replace(now, link=LinkState.NONE)
    if isinstance(job, Mount):
        return replace(now, sensor=None, target=None)
    return now


def _procedure_told(now: Situation, event: Event) -> Situation:
    match event:
        case StepBegan(what=what):
            return replace(now, doing=what)
        case Touched(index=index, wanted=wanted):
            return replace(now, doing=f"touched {index} of {wanted} times")
        case PlanItemBegan(sensor=sensor, target=target):
            # What was measured of another pair is not of this one
            begun = now.run if now.run is None or now.run.figures is None else None
            pair = None if begun is None else (begun.header.sensor, begun.header.target)
            return replace(now, run=begun if pair == (sensor, target) else None)
        case RunBegan(header=header, good=good):
            again = now.run is not None and now.run.header.run_id == header.run_id
            run = now.run if again else RunShown(header=header, good=good)
            return replace(now, run=run)
        case _:
            run = now.run
            return now if run is None else _in_run(now, run, event)


def _in_run(now: Situation, run: RunShown, event: Event) -> Situation:
    match event:
        case Located(operate_mm=operate_mm, release_mm=release_mm):
            run = replace(run, band_mm=(operate_mm, release_mm))
        case Operated(operate_mm=operate_mm, speed_mm_s=speed_mm_s):
            coming = SweepRow(
                number=run.rows[-1].number + 1 if run.rows else 1,
                speed_mm_s=speed_mm_s,
                operate_mm=operate_mm,
                release_mm=None,
                void="",
            )
            run = replace(run, coming=coming)
        case SweepEnded(sweep=sweep, good=good, wanted=wanted):
            row = SweepRow(
                number=sweep.index + 1,
                speed_mm_s=sweep.speed_mm_s,
                operate_mm=event.operate_mm,
                release_mm=event.release_mm,
                void=sweep.void,
            )
            run = replace(run, rows=(*run.rows, row), coming=None, good=good)
            doing = f"{good} of {wanted} sweeps{left_text(event.seconds_left)}"
            now = replace(now, doing=doing)
        case Remarked(sentence=sentence):
            run = replace(run, remarks=(*run.remarks, sentence))
        case RunEnded(figures=figures):
            run = replace(run, figures=figures, coming=None)
    return replace(now, run=run)
