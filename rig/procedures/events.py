"""What a procedure tells while it goes on; screens and progress bars live on these."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rig.procedures.trimmer_guide import TrimmerAdvice

if TYPE_CHECKING:
    from rig.model.figures import RunFigures
    from rig.model.mounted import Backlash, Datum, Sensor, Target
    from rig.model.phases import Phase
    from rig.model.sweeps import Run, RunHeader, Sweep


@dataclass(frozen=True, slots=True, kw_only=True)
class StepBegan:
    """A part of a procedure began.

    Attributes:
        what: Name of the part in words, for a status line.
        phase: The part of a whole job that begins with it; None if that goes on.
    """

    what: str
    phase: Phase | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """One touch of a touch-off.

    Attributes:
        index: Number of the touch, from 1.
        wanted: How many there will be.
        position_steps: Where the probe closed.
    """

    index: int
    wanted: int
    position_steps: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DatumFound:
    """A touch-off ended well.

    Attributes:
        datum: Where the gap is 0.
        backlash: Lost motion on reversal.
        face_known: Whether the face was looked for near that of the last part.
    """

    datum: Datum
    backlash: Backlash
    face_known: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Located:
    """The coarse out-and-back found the switching band.

    Attributes:
        operate_mm: Gap at which the output operated, coarse.
        release_mm: Gap at which it released, coarse.
    """

    operate_mm: float
    release_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunBegan:
    """A run began, or was taken up again.

    Attributes:
        header: What is known before the first sweep.
        good: Good sweeps that it has already.
    """

    header: RunHeader
    good: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Operated:
    """The output operated on the approach of a sweep; on disk with the sweep only.

    Attributes:
        operate_mm: Operate point, delay still in it.
        speed_mm_s: Speed of the sweep.
    """

    operate_mm: float
    speed_mm_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepEnded:
    """A sweep ended and is on disk.

    Attributes:
        sweep: The sweep.
        operate_mm: Operate point of the sweep, delay still in it; None if it has none.
        release_mm: Release point of the sweep, delay still in it; None if it has none.
        good: Good sweeps so far.
        wanted: Good sweeps asked for.
        seconds_left: Time that the rest of the run should take while the sensor stays
            mounted; None if nobody reckoned.
        plan_seconds_left: Time that the rest of the plan should take, mounting by hand
            counted; None if the run is no part of one.
    """

    sweep: Sweep
    operate_mm: float | None
    release_mm: float | None
    good: int
    wanted: int
    seconds_left: float | None = None
    plan_seconds_left: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunEnded:
    """A run ended and its figures are on disk."""

    run: Run
    figures: RunFigures


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanItemBegan:
    """The next pair of a plan is due.

    Attributes:
        index: Index of the pair, from 0.
        count: Number of pairs in the plan; one that is taken in rounds counts each
            time.
        sensor: Sensor to be mounted.
        target: Target to be mounted.
        seconds_left: Time that the rest of the plan should take, this pair included
            and mounting by hand left out; None if nobody reckoned.
    """

    index: int
    count: int
    sensor: Sensor
    target: Target
    seconds_left: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remarked:
    """Something that the user should know."""

    sentence: str


Event = (
    StepBegan
    | Touched
    | DatumFound
    | Located
    | RunBegan
    | Operated
    | SweepEnded
    | RunEnded
    | PlanItemBegan
    | Remarked
    | TrimmerAdvice
)
Tell = Callable[[Event], None]
