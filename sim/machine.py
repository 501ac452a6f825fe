"""How a rig is made, what is mounted on it, and the truth of both, as data."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from sim.sensors.response import SimSensor
from sim.surroundings import REFERENCE_C, Habits, Surroundings
from sim.targets import SimTarget


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockSet:
    """The gauge blocks that lie beside a bench.

    Attributes:
        number: Number of the set; its blocks are the same in every session.
        length_sd_mm: Standard deviation of a block's length off its nominal length.
        seat_mm: Mean of what stands between block and probe, anew each time it is put
            there.
    """

    number: int = 0
    length_sd_mm: float = 0.0
    seat_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A linear scale along the travel, read at the target's carrier.

    Attributes:
        count_mm: Length of a count.
        error_mm: Amplitude of what its division and its reading are off by.
        error_period_mm: Period of the error.
        error_phase_rad: Phase of the error at 0.
        linear: Share by which it reads more than was travelled, at 20 °C.
        per_k: Expansion of the scale (1/K).
        reversed: Whether it counts down toward the face.
    """

    count_mm: float
    error_mm: float = 0.0
    error_period_mm: float = 2.0
    error_phase_rad: float = 0.0
    linear: float = 0.0
    per_k: float = 0.0
    reversed: bool = False

    def count(self, place_mm: float, air_c: float) -> int:
        """Return its count at a place, whose own zero is where it was put on."""
        turn = 2.0 * math.pi * place_mm / self.error_period_mm + self.error_phase_rad
        longer = 1.0 + self.per_k * (air_c - REFERENCE_C)
        reads_mm = place_mm * (1.0 + self.linear) / longer
        reads_mm += self.error_mm * math.sin(turn)
        count = math.floor(reads_mm / self.count_mm)
        return -count if self.reversed else count


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateSeat:
    """How a plate sits, drawn anew each time that one is put up.

    Attributes:
        askew_mm: Mean of what stands out of parallel or lies between as dirt.
        flat_mm: Most that a plate stands out by its flatness.
    """

    askew_mm: float = 0.0
    flat_mm: float = 0.0

    def drawn_mm(self, draw: np.random.Generator) -> float:
        """Return how much earlier the faces meet than in the mean over the plate."""
        askew, flat = float(draw.standard_exponential()), float(draw.random())
        return self.askew_mm * askew + self.flat_mm * flat


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """How one rig is made, and the session that it is in.

    Places are in mm from the rig's own zero, near where the home switch closes, and
    grow toward the face.

    Attributes:
        steps_per_mm: Steps for a millimetre of travel, as the controller states.
        travel_mm: Usable travel.
        face_mm: Where the sensor's face is at 20 °C.
        zero_mm: Zero error of the touch probe: what a datum found with it adds to
            every gap. Above 0 the probe closes that far behind the face.
        plate: How much earlier the probe closes by how the target's plate sits.
        backlash_mm: Lost motion on reversal, at the face.
        backlash_per_mm: How much more lost motion there is for each mm away from the
            face.
        screw_mm: Amplitude of the screw's periodic error.
        screw_phase_rad: Phase of that error at 0.
        screw_second_mm: Amplitude of its second harmonic.
        screw_second_phase_rad: Phase of that at 0.
        screw_lead_mm: Period of the screw's periodic error.
        screw_linear: Share by which the screw travels farther than the controller
            states, at 20 °C.
        tilt_rad: Angle between the travel and the perpendicular of the face.
        give_mm: How far the target's seat gives way behind where the probe closes.
            There it meets the face for good: the motor stalls.
        probe_noise_mm: Standard deviation of the probe from contact to contact.
        probe_hysteresis_mm: How much farther from the face the contact opens than it
            closed.
        probe_delay_s: How late the controller's input follows the contact, both ways.
        home_mm: Where the home switch closes in this session.
        home_noise_mm: Standard deviation of the home switch from contact to contact.
        start_mm: Where the carriage stands when power comes on.
        surroundings: What changes by itself.
        blocks: Gauge blocks for the touch probe.
        scale: Linear scale at the target; None without one.
    """

    steps_per_mm: int = 1600
    travel_mm: float = 40.0
    face_mm: float = 30.0
    zero_mm: float = 0.0
    plate: PlateSeat = field(default=PlateSeat())
    backlash_mm: float = 0.0
    backlash_per_mm: float = 0.0
    screw_mm: float = 0.0
    screw_phase_rad: float = 0.0
    screw_second_mm: float = 0.0
    screw_second_phase_rad: float = 0.0
    screw_lead_mm: float = 2.0
    screw_linear: float = 0.0
    tilt_rad: float = 0.0
    give_mm: float = 0.1
    probe_noise_mm: float = 0.0
    probe_hysteresis_mm: float = 0.0
    probe_delay_s: float = 0.0
    home_mm: float = 0.0
    home_noise_mm: float = 0.0
    start_mm: float = 5.0
    surroundings: Surroundings = field(default=Surroundings())
    blocks: BlockSet = field(default=BlockSet())
    scale: Scale | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mounting:
    """What is mounted.

    Attributes:
        sensor: The sensor.
        target: The target.
        normally_closed: Whether the output is 1 while the sensor is not operated.
        offset_sigma_mm: Standard deviation of an offset drawn for each sweep, told
            like the sensor's noise.
        habits: How the sensor follows its surroundings.
    """

    sensor: SimSensor
    target: SimTarget
    normally_closed: bool = False
    offset_sigma_mm: float = 0.0
    habits: Habits = field(default=Habits())


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """A motion that drove the target into the hard face.

    Attributes:
        way_mm: How far the motor was told to go on after the face stopped it.
        speed_mm_s: Speed at which it struck.
        time_s: Simulated time at which that motion ended.
    """

    way_mm: float
    speed_mm_s: float
    time_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What the simulated rig knows of itself at an instant; gaps from the true face.

    Attributes:
        threshold_operate_mm: Noise-free operate gap; None if it never operates.
        threshold_release_mm: Noise-free release gap; None if it never releases.
        observed_operate_mm: Mean of the first edge on a slow approach, with the
            noise of one look per step.
        observed_release_mm: Mean of the release edge on a slow retreat, with the noise
            of one look per step.
        backlash_mm: Lost motion at the face.
        zero_error_mm: What a datum from the probe adds to every gap.
        delay_on_s: Delay from operating to the edge.
        delay_off_s: Delay from releasing to the edge.
        noise_sigma_mm: Noise of one look at the reference's operate point.
        face_mm: Where the face is, from the rig's own zero.
        strikes: Motions that drove into the face, in their order.
    """

    threshold_operate_mm: float | None
    threshold_release_mm: float | None
    observed_operate_mm: float | None
    observed_release_mm: float | None
    backlash_mm: float
    zero_error_mm: float
    delay_on_s: float
    delay_off_s: float
    noise_sigma_mm: float
    face_mm: float
    strikes: tuple[Strike, ...]
