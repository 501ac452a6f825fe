"""Where theory says that a sensor operates on a target: the one answer for all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from rig.analysis.classroom.material_properties import (
    MAGNETIC,
    METALS,
    PROPERTY_OF,
    PROPERTY_RANGES,
)
from rig.analysis.classroom.predicted_curve import (
    PredictedCurve,
    Property,
    predicted_mm,
    read_curve,
)
from rig.analysis.classroom.theory_table import curve_for
from rig.catalogue.input_file import MOST_TABLE_BYTES, read_text
from rig.errors import InputError
from rig.inquiry.trimmer_setting import AS_IT_CAME, TURNED
from rig.model.mounted import Principle, Sensor, Target

PROPERTY_WORDS = {
    Property.PERMITTIVITY: "relative permittivity",
    Property.CONDUCTIVITY: "conductivity",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictionOptions:
    """What is known of the targets besides what tables say.

    Attributes:
        properties: Smallest and largest value of a target's property, by its name;
            takes the place of what tables say.
        curve: Curve of the user's own, for that sensor and those plates; None for the
            shipped theory.
    """

    properties: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    curve: PredictedCurve | None = None


SHIPPED = PredictionOptions()


@dataclass(frozen=True, slots=True, kw_only=True)
class Theory:
    """Where theory says that a sensor operates on a target.

    Attributes:
        of: Property of the target's material.
        property_low: Smallest value that it may have.
        property_high: Largest value that it may have.
        curve: Operate points over the property, for this sensor and this plate.
        predicted_mm: Operate point at the geometric middle of the property's range.
        predicted_range_mm: Smallest and largest operate point over that range.
    """

    of: Property
    property_low: float
    property_high: float
    curve: PredictedCurve
    predicted_mm: float
    predicted_range_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoTheory:
    """Why theory says nothing of a sensor against a target.

    Attributes:
        reason: The reason, as the rest of a sentence.
        property_unknown: Whether a value of the property would help.
    """

    reason: str
    property_unknown: bool = False


def curve_in_file(path: Path) -> PredictedCurve:
    """Read a curve of the user's own.

    Raises:
        InputError: The file cannot be read, or is no such curve.
    """
    return read_curve(read_text(path, most_bytes=MOST_TABLE_BYTES), str(path))


def theory_for(
    sensor: Sensor,
    target: Target,
    options: PredictionOptions = SHIPPED,
    *,
    setting: str = AS_IT_CAME,
) -> Theory | NoTheory:
    """Return where theory says that a sensor operates on a target.

    The sensor is taken as adjusted to operate at s_n on the standard target.

    Args:
        sensor: The sensor.
        target: The target.
        options: What is known besides what tables say.
        setting: Setting of the trimmer.

    Raises:
        InputError: A property that was given lies outside the curve.
    """
    of = PROPERTY_OF[sensor.principle] if options.curve is None else options.curve.of
    reason = ""
    if options.curve is None:
        reason = _what_theory_knows_not(sensor, target, setting)
    if reason:
        return NoTheory(reason=reason)
    given = options.properties.get(target.name)
    span = given or PROPERTY_RANGES[of].get(target.material)
    if span is None:
        words = f"no table gives the {PROPERTY_WORDS[of]} of {target.material}"
        return NoTheory(reason=words, property_unknown=True)
    try:
        curve = options.curve or curve_for(sensor, target.thickness_mm)
    except InputError as exc:
        return NoTheory(reason=str(exc))
    try:
        return _theory(curve, span)
    except InputError as exc:
        if given is not None:
            raise
        return NoTheory(reason=str(exc))


def _what_theory_knows_not(sensor: Sensor, target: Target, setting: str) -> str:
    if setting == TURNED:
        return (
            "its trimmer was turned, and theory holds for a sensor that is adjusted"
            " to s_n"
        )
    if target.wall_material:
        return "it stands behind a wall, and theory holds for plates without one"
    rated = f"s_n = {sensor.rated_distance_mm:g} mm"
    if sensor.principle is Principle.CAPACITIVE and target.material in METALS:
        if target.earthed:
            return f"it is earthed metal, on which the sensor is adjusted to {rated}"
        return "theory holds for dielectrics, and it is metal without earth"
    if sensor.principle is Principle.INDUCTIVE and target.material in MAGNETIC:
        return (
            "theory holds for metals that are not magnetic; on the standard target,"
            f" of steel, the sensor is adjusted to {rated}"
        )
    return ""


def _theory(curve: PredictedCurve, span: tuple[float, float]) -> Theory:
    low, high = sorted(span)
    if low <= 0.0:
        raise InputError(
            f"the {PROPERTY_WORDS[curve.of]} is {low:g}", hint="give values above 0"
        )
    ends = [predicted_mm(curve, value) for value in (low, high)]
    return Theory(
        of=curve.of,
        property_low=low,
        property_high=high,
        curve=curve,
        predicted_mm=predicted_mm(curve, (low * high) ** 0.5),
        predicted_range_mm=(min(ends), max(ends)),
    )
