"""Options of ``sim://``: a dict of words in, a rig out.

Knows what can be asked for, and refuses the rest in one sentence; knows no port.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any, Final

from firmware_protocol.messages import Ability, Quantity
from sim.bench import Bench
from sim.chance import Purpose, stream
from sim.device import Controller
from sim.faults import NO_FAULTS, Faults, read_faults
from sim.machine import Machine, Mounting, PlateSeat, Scale
from sim.population import draw_specimen, draw_world
from sim.presets import SENSORS, TARGETS
from sim.sensors.response import SimSensor
from sim.surroundings import Habits
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
_ZERO_SIGMA_UM: Final = 4.0

# What a rig has that is none of the population, where no option fixes it: an ordinary
# rolled screw, a bare contact and a microswitch, as `sim.population` draws them
_SCREW_UM: Final = 4.5
_PROBE_UM: Final = 0.6
_HOME_UM: Final = 3.0
_STEPS_PER_MM: Final = 1600
# A tape scale that was glued on; invented figures
_SCALE_UM: Final = 1.0
_SCALE_LINEAR_SIGMA: Final = 20e-6
_SCALE_PER_K: Final = 11e-6

_MOST_BENCHES: Final = 2**31
_SEEDS: Final = 2**32


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
    """What was asked for; None leaves it to the sensor, the seed or the bench.

    Attributes:
        sensor: Name of a sensor.
        target: Name of a target.
        seed: Seed of everything random; of a bench of the population, its session.
        bench: Number of a bench of the population (`sim.population`); None is none of
            them. Other options are then true of it instead of what is drawn.
        backlash_um: Lost motion, the same everywhere; None draws 0 to 100.
        delay_ms: Delay of the output both ways; None is the sensor's own two.
        start_ms: What the sensor takes from its supply to its output; None is its own.
        noise_um: Noise of one look at the reference's operate point.
        offset_um: Standard deviation of an offset drawn for each sweep; None is 0.
        zero_um: Zero error of the probe; None draws with a deviation of 4.
        screw_um: Amplitude of the screw's periodic error; None is 4.5.
        probe_um: Standard deviation of the probe from contact to contact; None is 0.6.
        home_um: Standard deviation of the home switch from contact to contact; None
            is 3.
        scale_um: Length of a count of a linear scale at the target; None is none.
        scale_error_um: Amplitude of that scale's error; None is 1.
        sensitivity: Sensitivity set at the trimmer: 2 halves the signal that the sensor
            needs.
        output: Normally open or normally closed.
        steps_per_mm: Scale; None is 1600.
        travel_mm: Usable travel.
        fault: Faults, each with a figure where it takes one.
        pace: How simulated time passes.
    """

    sensor: str = "capacitive"
    target: str = "steel"
    seed: int = 0
    bench: int | None = None
    backlash_um: float | None = None
    delay_ms: float | None = None
    start_ms: float | None = None
    noise_um: float | None = None
    offset_um: float | None = None
    zero_um: float | None = None
    screw_um: float | None = None
    probe_um: float | None = None
    home_um: float | None = None
    scale_um: float | None = None
    scale_error_um: float | None = None
    sensitivity: float = 1.0
    output: OutputForm = OutputForm.NO
    steps_per_mm: int | None = None
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
    "seed": _whole(0, _SEEDS - 1),
    "bench": _whole(0, _MOST_BENCHES - 1),
    "backlash_um": _number(0.0, 1000.0),
    "delay_ms": _number(0.0, 1000.0),
    "start_ms": _number(0.0, 5000.0),
    "noise_um": _number(0.0, 1000.0),
    "offset_um": _number(0.0, 1000.0),
    "zero_um": _number(-1000.0, 1000.0),
    "screw_um": _number(0.0, 100.0),
    "probe_um": _number(0.0, 100.0),
    "home_um": _number(0.0, 100.0),
    "scale_um": _number(0.02, 20.0),
    "scale_error_um": _number(0.0, 100.0),
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
    machine = _machine(options)
    seed, rig = options.seed, f"sim-{options.seed}"
    if options.bench is not None:
        # Two benches in sessions of one number have no noise in common
        seed += (options.bench + 1) * _SEEDS
        rig = f"sim-bench-{options.bench}"
    bench = Bench(machine, mounting, seed=seed, faults=options.fault)
    scale = machine.steps_per_mm
    traits = Traits(
        steps_per_mm=scale,
        travel_low_steps=round(_TRAVEL_LOW_MM * scale),
        travel_high_steps=round(options.travel_mm * scale),
        speed_limit_steps_s=round(_SPEED_LIMIT_MM_S * scale),
        acceleration_limit_steps_s2=round(_ACCELERATION_LIMIT_MM_S2 * scale),
        start_speed_steps_s=round(_START_SPEED_MM_S * scale),
    )
    if "no_thermometer" in options.fault:
        left = traits.quantities - {Quantity.TEMPERATURE}
        traits = replace(traits, quantities=left)
    if machine.scale is not None:
        traits = replace(
            traits,
            abilities=traits.abilities | Ability.SCALE,
            scale_per_m=_scale_per_m(machine.scale),
        )
    return Controller(
        bench,
        traits=traits,
        seed=seed,
        rig=rig,
        faults=options.fault,
    )


def _machine(options: SimOptions) -> Machine:
    if options.bench is None:
        made = _of_no_population(options.seed)
    else:
        made = draw_world(options.bench, options.seed).machine
    given: dict[str, Any] = {"travel_mm": options.travel_mm}
    if options.steps_per_mm is not None:
        given["steps_per_mm"] = options.steps_per_mm
    if options.backlash_um is not None:
        given |= {"backlash_mm": options.backlash_um * 1e-3, "backlash_per_mm": 0.0}
    if options.zero_um is not None:
        given |= {"zero_mm": options.zero_um * 1e-3, "plate": PlateSeat()}
    if options.screw_um is not None:
        screw_mm = options.screw_um * 1e-3
        second_share = made.screw_second_mm / made.screw_mm
        given |= {"screw_mm": screw_mm, "screw_second_mm": screw_mm * second_share}
    if options.probe_um is not None:
        given["probe_noise_mm"] = options.probe_um * 1e-3
    if options.home_um is not None:
        given["home_noise_mm"] = options.home_um * 1e-3
    if options.scale_um is not None:
        given["scale"] = _scale(options)
    return replace(made, **given)


def _scale_per_m(scale: Scale) -> int:
    return round(1000.0 / scale.count_mm)


def _scale(options: SimOptions) -> Scale:
    draw = stream(options.seed, Purpose.MAKE, 2)
    linear = _SCALE_LINEAR_SIGMA * float(draw.normal())
    given_um = options.scale_error_um
    error_um = _SCALE_UM if given_um is None else given_um
    assert options.scale_um is not None, "no scale was asked for"
    return Scale(
        count_mm=options.scale_um * 1e-3,
        error_mm=error_um * 1e-3,
        error_phase_rad=float(draw.uniform(0.0, 2.0 * math.pi)),
        linear=linear,
        per_k=_SCALE_PER_K,
        reversed="scale_reversed" in options.fault,
    )


def _of_no_population(seed: int) -> Machine:
    # Each figure is drawn whether it is used or not: fixing one moves no other
    draw = stream(seed, Purpose.MAKE, 1)
    face_mm = _FACE_MM + draw.uniform(-_FACE_SPREAD_MM, _FACE_SPREAD_MM)
    backlash_um = draw.uniform(0.0, _BACKLASH_HIGH_UM)
    zero_um = draw.normal(0.0, _ZERO_SIGMA_UM)
    phase = draw.uniform(0.0, 2.0 * math.pi)
    return Machine(
        steps_per_mm=_STEPS_PER_MM,
        face_mm=face_mm,
        zero_mm=zero_um * 1e-3,
        backlash_mm=backlash_um * 1e-3,
        screw_mm=_SCREW_UM * 1e-3,
        screw_phase_rad=phase,
        probe_noise_mm=_PROBE_UM * 1e-3,
        home_noise_mm=_HOME_UM * 1e-3,
    )


def mounting_for(
    options: SimOptions,
    sensor: SimSensor,
    target: SimTarget,
    *,
    normally_closed: bool,
    part: str = "",
) -> Mounting:
    """Return a mounting of this sensor and target, spoilt as the options say.

    Args:
        options: What was asked for.
        sensor: The kind of sensor.
        target: The target.
        normally_closed: Whether the output is 1 while the sensor is not operated.
        part: Number of the specimen; of a bench of the population alone.
    """
    sensor = replace(
        sensor, threshold_factor=sensor.threshold_factor / options.sensitivity
    )
    offset_sigma_mm, habits = 0.0, Habits()
    if options.bench is not None:
        specimen = draw_specimen(options.bench, part)
        sensor = specimen.of(sensor)
        offset_sigma_mm = specimen.offset_share * sensor.noise_sigma_mm
        habits = specimen.habits
    if options.delay_ms is not None:
        delay_s = options.delay_ms * 1e-3
        sensor = replace(sensor, tau_on_s=delay_s, tau_off_s=delay_s)
    if options.start_ms is not None:
        sensor = replace(sensor, start_s=options.start_ms * 1e-3)
    if options.noise_um is not None:
        sensor = replace(sensor, noise_sigma_mm=options.noise_um * 1e-3)
    if options.offset_um is not None:
        offset_sigma_mm = options.offset_um * 1e-3
    return Mounting(
        sensor=sensor,
        target=target,
        normally_closed=normally_closed,
        offset_sigma_mm=offset_sigma_mm,
        habits=habits,
    )
