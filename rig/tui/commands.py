"""What the thread that owns the rig can be asked to do. Plain data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rig.model.mounted import Sensor, Target
from rig.procedures.run_order import RunOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """Something to be done by the thread that owns the rig.

    Attributes:
        DOING: What it is, for a status line.
        MOVES: Whether it moves the axis, so that a stop concerns it.
    """

    DOING: ClassVar[str]
    MOVES: ClassVar[bool] = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ListPorts(Command):
    """Look which serial ports this computer has."""

    DOING: ClassVar[str] = "looking for serial ports"


@dataclass(frozen=True, slots=True, kw_only=True)
class Connect(Command):
    """Open a rig and greet it; lets go of the one before."""

    DOING: ClassVar[str] = "connecting"
    rig_name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mount(Command):
    """Say what is mounted now. Another sensor or target makes the datum void."""

    DOING: ClassVar[str] = "noting what is mounted"
    sensor: Sensor
    target: Target


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckBench(Command):
    """Check the bench, touch-off included."""

    DOING: ClassVar[str] = "checking the bench"
    MOVES: ClassVar[bool] = True


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchOff(Command):
    """Find the datum."""

    DOING: ClassVar[str] = "touching off"
    MOVES: ClassVar[bool] = True


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryOutRun(Command):
    """Carry out a run.

    Attributes:
        order: What to measure.
        unfinished_run_id: The run on record to go on with; empty for a new one.
    """

    DOING: ClassVar[str] = "measuring"
    MOVES: ClassVar[bool] = True
    order: RunOrder
    unfinished_run_id: str = ""
