"""What the thread that owns the rig reports. Plain data, typed, in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from firmware_protocol.messages import State
    from rig.link.serial_port import PortListing
    from rig.link.traits import RigTraits
    from rig.model.calibration import AxisCalibration
    from rig.model.mounted import Datum, OutputKind, Principle
    from rig.procedures.bench_finding import Finding
    from rig.procedures.events import Event
    from rig.tui.rig.jobs import Job


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """How things stand at this moment; a live reading, never a measurement.

    Attributes:
        state: What the controller is doing.
        from_home_mm: How far the axis is from home; None where it is not homed.
        gap_mm: Gap by the datum; None without one.
        level: Level of the sensor's output.
        edges: Edges of the output since the link was opened.
        edge_gap_mm: Gap at which the last one was latched; None without a datum.
    """

    state: State
    from_home_mm: float | None
    gap_mm: float | None
    level: bool
    edges: int = 0
    edge_gap_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Why something did not come about, for the user.

    Attributes:
        sentence: What happened.
        hint: What to do next; may be empty.
        stopped: Whether it is no fault but a stop that somebody asked for.
    """

    sentence: str
    hint: str = ""
    stopped: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PortsListed:
    """The serial ports of this computer."""

    ports: tuple[PortListing, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MountedThere:
    """What a simulated rig says is mounted on it."""

    principle: Principle
    output: OutputKind
    target_name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Connected:
    """A rig answered the greeting.

    Attributes:
        rig_name: Name of the rig as the user calls it.
        traits: What it says of itself.
        mounted: What is mounted, if the rig can say so.
    """

    rig_name: str
    traits: RigTraits
    mounted: MountedThere | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkGone:
    """There is no link any more."""

    problem: Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class DatumStands:
    """The datum as it stands from now on; None if there is none any more."""

    datum: Datum | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationStands:
    """The calibration in force for the rig; None if there is none on record."""

    calibration: AxisCalibration | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclarationStands:
    """What is on record of the bench of a rig.

    Attributes:
        rig_id: Identity of the rig.
        answered: Whether somebody declared it or put it off, so that nobody asks.
    """

    rig_id: str
    answered: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RigChangesStand:
    """What of a rig is not as it is known, and nobody has confirmed.

    Attributes:
        rig_id: Identity of the rig.
        changes: Each in words; empty if it is as it is known.
    """

    rig_id: str
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchChecked:
    """A bench check ended."""

    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcedureReported:
    """A procedure reported something."""

    event: Event


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A job was done."""

    job: Job


@dataclass(frozen=True, slots=True, kw_only=True)
class Failed:
    """A job was not carried out, or not to its end."""

    job: Job
    problem: Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class News:
    """Base of what a job posts to the screen that asked; see `FramedScreen.hear`."""


RigEvent = (
    Reading
    | PortsListed
    | Connected
    | LinkGone
    | DatumStands
    | CalibrationStands
    | DeclarationStands
    | RigChangesStand
    | BenchChecked
    | ProcedureReported
    | Done
    | Failed
    | News
)
Post = Callable[[RigEvent], None]
