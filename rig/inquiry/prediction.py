"""Where theory says that a sensor operates, and measured runs beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from rig.analysis.classroom.material_properties import (
    MAGNETIC,
    METALS,
    PROPERTY_OF,
    PROPERTY_RANGES,
)
from rig.analysis.classroom.predicted_curve import (
    Deviation,
    MeasuredMaterial,
    PredictedCurve,
    Property,
    compare_with_prediction,
    predicted_mm,
    read_curve,
)
from rig.analysis.classroom.theory_table import curve_for
from rig.errors import InputError
from rig.inquiry.measured_run import MeasuredRun, measured_run
from rig.inquiry.trimmer_setting import AS_IT_CAME, TURNED, setting_of
from rig.model.figures import Figure
from rig.model.mounted import Principle, Sensor, Target
from rig.records import Reader, Store

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


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictedRun:
    """A measured run beside theory.

    Attributes:
        run_id: Identity of the run.
        sensor: Name of the sensor.
        material: Name of the target.
        thickness_mm: Thickness of the target.
        of: Property of the target's material.
        property_low: Smallest value that it may have.
        property_high: Largest value that it may have.
        curve: Operate points over the property, for this sensor and this plate.
        predicted_mm: Operate point at the geometric middle of the property's range.
        predicted_range_mm: Smallest and largest operate point over that range.
        measured: Measured operate point with its uncertainty.
        measured_mm: Measured operate point alone.
        deviation_mm: Measured less predicted operate point.
        expanded_uncertainty_mm: Of the deviation; None if the run's figure has none.
        normalised: Deviation over its expanded uncertainty, E_n; None without one.
        agrees: Whether E_n is at most 1 in size; None without it.
    """

    run_id: str
    sensor: str
    material: str
    thickness_mm: float
    of: Property
    property_low: float
    property_high: float
    curve: PredictedCurve
    predicted_mm: float
    predicted_range_mm: tuple[float, float]
    measured: Figure
    measured_mm: float
    deviation_mm: float
    expanded_uncertainty_mm: float | None
    normalised: float | None
    agrees: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NotComparable:
    """A measured run that theory says nothing of.

    Attributes:
        run_id: Identity of the run.
        sensor: Name of the sensor.
        material: Name of the target.
        thickness_mm: Thickness of the target.
        measured: Measured operate point.
        reason: Why, as the rest of a sentence.
        property_unknown: Whether a value of the material's property would help.
    """

    run_id: str
    sensor: str
    material: str
    thickness_mm: float
    measured: Figure
    reason: str
    property_unknown: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictionResult:
    """Measured runs beside theory.

    Attributes:
        simulated: Whether a simulated rig made any of the runs.
        deviations: Runs that theory says something of, in the order given.
        not_comparable: The others, in the order given.
        rank_correlation: Spearman's, measured against predicted; None below 3
            materials or if all are alike.
        notes: What the theory is and what it holds for.
    """

    simulated: bool
    deviations: tuple[PredictedRun, ...]
    not_comparable: tuple[NotComparable, ...]
    rank_correlation: float | None
    notes: tuple[str, ...]


def curve_in_file(path: Path) -> PredictedCurve:
    """Read a curve of the user's own.

    Raises:
        InputError: The file cannot be read, or holds no curve.
    """
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as exc:
        raise InputError(f"{path} cannot be read as a text file: {exc}") from exc
    return read_curve(text, str(path))


def predict_runs(
    store: Store, run_ids: Sequence[str], options: PredictionOptions = SHIPPED
) -> PredictionResult:
    """Put runs on record beside theory.

    Raises:
        InputError: A run has no figures, the runs are of two principles, no run is
            against a target of which a property was given, or a property lies outside
            the curve.
        RecordsError: A run is not on record, or the records cannot be read.
    """
    with store.snapshot() as records:
        reader = Reader(records)
        runs = [measured_run(reader, run_id) for run_id in run_ids]
    if len({one.run.header.sensor.principle for one in runs}) > 1:
        raise InputError(
            "the runs are of two principles", hint="predict each by itself"
        )
    targets = {one.run.header.target.name for one in runs}
    for name in options.properties:
        if name not in targets:
            raise InputError(
                f"no run is against {name!r}", hint=f"known: {', '.join(targets)}"
            )
    return beside_theory(runs, options)


def beside_theory(
    runs: Sequence[MeasuredRun], options: PredictionOptions = SHIPPED
) -> PredictionResult:
    """Put measured runs beside theory.

    Raises:
        InputError: A property that was given lies outside the curve.
    """
    said = [(one, _theory_of_run(one, options)) for one in runs]
    known = [(one, theory) for one, theory in said if isinstance(theory, Theory)]
    agreement = (
        compare_with_prediction([_material(one, theory) for one, theory in known])
        if known
        else None
    )
    deviations = agreement.deviations if agreement else ()
    return PredictionResult(
        simulated=any(one.run.header.conditions.simulated for one in runs),
        deviations=tuple(
            _predicted(one, theory, deviation)
            for (one, theory), deviation in zip(known, deviations, strict=True)
        ),
        not_comparable=tuple(
            _not_comparable(one, theory)
            for one, theory in said
            if isinstance(theory, NoTheory)
        ),
        rank_correlation=agreement.rank_correlation if agreement else None,
        notes=tuple(
            dict.fromkeys(note for _, theory in known for note in theory.curve.notes)
        ),
    )


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


def _theory_of_run(one: MeasuredRun, options: PredictionOptions) -> Theory | NoTheory:
    header = one.run.header
    return theory_for(header.sensor, header.target, options, setting=setting_of(header))


def _material(one: MeasuredRun, theory: Theory) -> MeasuredMaterial:
    return MeasuredMaterial(
        material=one.run.header.target.name,
        curve=theory.curve,
        property_low=theory.property_low,
        property_high=theory.property_high,
        operate=one.figures.operate,
    )


def _predicted(one: MeasuredRun, theory: Theory, deviation: Deviation) -> PredictedRun:
    header = one.run.header
    return PredictedRun(
        run_id=header.run_id,
        sensor=header.sensor.name,
        material=header.target.name,
        thickness_mm=header.target.thickness_mm,
        of=theory.of,
        property_low=theory.property_low,
        property_high=theory.property_high,
        curve=theory.curve,
        predicted_mm=theory.predicted_mm,
        predicted_range_mm=theory.predicted_range_mm,
        measured=one.figures.operate,
        measured_mm=deviation.measured_mm,
        deviation_mm=deviation.deviation_mm,
        expanded_uncertainty_mm=deviation.expanded_uncertainty_mm,
        normalised=deviation.normalised,
        agrees=deviation.agrees,
    )


def _not_comparable(one: MeasuredRun, why: NoTheory) -> NotComparable:
    header = one.run.header
    return NotComparable(
        run_id=header.run_id,
        sensor=header.sensor.name,
        material=header.target.name,
        thickness_mm=header.target.thickness_mm,
        measured=one.figures.operate,
        reason=why.reason,
        property_unknown=why.property_unknown,
    )
