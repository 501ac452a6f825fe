"""Measured runs beside theory."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.classroom.predicted_curve import (
    Deviation,
    MeasuredMaterial,
    PredictedCurve,
    Property,
    compare_with_prediction,
)
from rig.errors import InputError
from rig.inquiry.measured_run import MeasuredRun, measured_run
from rig.inquiry.theory import (
    SHIPPED,
    NoTheory,
    PredictionOptions,
    Theory,
    theory_for,
)
from rig.inquiry.trimmer_setting import setting_of
from rig.model.figures import Figure
from rig.records import Reader, Store


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
        expanded_uncertainty_mm: Expanded uncertainty of the deviation (mm); None if the
            run's figure has none.
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
        reason: Reason, as the rest of a sentence.
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
