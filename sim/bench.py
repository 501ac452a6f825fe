"""The machine behind the controller's pins: screw, play, switches, sensor, target.

Knows steps of the motor and what the inputs make of them; knows no protocol, no
speed and no clock but the time at which a stretch of motion begins. Noise is drawn
from streams keyed by seed and motion order, so that the same orders meet the same
noise whenever they come.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np

from firmware_protocol.messages import Quantity, Source
from sim.chance import Purpose, stream
from sim.faults import CHATTER_NOISE, DRIFT_TIME_S, NO_FAULTS, Faults
from sim.machine import Machine, Mounting, Strike, Truth
from sim.sensors.response import SimSensor
from sim.stretch import Stretch, StretchSetup
from sim.surroundings import SUPPLY_V
from sim.truth import first_passage_mean

LOST_AT_ONCE_STEPS: Final = 64  # four full steps of 16: the rotor slips whole poles
# A person clamps a holder so near to where it is wanted, and it never sits quite alike
_CLAMPED_MM: Final = 0.15
_ASKEW_MM: Final = 0.002
# How evenly a sensor wakes, as a share of what it takes; its load and what its output
# makes of it, a transistor of three wires. Invented figures.
_START_SPREAD: Final = 0.02
_LOAD_KOHM: Final = 2.4
_RESIDUAL_MV: Final = 1200.0
_LEAK_UA: Final = 5.0
# The face moves once the carriage leaves it from farther off than between touches
_LEFT_MM: Final = 0.5


class Bench:
    """The machine and what is mounted on it, between and during motions.

    Attributes:
        machine: How the rig is made.
        operated: Whether the sensor is operated.
        contact_closed: Whether the probe's contact is closed.
        probe_closed: Level of the touch probe at the controller.
        home_closed: Level of the home switch.
        supplied: Whether the sensor's supply is there.
        switched_on: Whether the controller has it switched on.
        set_v: Voltage that the controller has set it to.
        drive_on: Whether the motor's drive is on: emergency stop, driver, supply.
        tapped: Whether the touch probe is tapped by hand when power comes on.
        broken_wires: Inputs of the controller whose wire is broken.
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
        self.supplied = self.switched_on = True
        self.set_v = SUPPLY_V
        self._switched = 0
        self.drive_on = True
        self.tapped = "probe_untapped" not in faults
        self.broken_wires: set[Source] = set()
        self._seed = seed
        self._faults = faults
        self._lost_next_steps = 0
        self._strikes: list[Strike] = []
        self._home_mm = 0.0
        self._block_mm = 0.0
        self._blocks_put = 0
        self._clamped = 0
        self._askew_mm = 0.0
        self._plates_put = 0
        self._seat_mm = 0.0
        self._touched = False
        self._knocked_mm = 0.0
        self._face_mm = self._face_at_mm(0.0)
        # A contact opens by where it closed: taken anew, it might open while the play
        # is taken up and the carriage stands still
        self._probe_mm = self._face_mm + machine.zero_mm
        touching = "starts_touching" in faults
        self._motor_steps = (
            math.ceil(self._probe_mm * machine.steps_per_mm)
            if touching
            else round(machine.start_mm * machine.steps_per_mm)
        )
        self._carriage_mm = self._motor_steps / machine.steps_per_mm
        self.contact_closed = touching or "probe_shorted" in faults
        self.probe_closed = self.contact_closed
        self.home_closed = "home_shorted" in faults
        self.mount(mounting)

    def mount(self, mounting: Mounting) -> None:
        """Put up another sensor or target; the output takes its level at rest."""
        self._plates_put += 1
        draw = stream(self._seed, Purpose.PLATE, 0, self._plates_put)
        self._seat_mm = self.machine.plate.drawn_mm(draw)
        self._take(mounting)

    def _take(self, mounting: Mounting) -> None:
        self._mounting = mounting
        self._sensor = self._spoilt(mounting.sensor)
        self._response = self._sensor.response(mounting.target)
        by_offset = replace(self._sensor, noise_sigma_mm=mounting.offset_sigma_mm)
        self._offset_sigma = by_offset.noise_signal
        self._offset = 0.0
        self.operated = "sensor_on" in self._faults or (
            self._signal_here() >= 1.0 and "sensor_dead" not in self._faults
        )

    def put_block(self, length_mm: float) -> None:
        """Put a gauge block on the touch probe, which then closes so much earlier.

        Args:
            length_mm: Nominal length; 0 takes the block away.
        """
        self._block_mm = 0.0
        if length_mm:
            self._blocks_put += 1
            blocks = self.machine.blocks
            of_set = stream(blocks.number, Purpose.BLOCK, round(length_mm * 1e6))
            put = stream(self._seed, Purpose.BLOCK, 0, self._blocks_put)
            error_mm = blocks.length_sd_mm * float(of_set.standard_normal())
            seat_mm = blocks.seat_mm * float(put.standard_exponential())
            self._block_mm = length_mm + error_mm + seat_mm

    def clamp_face(self, near_mm: float) -> None:
        """Clamp the sensor's holder elsewhere, as nearly as a person does it.

        How the face sits in its holder differs each time, so the probe's zero does too.

        Args:
            near_mm: Where the face is to be, from the rig's own zero.
        """
        self._clamped += 1
        draw = stream(self._seed, Purpose.CLAMP, 0, self._clamped)
        off, askew = (float(x) for x in draw.normal(size=2))
        machine = self.machine
        face_mm = near_mm + _CLAMPED_MM * off
        before_mm, self._askew_mm = self._askew_mm, _ASKEW_MM * askew
        # The nut's play goes with its place on the screw, which did not move
        gone_mm = machine.face_mm - face_mm
        self.machine = replace(
            machine,
            face_mm=face_mm,
            zero_mm=machine.zero_mm + self._askew_mm - before_mm,
            backlash_mm=machine.backlash_mm + machine.backlash_per_mm * gone_mm,
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
        self._take(replace(self._mounting, sensor=turned))
        held = self._signal_here() >= 1.0 - self._sensor.hysteresis
        if was_operated and held and "sensor_dead" not in self._faults:
            self.operated = True

    @property
    def _zero_mm(self) -> float:
        """How far behind the face the probe closes with this plate."""
        return self.machine.zero_mm - self._seat_mm

    def _signal_here(self) -> float:
        gap_mm = max(0.0, self._face_mm - self._carriage_mm)
        return float(self._response.signal_at(np.array([gap_mm]))[0])

    @property
    def mounting(self) -> Mounting:
        """What is mounted."""
        return self._mounting

    @property
    def has_scale(self) -> bool:
        """Whether a linear scale is fitted."""
        return self.machine.scale is not None

    @property
    def carriage_mm(self) -> float:
        """Where the carriage rests."""
        return self._carriage_mm

    def scale_count(self, place_mm: float, time_s: float) -> int:
        """Return what the scale counts with the carriage at a place."""
        assert self.machine.scale is not None, "no scale is fitted"
        return self.machine.scale.count(
            place_mm, self.machine.surroundings.air_at_c(time_s)
        )

    @property
    def powered(self) -> bool:
        """Whether the sensor has its supply."""
        return self.supplied and self.switched_on

    def wake(self) -> tuple[float, float]:
        """Let the sensor find its state, as its supply comes on.

        Returns:
            How long it takes until its output shows it, and how long a pulse lasts
            that its output gives before that, us; 0 for none.
        """
        self._switched += 1
        draw = stream(self._seed, Purpose.SUPPLY, self._switched)
        self.operated = "sensor_on" in self._faults or (
            self._signal_here() >= 1.0 and "sensor_dead" not in self._faults
        )
        spread = _START_SPREAD * float(draw.normal())
        wakes_us = self._sensor.start_s * 1e6 * max(0.0, 1.0 + spread)
        return wakes_us, 1e3 * (self._faults.get("false_pulse") or 0.0)

    def quantity(self, quantity: Quantity, time_s: float, conducts: bool) -> int:
        """Return what is there to be measured, in the unit of the protocol.

        Args:
            quantity: What is measured.
            time_s: Simulated time.
            conducts: Whether the sensor's output conducts.
        """
        surroundings = self.machine.surroundings
        if quantity is Quantity.TEMPERATURE:
            return round(surroundings.air_at_c(time_s) * 1e3)
        off_v = surroundings.supply_at_v(time_s) - SUPPLY_V
        supply_mv = 1e3 * (self.set_v + off_v) if self.powered else 0.0
        if conducts:
            residual_mv = min(_RESIDUAL_MV, supply_mv)
        else:
            residual_mv = max(0.0, supply_mv - _LEAK_UA * _LOAD_KOHM)
        told = {
            Quantity.SUPPLY: supply_mv,
            Quantity.LOAD_CURRENT: (supply_mv - residual_mv) / _LOAD_KOHM,
            Quantity.RESIDUAL_VOLTAGE: residual_mv,
        }
        return round(told[quantity])

    @property
    def output_level(self) -> bool:
        """Level that the output takes once its delay has passed."""
        if not self.powered:
            return False
        return self.operated != self._mounting.normally_closed

    def delay_us(self, operated: bool) -> float:
        """Return how long the output waits after the sensor operates or releases."""
        sensor = self._sensor
        return (sensor.tau_on_s if operated else sensor.tau_off_s) * 1e6

    @property
    def probe_delay_us(self) -> float:
        """How late the controller's input follows the probe's contact."""
        late_ms = self._faults.get("probe_late") or 0.0
        return self.machine.probe_delay_s * 1e6 + late_ms * 1e3

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
        if "axis_reversed" in self._faults:
            direction = -direction
        self._knock(direction)
        self._face_mm = self._face_at_mm(time_s)
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

    def strike(self, *, past_steps: int, speed_steps_s: float, time_s: float) -> None:
        """Keep that a motion drove into the face.

        Args:
            past_steps: Steps that it was told to go on.
            speed_steps_s: Speed at which it struck.
            time_s: Simulated time of its end.
        """
        scale = self.machine.steps_per_mm
        self._strikes.append(
            Strike(
                way_mm=past_steps / scale,
                speed_mm_s=speed_steps_s / scale,
                time_s=time_s,
            )
        )

    def truth(self, time_s: float = 0.0) -> Truth:
        """Return the truth at an instant, for tests and whoever asks for it by name."""
        sensor, response = self._sensor, self._response
        reach = self._mounting.habits.reach(
            self.machine.surroundings, time_s, self.set_v
        )
        step_mm = 1.0 / self.machine.steps_per_mm / reach
        noise = sensor.noise_signal

        def seen(gap_mm: float | None) -> float | None:
            return None if gap_mm is None else gap_mm * reach

        return Truth(
            threshold_operate_mm=seen(response.operate_gap_mm),
            threshold_release_mm=seen(response.release_gap_mm),
            observed_operate_mm=seen(
                first_passage_mean(response, noise, step_mm, approach=True)
            ),
            observed_release_mm=seen(
                first_passage_mean(response, noise, step_mm, approach=False)
            ),
            backlash_mm=self.machine.backlash_mm,
            zero_error_mm=self._zero_mm,
            delay_on_s=sensor.tau_on_s,
            delay_off_s=sensor.tau_off_s,
            noise_sigma_mm=sensor.noise_sigma_mm,
            face_mm=self._face_at_mm(time_s),
            strikes=tuple(self._strikes),
        )

    def _face_at_mm(self, time_s: float) -> float:
        shift_mm = self.machine.surroundings.face_shift_mm(time_s)
        return self.machine.face_mm + shift_mm + self._knocked_mm

    def _knock(self, direction: int) -> None:
        """Move the face, if that fault is in force, once the touches are done."""
        self._touched = self._touched or self.contact_closed
        left = direction < 0 and self._face_mm - self._carriage_mm > _LEFT_MM
        if self._touched and left:
            self._knocked_mm = 1e-3 * (self._faults.get("face_moved") or 0.0)

    def _spoilt(self, sensor: SimSensor) -> SimSensor:
        ratio = self._faults.get("chatter")
        if ratio is None:
            return sensor
        sensor = replace(sensor, noise_sigma_mm=CHATTER_NOISE * sensor.noise_sigma_mm)
        if sensor.noise_sigma_mm == 0.0:
            raise ValueError("the fault chatter needs a sensor with noise")
        return replace(sensor, hysteresis=min(0.9, ratio * sensor.noise_signal))

    def _closes_mm(self) -> float:
        if "probe_dead" in self._faults:
            return math.inf
        return -math.inf if "probe_shorted" in self._faults else self._probe_mm

    def _setup(
        self, direction: int, order: int, leg: int, time_s: float, lost: int
    ) -> StretchSetup:
        machine, faults = self.machine, self._faults
        draw = stream(self._seed, Purpose.LEG, order, leg)
        phase = float(draw.random())
        contact, closing = (float(x) for x in draw.normal(size=2))
        if not self.contact_closed:
            contact_mm = contact * machine.probe_noise_mm
            open_mm = self._face_mm + self._zero_mm - self._block_mm
            self._probe_mm = open_mm - contact_mm
        if not self.home_closed:
            self._home_mm = machine.home_mm + closing * machine.home_noise_mm
        fixed = "sensor_dead" in faults or "sensor_on" in faults or not self.powered
        drift = faults.get("drift") or 0.0
        reach = self._mounting.habits.reach(machine.surroundings, time_s, self.set_v)
        return StretchSetup(
            direction=direction,
            motor_steps=self._motor_steps,
            carriage_mm=self._carriage_mm,
            lost_steps=lost,
            steps_per_mm=machine.steps_per_mm,
            scale=(1.0 + machine.screw_linear + (faults.get("scale_off") or 0.0))
            * machine.surroundings.screw_scale(time_s),
            play_mm=machine.backlash_mm,
            play_per_mm=machine.backlash_per_mm,
            screw_mm=machine.screw_mm,
            screw_phase_rad=machine.screw_phase_rad,
            screw_second_mm=machine.screw_second_mm,
            screw_second_phase_rad=machine.screw_second_phase_rad,
            screw_lead_mm=machine.screw_lead_mm,
            face_mm=self._face_mm,
            hard_mm=self._face_mm
            + max(0.0, machine.zero_mm)
            - self._block_mm
            + machine.give_mm,
            cos_tilt=math.cos(machine.tilt_rad),
            probe_mm=self._closes_mm(),
            probe_hysteresis_mm=machine.probe_hysteresis_mm,
            home_mm=-math.inf if "home_broken" in faults else self._home_mm,
            home_sticks="home_stuck" in faults or "home_shorted" in faults,
            contact_closed=self.contact_closed,
            home_closed=self.home_closed,
            operated=self.operated,
            response=None if fixed else self._response,
            noise=self._sensor.noise_signal,
            offset=self._offset,
            reach=reach * (1.0 + drift * (1.0 - math.exp(-time_s / DRIFT_TIME_S))),
            look_phase=phase,
            noise_stream=lambda chunk: stream(
                self._seed, Purpose.LOOK, order, leg, chunk
            ),
        )
