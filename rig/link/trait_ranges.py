"""Ranges of the traits of a rig; outside them no machine of this kind is built.

Common practice, no source: screws of 0.5 to 20 mm lead, motors of 200 steps a turn in
full steps to 256ths; linear scales of 0.01 to 100 µm a count.
"""

from __future__ import annotations

from typing import Final

from rig.errors import RigImplausible
from rig.link.traits import RigTraits

_STEPS_PER_MM: Final = (10.0, 102_400.0)
_COUNTS_PER_MM: Final = (10.0, 100_000.0)
_TRAVEL_MM: Final = (1.0, 2_000.0)
_SPEED_MM_S: Final = (0.5, 1_000.0)
_ACCELERATION_MM_S2: Final = (1.0, 100_000.0)
_SILENCE_S: Final = (0.05, 10.0)
_PULSE_S: Final = (0.0, 0.1)


def check_ranges(traits: RigTraits) -> None:
    """Refuse a rig whose traits cannot be meant.

    Raises:
        RigImplausible: One of them is outside its range.
    """
    scale = traits.steps_per_mm
    _check("scale", scale, _STEPS_PER_MM, "steps/mm")
    if traits.scale_counts_per_mm is not None:
        counts = traits.scale_counts_per_mm
        _check("linear scale", counts, _COUNTS_PER_MM, "counts/mm")
    width = traits.travel_high_steps - traits.travel_low_steps
    _check("travel", width / scale, _TRAVEL_MM, "mm")
    top = traits.speed_limit_steps_s
    _check("highest speed", top / scale, _SPEED_MM_S, "mm/s")
    _check("start speed", traits.start_speed_steps_s, (0.0, top), "steps/s")
    ramp = traits.acceleration_limit_steps_s2 / scale
    _check("highest acceleration", ramp, _ACCELERATION_MM_S2, "mm/s²")
    _check("silence limit", traits.silence_limit_s, _SILENCE_S, "s")
    _check("shortest pulse", traits.min_pulse_s, _PULSE_S, "s")


def _check(what: str, value: float, bounds: tuple[float, float], unit: str) -> None:
    low, high = bounds
    if not low <= value <= high:
        raise RigImplausible(
            f"the controller states a {what} of {value:g} {unit}, which no rig of this"
            f" kind has ({low:g} to {high:g} {unit}): nothing is moved by it",
            hint="correct the settings of its firmware; a worn line can do this too",
        )
