"""Options of ``sim://``: a dict of words in, a rig out.

Knows what can be asked for, and refuses the rest in one sentence; knows no port.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any, Final

from sim.bench import Bench, Machine, Mounting, Purpose, stream
from sim.device import Controller
from sim.faults import NO_FAULTS, Faults, read_faults
from sim.presets import SENSORS, TARGETS
from sim.sensors.response import SimSensor
from sim.targets import SimTarget
from sim.traits import Traits

# Limits of the simulated axis; per mm, so that another scale keeps the machine.
_SPEED_LIMIT_MM_S: Final = 25.0
_ACCELERATION_LIMIT_MM_S2: Final = 500.0
_START_SPEED_MM_S: Final = 3.0
# With the greatest play that is drawn the home switch opens 0.1 mm up.
_TRAVEL_LOW_MM: Final = 0.25

# What is drawn from the seed where no option fixes it.
_FACE_MM: Final = 30.0
_FACE_SPREAD_MM: Final = 0.3
_BACKLASH_HIGH_UM: Final = 100.0
_ZERO_SIGMA_UM: Final = 2.0


class Pace(StrEnum):
    """How simulated time passes; for whoever holds the controller."""

    FAST = "fast"
    REAL = "real"


class OutputForm(StrEnum):
    """Which level the output has while the sensor is not operated."""

    NO = "NO"
    NC = "NC"


@dataclass(frozen=True, slots=True, kw_only=True)
class SimOptions:
    """What was asked for; None leaves it to the sensor or to the seed.

    Attributes:
        sensor: Name of a sensor.
        target: Name of a target.
        seed: Seed of everything random.
        backlash_um: Lost motion; None draws 0 to 100.
        delay_ms: Delay of the output both ways; None is the sensor's own two.
        noise_um: Noise of one look at the reference's operate point.
        offset_um: Standard deviation of an offset drawn for each sweep.
        zero_um: Zero error of the probe; None draws with a deviation of 2.
        screw_um: Amplitude of the screw's periodic error.
        probe_um: Standard deviation of the probe from contact to contact.
        home_um: Standard deviation of the home switch from contact to contact.
        sensitivity: Sensitivity set at the trimmer: 2 halves the signal that the sensor
            needs.
        output: Normally open or normally closed.
        steps_per_mm: Scale.
        travel_mm: Usable travel.
        fault: Faults, each with a figure where it takes one.
        pace: How simulated time passes.
    """

    sensor: str = "capacitive"
    target: str = "steel"
    seed: int = 0
    backlash_um: float | None = None
    delay_ms: float | None = None
    noise_um: float | None = None
    offset_um: float = 0.0
    zero_um: float | None = None
    screw_um: float = 1.0
    probe_um: float = 0.5
    home_um: float = 0.0
    sensitivity: float = 1.0
    output: OutputForm = OutputForm.NO
    steps_per_mm: int = 1600
    travel_mm: float = 40.0
    fault: Faults = NO_FAULTS
    pace: Pace = Pace.FAST


def _number(low: float, high: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            raise ValueError(f"a number from {low:g} to {high:g}")
        return value

    return read


def _whole(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not text.isascii() or not text.isdigit() or not low <= int(text) <= high:
            raise ValueError(f"a whole number from {low} to {high}")
        return int(text)

    return read


def _one_of(names: Mapping[str, Any] | type[StrEnum]) -> Callable[[str], Any]:
    known = {name.value: name for name in names} if isinstance(names, type) else None
    choices = list(known or names)

    def read(text: str) -> Any:
        if text not in choices:
            raise ValueError(f"one of {', '.join(choices)}")
        return known[text] if known else text

    return read


_READERS: Final[Mapping[str, Callable[[str], Any]]] = {
    "sensor": _one_of(SENSORS),
    "target": _one_of(TARGETS),
    "seed": _whole(0, 2**32 - 1),
    "backlash_um": _number(0.0, 1000.0),
    "delay_ms": _number(0.0, 1000.0),
    "noise_um": _number(0.0, 1000.0),
    "offset_um": _number(0.0, 1000.0),
    "zero_um": _number(-1000.0, 1000.0),
    "screw_um": _number(0.0, 100.0),
    "probe_um": _number(0.0, 100.0),
    "home_um": _number(0.0, 100.0),
    "sensitivity": _number(0.01, 100.0),
    "output": _one_of(OutputForm),
    "steps_per_mm": _whole(50, 20000),
    "travel_mm": _number(32.0, 1000.0),
    "fault": read_faults,
    "pace": _one_of(Pace),
}


def read_options(words: Mapping[str, str]) -> SimOptions:
    """Return the options of a dict of strings.

    Raises:
        ValueError: One sentence with the option, its value and what would be right.
    """
    values: dict[str, Any] = {}
    for name, text in words.items():
        if name not in _READERS:
            known = ", ".join(field.name for field in fields(SimOptions))
            raise ValueError(
                f"simulated rig: there is no option {name!r} (value {text!r});"
                f" there are {known}"
            )
        try:
            values[name] = _READERS[name](text)
        except ValueError as exc:
            raise ValueError(
                f"simulated rig: option {name} is {text!r}, but should be {exc}"
            ) from None
    options = SimOptions(**values)
    if "chatter" in options.fault and options.noise_um == 0.0:
        raise ValueError(
            "simulated rig: option noise_um is '0', but should be above 0 for the"
            " fault chatter"
        )
    return options


def build(options: SimOptions) -> Controller:
    """Return a controller with the machine that the options describe."""
    mounting = mounting_for(
        options,
        SENSORS[options.sensor],
        TARGETS[options.target],
        normally_closed=options.output is OutputForm.NC,
    )
    bench = Bench(_machine(options), mounting, seed=options.seed, faults=options.fault)
    scale = options.steps_per_mm
    traits = Traits(
        steps_per_mm=scale,
        travel_low_steps=round(_TRAVEL_LOW_MM * scale),
        travel_high_steps=round(options.travel_mm * scale),
        speed_limit_steps_s=round(_SPEED_LIMIT_MM_S * scale),
        acceleration_limit_steps_s2=round(_ACCELERATION_LIMIT_MM_S2 * scale),
        start_speed_steps_s=round(_START_SPEED_MM_S * scale),
    )
    return Controller(
        bench,
        traits=traits,
        seed=options.seed,
        rig=f"sim-{options.seed}",
        faults=options.fault,
    )


def _machine(options: SimOptions) -> Machine:
    # Each figure is drawn whether it is used or not: fixing one moves no other
    draw = stream(options.seed, Purpose.MAKE, 1)
    face_mm = _FACE_MM + draw.uniform(-_FACE_SPREAD_MM, _FACE_SPREAD_MM)
    backlash_um = draw.uniform(0.0, _BACKLASH_HIGH_UM)
    zero_um = draw.normal(0.0, _ZERO_SIGMA_UM)
    phase = draw.uniform(0.0, 2.0 * math.pi)
    if options.backlash_um is not None:
        backlash_um = options.backlash_um
    if options.zero_um is not None:
        zero_um = options.zero_um
    return Machine(
        steps_per_mm=options.steps_per_mm,
        travel_mm=options.travel_mm,
        face_mm=face_mm,
        zero_mm=zero_um * 1e-3,
        backlash_mm=backlash_um * 1e-3,
        screw_mm=options.screw_um * 1e-3,
        screw_phase_rad=phase,
        probe_noise_mm=options.probe_um * 1e-3,
        home_noise_mm=options.home_um * 1e-3,
    )


def mounting_for(
    options: SimOptions,
    sensor: SimSensor,
    target: SimTarget,
    *,
    normally_closed: bool,
) -> Mounting:
    """Return a mounting of this sensor and target, spoilt as the options say."""
    sensor = replace(
        sensor, threshold_factor=sensor.threshold_factor / options.sensitivity
    )
    if options.delay_ms is not None:
        delay_s = options.delay_ms * 1e-3
        sensor = replace(sensor, tau_on_s=delay_s, tau_off_s=delay_s)
    if options.noise_um is not None:
        sensor = replace(sensor, noise_sigma_mm=options.noise_um * 1e-3)
    return Mounting(
        sensor=sensor,
        target=target,
        normally_closed=normally_closed,
        offset_sigma_mm=options.offset_um * 1e-3,
    )
