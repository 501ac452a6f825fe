"""What is mounted: sensors, targets, and what is known of the axis and its zero."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Principle(StrEnum):
    """How a sensor senses."""

    CAPACITIVE = "capacitive"
    INDUCTIVE = "inductive"


class OutputKind(StrEnum):
    """Which level the output takes when the sensor operates."""

    NORMALLY_OPEN = "NO"
    NORMALLY_CLOSED = "NC"


@dataclass(frozen=True, slots=True, kw_only=True)
class DataSheetLimit:
    """A limit that a data sheet states in place of the standard's.

    Attributes:
        symbol: s_r, s_u, s_a, H or R.
        lower: Lower limit, as a share of what the standard's limit is a share of; None
            without one.
        upper: Upper limit, as a share of the same; None without one.
    """

    symbol: str
    lower: float | None = None
    upper: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """A proximity sensor as its data sheet describes it.

    Attributes:
        name: What the user calls it; unique in a catalogue.
        principle: How it senses.
        size_mm: Diameter of the active face.
        rated_distance_mm: Rated operating distance s_n.
        output: Normally open or normally closed.
        switching_frequency_hz: Switching frequency in the data sheet (Hz); bounds the
            switching delay (IEC 60947-5-2: 1/f is at least the sum of both delays).
            None if unknown.
        data_sheet_limits: Limits that stand in place of the standard's; may be empty.
        time_delay_before_availability_ms: Longest one by the data sheet (ms); None
            where the standard's holds.
    """

    name: str
    principle: Principle
    size_mm: float
    rated_distance_mm: float
    output: OutputKind = OutputKind.NORMALLY_OPEN
    switching_frequency_hz: float | None = None
    data_sheet_limits: tuple[DataSheetLimit, ...] = ()
    time_delay_before_availability_ms: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A target plate, or a cell with a filling behind a wall.

    Attributes:
        name: What the user calls it; unique in a catalogue.
        material: Material of the plate or of the filling.
        thickness_mm: Thickness of the plate or depth of the filling.
        earthed: Whether a metal plate is connected to earth.
        wall_material: Material of the cell's wall; empty for a plate.
        wall_mm: Thickness of the cell's wall; 0 for a plate.
        side_mm: Shorter side of the plate; None if nobody says.
    """

    name: str
    material: str
    thickness_mm: float
    earthed: bool = False
    wall_material: str = ""
    wall_mm: float = 0.0
    side_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """What is known of the axis.

    Attributes:
        steps_per_mm: Steps for one millimetre of travel, as the controller states.
        standard_uncertainty_mm: Position error between two places of the stroke
            (screw, scale), as a standard uncertainty.
        scale_counts_per_mm: Counts of the linear scale that places are taken from, for
            one millimetre; None without one, where places are steps of the motor.
    """

    steps_per_mm: float
    standard_uncertainty_mm: float
    scale_counts_per_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Datum:
    """The axis position at which the gap is 0, found by touch-off on approach.

    Attributes:
        position_steps: Mean of the touches, steps from home.
        standard_uncertainty_mm: Standard uncertainty of the mean (mm), from the scatter
            of the touches.
        degrees_of_freedom: Degrees of freedom of the standard uncertainty.
        n: Number of touches.
        probe_uncertainty_mm: What the touch probe itself may be off by, as a
            standard uncertainty (its certificate or data sheet).
        found_at: When, UTC.
        late_mm: Travel during the delay of the probe, taken off the touches; 0 where
            the delay was not measured.
        late_uncertainty_mm: Standard uncertainty of that travel (mm); None where the
            delay was not measured, so that what is declared or assumed of it counts.
        scale_steps: Where the gap is 0 by the linear scale, in steps from home, which
            the uncertainty and the delay are of; None without a scale.
    """

    position_steps: float
    standard_uncertainty_mm: float
    degrees_of_freedom: float
    n: int
    probe_uncertainty_mm: float
    found_at: datetime
    late_mm: float = 0.0
    late_uncertainty_mm: float | None = None
    scale_steps: float | None = None

    @property
    def place_steps(self) -> float:
        """Place that figures rest on: by the scale, else by the motor's steps."""
        return self.position_steps if self.scale_steps is None else self.scale_steps


class BacklashSource(StrEnum):
    """Where a backlash figure comes from."""

    PROBE = "probe"
    INDICATOR = "indicator"
    NOT_MEASURED = "not measured"


@dataclass(frozen=True, slots=True, kw_only=True)
class Backlash:
    """Lost motion on reversal; adds in full to release and to differential travel.

    Attributes:
        value_mm: Mean; 0 when not measured.
        standard_uncertainty_mm: Standard uncertainty of the mean (mm).
        degrees_of_freedom: Degrees of freedom of the standard uncertainty; inf for a
            stated bound.
        n: Number of reversals measured; 0 when not measured.
        source: Where the figure comes from.
        screw_mm: Lost motion of the screw by the motor's steps where the value is what
            a linear scale leaves of it; None without a scale, where both are one.
    """

    value_mm: float
    standard_uncertainty_mm: float
    degrees_of_freedom: float
    n: int
    source: BacklashSource
    screw_mm: float | None = None

    @property
    def of_screw_mm(self) -> float:
        """Lost motion between the motor and the target, which motions allow for."""
        return self.value_mm if self.screw_mm is None else self.screw_mm
