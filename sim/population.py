"""The population of ordinary benches that ``sim://?bench=N`` draws number N from.

A bench is what it is for good: screw, nut, probe, home switch, frame. A session is one
morning at it: warmth, supply, where the home switch closes, what the clamp still has to
settle. A specimen is a sensor with its number. Whoever measures is told none of it.

Where the figures come from. [P] what the simulated physics was set up with: periodic
error 2 to 10 um, steel 11.5 ppm/K, a sensor's drift up to 0.2 %/K, its warm-up 5 to
15 min. [M] from memory, not opened: travel deviation over 300 mm of 8, 18, 50 and
210 um for C3, C5, C7 and C10 (JIS B 1192; taken as either way), wobble within a turn of
6 and 8 um in all for C3 and C5. [C] common practice, no source: all the rest.

What is drawn; "about m times/over f" is lognormal with median m and one standard
deviation of the logarithm ln f, cut off at the limits that are given.

screw       C7 45 %, C10 25 %, C5 20 %, C3 10 % of the benches [C]; lead 2 mm 55 %,
            4 mm 20 %, 1 mm 15 %, 5 mm 10 %, driven at 3200 steps a turn [C]
periodic    amplitude: C3 0.5 to 2, C5 1 to 2.6 um, even, so that with the second
            harmonic the wobble keeps to the grade [M]; C7 and C10 2 to 10 um, even
            [P]; second harmonic 0 to half of it, even; phases even [C]
cumulative  normal, half of the grade's deviation a standard deviation, cut off at the
            deviation: 27, 60, 167, 700 ppm [M]
backlash    C3, C5 about 3 over 1.6 within 0.5 to 10 um; C7, C10 about 30 over 1.9
            within 3 to 120 um; more by a share of 0.4 % (normal) a mm off the face [C]
tilt        Rayleigh, 6 mrad: cosine error 0.4 um in 10 mm as a rule [C]
probe       a bare contact (60 %): 0.6 over 1.6 um from touch to touch, off the face by
            3 um (normal), opens 0 to 0.6 um farther out,
            0 to 0.2 ms late, every third 1 to 5 ms by a filter;
            a plunger switch (40 %): 1.2 over 1.6 um, 6 um, 0.5 to 4 um, 0.1 to 1 ms,
            every other 2 to 10 ms by a filter [C]
blocks      0.1 um (normal) off their length, 0.2 um of dirt (exponential) each time one
            is put on the probe [C]
home        about 3 over 1.8 within 0.5 to 15 um from contact to contact; from session
            to session 10 um (normal) [C]
warmth      air 21.5 degC, 2 (normal), 0.7 K/h (normal), swings by 0 to 0.4 K in 10 to
            40 min; motor warms the screw by 0.5 to 5 K in 15 to 45 min; screw
            11.5 ppm/K [P]; face 1.5 um/K against the carriage (normal) [C]
face        settles by 2 um (normal) in 10 to 60 min after the session begins [C]
plate       stands out of parallel or on dirt by 1.5 um (exponential), and by its
            flatness 0 to 2 um, anew each time that one is put up [C]
clamping    face 0.15 mm (normal) off where it is wanted, and the probe's zero by 2 um
            (normal) for how it sits, each time that the holder is clamped elsewhere [C]
supply      24 V, 0.4 (normal), 0.1 V/h (normal) [C]
specimen    threshold 10 %, noise about 1 over 1.4, delays about 1 over 1.2 times what
            the sensor has; offset from sweep to sweep about 0.15 over 1.8 of the noise;
            0.05 %/K (normal, within 0.2 [P]); 0.3 % (normal, within 1) missing before
            it is warm, in 5 to 15 min [P], powered for about 15 over 2.5 min;
            0.02 %/V (normal) [C]

Not in it: a travel deviation that bends over the stroke, the motor's error within a
full step, flanks that differ in their periodic error, pitch and yaw of the carriage,
hum, noise with memory, play in the face's holder.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final, TypeVar

import numpy as np

from sim.chance import Purpose, stream
from sim.machine import BlockSet, Machine, PlateSeat
from sim.sensors.response import SimSensor
from sim.surroundings import Habits, Surroundings

STEPS_PER_TURN: Final = 3200
_STEEL_PER_K: Final = 11.5e-6
_MINUTE_S: Final = 60.0
_Choice = TypeVar("_Choice")


class Grade(StrEnum):
    """Accuracy grade of a ball screw, JIS B 1192 (from memory)."""

    C3 = "C3"
    C5 = "C5"
    C7 = "C7"
    C10 = "C10"


class ProbeKind(StrEnum):
    """How a touch probe is made."""

    CONTACT = "bare contact"
    SWITCH = "plunger switch"


TRAVEL_DEVIATION: Final = {
    Grade.C3: 8e-3 / 300.0,
    Grade.C5: 18e-3 / 300.0,
    Grade.C7: 50e-3 / 300.0,
    Grade.C10: 210e-3 / 300.0,
}
_GRADE_SHARES: Final = {Grade.C7: 0.45, Grade.C10: 0.25, Grade.C5: 0.2, Grade.C3: 0.1}
_LEAD_SHARES: Final = {2.0: 0.55, 4.0: 0.2, 1.0: 0.15, 5.0: 0.1}
_SWITCH_SHARE: Final = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """One bench of the population in one session: the truth, for tests.

    Attributes:
        number: Number of the bench in the population.
        grade: Grade of its screw.
        probe: How its touch probe is made.
        machine: How it is made, and the session.
    """

    number: int
    grade: Grade
    probe: ProbeKind
    machine: Machine


@dataclass(frozen=True, slots=True, kw_only=True)
class Specimen:
    """How one sensor differs from what its kind is.

    Attributes:
        threshold_factor: Threshold over its kind's.
        noise_factor: Noise over its kind's.
        delay_factor: Delays over its kind's.
        offset_share: Offset from sweep to sweep over its noise.
        habits: How it follows its surroundings.
    """

    threshold_factor: float
    noise_factor: float
    delay_factor: float
    offset_share: float
    habits: Habits

    def of(self, kind: SimSensor) -> SimSensor:
        """Return the specimen of a kind."""
        return replace(
            kind,
            threshold_factor=kind.threshold_factor * self.threshold_factor,
            noise_sigma_mm=kind.noise_sigma_mm * self.noise_factor,
            tau_on_s=kind.tau_on_s * self.delay_factor,
            tau_off_s=kind.tau_off_s * self.delay_factor,
        )


def draw_world(number: int, session: int) -> World:
    """Return bench `number` in session `session`; the same numbers give the same."""
    draw = stream(number, Purpose.BENCH)
    # Each figure has draws of its own, in a fixed order, used or not
    grade = _pick(draw, _GRADE_SHARES)
    lead_mm = _pick(draw, _LEAD_SHARES)
    screw_mm, second_share = _periodic_mm(draw, grade), draw.uniform(0.0, 0.5)
    phases = draw.uniform(0.0, 2.0 * math.pi, 2)
    deviation = TRAVEL_DEVIATION[grade]
    linear = _within(draw.normal(0.0, deviation / 2.0), deviation)
    backlash_mm = _backlash_mm(draw, grade)
    taper_per_mm = draw.normal(0.0, 0.004)
    tilt_rad = draw.rayleigh(0.006)
    probe = ProbeKind.SWITCH if draw.random() < _SWITCH_SHARE else ProbeKind.CONTACT
    zero, noise_mm, hysteresis_mm, delay_s = _probe(draw, probe)
    home_noise_mm = 1e-3 * float(np.clip(_about(draw, 3.0, 1.8), 0.5, 15.0))
    face_mm = draw.uniform(28.0, 32.0)
    loop_mm_per_k = draw.normal(0.0, 1.5e-3)
    morning = stream(session, Purpose.SESSION, number)
    machine = Machine(
        steps_per_mm=round(STEPS_PER_TURN / lead_mm),
        face_mm=face_mm,
        zero_mm=zero,
        plate=PlateSeat(askew_mm=1.5e-3, flat_mm=2e-3),
        backlash_mm=backlash_mm,
        backlash_per_mm=backlash_mm * taper_per_mm,
        screw_mm=screw_mm,
        screw_phase_rad=float(phases[0]),
        screw_second_mm=screw_mm * second_share,
        screw_second_phase_rad=float(phases[1]),
        screw_lead_mm=lead_mm,
        screw_linear=linear,
        tilt_rad=tilt_rad,
        probe_noise_mm=noise_mm,
        probe_hysteresis_mm=hysteresis_mm,
        probe_delay_s=delay_s,
        home_mm=morning.normal(0.0, 0.010),
        home_noise_mm=home_noise_mm,
        start_mm=morning.uniform(2.0, 20.0),
        surroundings=_surroundings(morning, loop_mm_per_k),
        blocks=BlockSet(number=number, length_sd_mm=0.1e-3, seat_mm=0.2e-3),
    )
    return World(number=number, grade=grade, probe=probe, machine=machine)


def draw_specimen(number: int, part: str) -> Specimen:
    """Return the specimen with that number, wherever it is measured.

    Args:
        number: Number of the bench, which has a specimen on it if none is named.
        part: Number of the specimen; may be empty.
    """
    key = zlib.crc32(part.encode("utf-8")) if part else number
    draw = stream(key, Purpose.SPECIMEN, 1 if part else 0)
    return Specimen(
        threshold_factor=float(np.exp(draw.normal(0.0, 0.1))),
        noise_factor=_about(draw, 1.0, 1.4),
        delay_factor=_about(draw, 1.0, 1.2),
        offset_share=_about(draw, 0.15, 1.8),
        habits=Habits(
            per_k=_within(draw.normal(0.0, 0.0005), 0.002),
            warm_up=_within(draw.normal(0.0, 0.003), 0.01),
            warm_time_s=draw.uniform(5.0, 15.0) * _MINUTE_S,
            per_v=draw.normal(0.0, 0.0002),
        ),
    )


def _surroundings(draw: np.random.Generator, loop_mm_per_k: float) -> Surroundings:
    return Surroundings(
        air_c=draw.normal(21.5, 2.0),
        drift_k_h=draw.normal(0.0, 0.7),
        cycle_k=draw.uniform(0.0, 0.4),
        cycle_s=draw.uniform(10.0, 40.0) * _MINUTE_S,
        cycle_phase_rad=draw.uniform(0.0, 2.0 * math.pi),
        motor_k=draw.uniform(0.5, 5.0),
        motor_time_s=draw.uniform(15.0, 45.0) * _MINUTE_S,
        screw_per_k=_STEEL_PER_K,
        loop_mm_per_k=loop_mm_per_k,
        creep_mm=draw.normal(0.0, 0.002),
        creep_time_s=draw.uniform(10.0, 60.0) * _MINUTE_S,
        supply_v=draw.normal(24.0, 0.4),
        supply_v_h=draw.normal(0.0, 0.1),
        powered_s=_about(draw, 15.0, 2.5) * _MINUTE_S,
    )


def _periodic_mm(draw: np.random.Generator, grade: Grade) -> float:
    even = draw.random()
    if grade is Grade.C3:
        return 1e-3 * (0.5 + 1.5 * even)
    if grade is Grade.C5:
        return 1e-3 * (1.0 + 1.6 * even)
    return 1e-3 * (2.0 + 8.0 * even)


def _backlash_mm(draw: np.random.Generator, grade: Grade) -> float:
    tight_um, loose_um = _about(draw, 3.0, 1.6), _about(draw, 30.0, 1.9)
    if grade in (Grade.C3, Grade.C5):
        return 1e-3 * float(np.clip(tight_um, 0.5, 10.0))
    return 1e-3 * float(np.clip(loose_um, 3.0, 120.0))


def _probe(
    draw: np.random.Generator, kind: ProbeKind
) -> tuple[float, float, float, float]:
    """Return zero error, noise and hysteresis in mm, and the delay in s."""
    off, scatter = draw.normal(), _about(draw, 1.0, 1.6)
    wide, late, filtered, slow = draw.random(4)
    if kind is ProbeKind.CONTACT:
        late_ms = 1.0 + 4.0 * slow if filtered < 1.0 / 3.0 else 0.2 * late
        return 3e-3 * off, 0.6e-3 * scatter, 0.6e-3 * wide, 1e-3 * late_ms
    late_ms = 2.0 + 8.0 * slow if filtered < 0.5 else 0.1 + 0.9 * late
    return 6e-3 * off, 1.2e-3 * scatter, 1e-3 * (0.5 + 3.5 * wide), 1e-3 * late_ms


def _about(draw: np.random.Generator, median: float, factor: float) -> float:
    return median * float(np.exp(draw.normal(0.0, math.log(factor))))


def _within(value: float, limit: float) -> float:
    return min(max(value, -limit), limit)


def _pick(draw: np.random.Generator, shares: Mapping[_Choice, float]) -> _Choice:
    return list(shares)[int(draw.choice(len(shares), p=list(shares.values())))]
