"""The machine behind the controller's pins: screw, play, switches, sensor, target.

Knows steps of the motor and what the inputs make of them; knows no protocol, no
speed and no clock but the time at which a stretch of motion begins. Noise is drawn
from streams keyed by seed and motion order, so that the same orders meet the same
noise whenever they come.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

import numpy as np

from sim.faults import CHATTER_NOISE, DRIFT_TIME_S, NO_FAULTS, Faults
from sim.sensors.response import SimSensor
from sim.stretch import Stretch, StretchSetup
from sim.targets import SimTarget
from sim.truth import first_passage_mean

SCREW_LEAD_MM: Final = 2.0
LOST_AT_ONCE_STEPS: Final = 64  # four full steps of 16: the rotor slips whole poles


class Purpose(Enum):
    """What a stream of random numbers is for; part of its key."""

    MAKE = 1
    LOOK = 2
    SWEEP = 3
    LEG = 4
    TO_HOST = 5
    TO_CONTROLLER = 6
    NOTICE = 7


def stream(
    seed: int, purpose: Purpose, order: int = 0, leg: int = 0, chunk: int = 0
) -> np.random.Generator:
    """Return a stream of its own for this purpose, order, leg and chunk."""
    bits = np.random.Philox(key=[seed, purpose.value], counter=[0, chunk, leg, order])
    return np.random.Generator(bits)


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """How one rig is made.

    Attributes:
        steps_per_mm: Steps for a millimetre of travel.
        travel_mm: Usable travel.
        face_mm: Where the sensor's face is, from where the home switch closes.
        zero_mm: Zero error of the touch probe: what a datum found with it adds to
            every gap. Above 0 the probe closes that far behind the face.
        backlash_mm: Lost motion on reversal.
        screw_mm: Amplitude of the screw's periodic error.
        screw_phase_rad: Phase of that error where the home switch closes.
        probe_noise_mm: Standard deviation of the probe from contact to contact.
        home_noise_mm: Standard deviation of the home switch from contact to contact.
        start_mm: Where the carriage stands when power comes on.
    """

    steps_per_mm: int = 1600
    travel_mm: float = 40.0
    face_mm: float = 30.0
    zero_mm: float = 0.0
    backlash_mm: float = 0.0
    screw_mm: float = 0.0
    screw_phase_rad: float = 0.0
    probe_noise_mm: float = 0.0
    home_noise_mm: float = 0.0
    start_mm: float = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mounting:
    """What is mounted.

    Attributes:
        sensor: The sensor.
        target: The target.
        normally_closed: Whether the output is 1 while the sensor is not operated.
        offset_sigma_mm: Standard deviation of an offset drawn for each sweep, told
            like the sensor's noise.
    """

    sensor: SimSensor
    target: SimTarget
    normally_closed: bool = False
    offset_sigma_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What the simulated rig knows of itself; gaps from the true face.

    Attributes:
        threshold_operate_mm: Noise-free operate gap; None if it never operates.
        threshold_release_mm: Noise-free release gap; None if it never releases.
        observed_operate_mm: Mean of the first edge on a slow approach, with the
            noise of one look per step.
        observed_release_mm: Mean of the release edge on a slow retreat, with the noise
            of one look per step.
        backlash_mm: Lost motion.
        zero_error_mm: What a datum from the probe adds to every gap.
        delay_on_s: Delay from operating to the edge.
        delay_off_s: Delay from releasing to the edge.
        noise_sigma_mm: Noise of one look at the reference's operate point.
        face_mm: Where the face is, from the home switch.
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


class Bench:
    """The machine and what is mounted on it, between and during motions.

    Attributes:
        machine: How the rig is made.
        operated: Whether the sensor is operated.
        probe_closed: Level of the touch probe.
        home_closed: Level of the home switch.
        supplied: Whether the sensor has its supply.
    """

    def __init__(
        self,
        machine: Machine,
        mounting: Mounting,
        *,
        seed: int = 0,
        faults: Faults = NO_FAULTS,
    ) -> None:
        self.machine = machine
        self.supplied = True
        self._seed = seed
        self._faults = faults
        self._motor_steps = round(machine.start_mm * machine.steps_per_mm)
        self._carriage_mm = self._motor_steps / machine.steps_per_mm
        self._lost_next_steps = 0
        # A contact opens where it closed: drawn anew, it might open while the play is
        # taken up and the carriage stands still
        self._contact_mm = 0.0
        self.probe_closed = False
        self.home_closed = False
        self.mount(mounting)

    def mount(self, mounting: Mounting) -> None:
        """Put up another sensor or target; the output takes its level at rest."""
        self._mounting = mounting
        self._sensor = self._spoilt(mounting.sensor)
        self._response = self._sensor.response(mounting.target)
        by_offset = replace(self._sensor, noise_sigma_mm=mounting.offset_sigma_mm)
        self._offset_sigma = by_offset.noise_signal
        self._offset = 0.0
        self.operated = "sensor_on" in self._faults or (
            self._signal_here() >= 1.0 and "sensor_dead" not in self._faults
        )

    def turn_trimmer(self, ratio: float) -> None:
        """Turn the sensor's trimmer while nothing moves.

        What is operated stays so until the signal has fallen below the release
        threshold, as on any sensor with hysteresis.

        Args:
            ratio: Ratio of the new threshold to the old; below 1 is more sensitive.
        """
        was_operated = self.operated
        sensor = self._mounting.sensor
        turned = replace(sensor, threshold_factor=sensor.threshold_factor * ratio)
        self.mount(replace(self._mounting, sensor=turned))
        held = self._signal_here() >= 1.0 - self._sensor.hysteresis
        if was_operated and held and "sensor_dead" not in self._faults:
            self.operated = True

    def _signal_here(self) -> float:
        gap_mm = max(0.0, self.machine.face_mm - self._carriage_mm)
        return float(self._response.signal_at(np.array([gap_mm]))[0])

    @property
    def mounting(self) -> Mounting:
        """What is mounted."""
        return self._mounting

    @property
    def output_level(self) -> bool:
        """Level that the output takes once its delay has passed."""
        if not self.supplied:
            return False
        return self.operated != self._mounting.normally_closed

    def delay_us(self, operated: bool) -> float:
        """Return how long the output waits after the sensor operates or releases."""
        sensor = self._sensor
        return (sensor.tau_on_s if operated else sensor.tau_off_s) * 1e6

    def lose_steps(self, steps: int) -> None:
        """Let the motor lose so many steps as the next motion begins."""
        self._lost_next_steps += steps

    def begin(self, *, direction: int, order: int, leg: int, time_s: float) -> Stretch:
        """Begin a stretch of motion in one direction.

        Args:
            direction: 1 toward the face, -1 away from it.
            order: Number of the motion order.
            leg: Number of the stretch within the order.
            time_s: Simulated time, for drift.
        """
        if direction > 0:
            draw = stream(self._seed, Purpose.SWEEP, order, leg)
            self._offset = float(draw.normal(0.0, 1.0)) * self._offset_sigma
        lost = self._lost_next_steps
        self._lost_next_steps = 0
        if self._faults.get("lost_steps") == float(order) and leg == 0:
            lost += LOST_AT_ONCE_STEPS
        return Stretch(self._setup(direction, order, leg, time_s, lost))

    def finish(self, stretch: Stretch, steps: int) -> None:
        """Take over where a stretch ended after so many steps."""
        if steps:
            self._motor_steps = stretch.motor_steps(steps)
            self._carriage_mm = stretch.carriage_mm(steps)

    def truth(self) -> Truth:
        """Return the truth, for tests and whoever asks for it by name."""
        sensor, response = self._sensor, self._response
        step_mm = 1.0 / self.machine.steps_per_mm
        noise = sensor.noise_signal
        return Truth(
            threshold_operate_mm=response.operate_gap_mm,
            threshold_release_mm=response.release_gap_mm,
            observed_operate_mm=first_passage_mean(
                response, noise, step_mm, approach=True
            ),
            observed_release_mm=first_passage_mean(
                response, noise, step_mm, approach=False
            ),
            backlash_mm=self.machine.backlash_mm,
            zero_error_mm=self.machine.zero_mm,
            delay_on_s=sensor.tau_on_s,
            delay_off_s=sensor.tau_off_s,
            noise_sigma_mm=sensor.noise_sigma_mm,
            face_mm=self.machine.face_mm,
        )

    def _spoilt(self, sensor: SimSensor) -> SimSensor:
        ratio = self._faults.get("chatter")
        if ratio is None:
            return sensor
        sensor = replace(sensor, noise_sigma_mm=CHATTER_NOISE * sensor.noise_sigma_mm)
        if sensor.noise_sigma_mm == 0.0:
            raise ValueError("the fault chatter needs a sensor with noise")
        return replace(sensor, hysteresis=min(0.9, ratio * sensor.noise_signal))

    def _setup(
        self, direction: int, order: int, leg: int, time_s: float, lost: int
    ) -> StretchSetup:
        machine, faults = self.machine, self._faults
        draw = stream(self._seed, Purpose.LEG, order, leg)
        phase = float(draw.random())
        contact, closing = (float(x) for x in draw.normal(size=2))
        if not self.probe_closed:
            self._contact_mm = contact * machine.probe_noise_mm
        probe_mm = machine.face_mm + machine.zero_mm - self._contact_mm
        home_mm = closing * machine.home_noise_mm
        fixed = "sensor_dead" in faults or "sensor_on" in faults or not self.supplied
        drift = faults.get("drift") or 0.0
        return StretchSetup(
            direction=direction,
            motor_steps=self._motor_steps,
            carriage_mm=self._carriage_mm,
            lost_steps=lost,
            steps_per_mm=machine.steps_per_mm,
            play_mm=machine.backlash_mm,
            screw_mm=machine.screw_mm,
            screw_phase_rad=machine.screw_phase_rad,
            screw_lead_mm=SCREW_LEAD_MM,
            face_mm=machine.face_mm,
            probe_mm=math.inf if "probe_dead" in faults else probe_mm,
            home_mm=-math.inf if "home_broken" in faults else home_mm,
            home_sticks="home_stuck" in faults,
            probe_closed=self.probe_closed,
            home_closed=self.home_closed,
            operated=self.operated,
            response=None if fixed else self._response,
            noise=self._sensor.noise_signal,
            offset=self._offset,
            reach=1.0 + drift * (1.0 - math.exp(-time_s / DRIFT_TIME_S)),
            look_phase=phase,
            noise_stream=lambda chunk: stream(
                self._seed, Purpose.LOOK, order, leg, chunk
            ),
        )
