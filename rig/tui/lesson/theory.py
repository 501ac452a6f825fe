"""Where theory says that a sensor operates, from what is known of a material.

The ranges are what a class can look up: trade and textbook tables, from memory. They
say nothing of the very plate on the bench.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from rig.analysis.classroom.prediction import (
    Prediction,
    predicted_mm,
    shipped_prediction,
)
from rig.errors import InputError
from rig.model.mounted import Principle, Sensor, Target

# Relative permittivity of solids and liquids at 0.1 to 1 MHz
_PERMITTIVITY: Final = MappingProxyType(
    {
        "pvc": (3.0, 3.5),
        "pp": (2.2, 2.2),
        "pe": (2.3, 2.3),
        "glass": (5.0, 8.0),
        "plywood": (2.0, 3.0),
        "cardboard": (2.0, 3.5),
        "oil": (2.1, 2.3),
        "water": (78.0, 80.0),
    }
)
# S/m; copper and its alloys, steel by the textbook's middle of the road
_CONDUCTIVITY: Final = MappingProxyType(
    {
        "stainless": (1.3e6, 1.5e6),
        "brass": (1.4e7, 1.7e7),
        "aluminium": (3.2e7, 3.8e7),
        "copper": (5.7e7, 6.0e7),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What theory says.

    Attributes:
        low_mm: Smallest operate point over the property's range.
        high_mm: Largest.
        middle_mm: At the geometric middle of the range.
        why: In words: property, range, and for which sensor.
    """

    low_mm: float
    high_mm: float
    middle_mm: float
    why: str


def property_range(sensor: Sensor, target: Target) -> tuple[float, float] | None:
    """Return what tables say of the target's material; None if they say nothing."""
    if target.wall_material:
        return None  # the curve knows no wall
    tables = {
        Principle.CAPACITIVE: _PERMITTIVITY,
        Principle.INDUCTIVE: _CONDUCTIVITY,
    }
    return tables[sensor.principle].get(target.material)


def curve_for(sensor: Sensor) -> Prediction:
    """Return the shipped curve, scaled to the sensor's rated distance.

    It is for s_n as adjusted on the standard target; the scale is right for housings
    that are scaled as a whole.
    """
    curve = shipped_prediction(sensor.principle)
    scale = sensor.rated_distance_mm / _rated_of(curve)
    return replace(curve, operate_mm=curve.operate_mm * scale)


def expected(
    sensor: Sensor, target: Target, span: tuple[float, float] | None = None
) -> Expected | None:
    """Return where the sensor should operate on a target.

    Args:
        sensor: The sensor.
        target: The target.
        span: Range of the material's property; None takes the one from the tables.

    Raises:
        InputError: The range lies outside the curve.
    """
    if sensor.principle is Principle.CAPACITIVE and target.earthed:
        return None  # metal: no permittivity, and by definition s_n
    span = span or property_range(sensor, target)
    if span is None:
        return None
    curve = curve_for(sensor)
    low, high = sorted(span)
    if low <= 0.0:
        raise InputError(f"{curve.of.value.replace('_', ' ')} is {low:g}: above 0")
    at = [predicted_mm(curve, value) for value in (low, high)]
    middle = predicted_mm(curve, (low * high) ** 0.5)
    words = curve.of.value.replace("_", " ").removesuffix(" s m")
    return Expected(
        low_mm=min(at),
        high_mm=max(at),
        middle_mm=middle,
        why=f"{words} {low:g} to {high:g}; curve for a {target_of(curve)}",
    )


def target_of(curve: Prediction) -> str:
    """Return for which target the curve was made, from its notes."""
    said = (note.partition("target: ")[2] for note in curve.notes)
    return next((words for words in said if words), "target that it does not name")


def _rated_of(curve: Prediction) -> float:
    """Return s_n of the sensor that the curve was made for, from its notes."""
    for note in curve.notes:
        _, found, rest = note.partition("s_n ")
        if found:
            return float(rest.split()[0])
    raise InputError("the shipped curve does not say for which s_n it is")
