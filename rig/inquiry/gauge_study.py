"""Studies of a gauge beside the crossed one: components, agreement, and so on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rig.analysis.numbers.readout import assumed_step
from rig.analysis.study.agreement import Agreement, Rating, agreement
from rig.analysis.study.component_study import ComponentStudy, component_study
from rig.analysis.study.linearity import Linearity, linearity
from rig.analysis.study.single_gauge import SingleGauge, single_gauge
from rig.analysis.study.stability import Stability, stability
from rig.analysis.study.tolerance_share import ToleranceShare, tolerance_share
from rig.errors import InputError
from rig.inquiry.gauge_readings import (
    GaugeReadings,
    check_said,
    one_part,
    references_of,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentsResult:
    """Components of the spread of a nested or unbalanced study.

    Attributes:
        source: The readings.
        study: Figures.
        tolerance: Share of the tolerance; None if nobody gave one.
    """

    source: GaugeReadings[float]
    study: ComponentStudy
    tolerance: ToleranceShare | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreementResult:
    """Agreement of ratings.

    Attributes:
        source: The ratings.
        study: Figures.
    """

    source: GaugeReadings[str]
    study: Agreement


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearityResult:
    """Bias over the range of a gauge.

    Attributes:
        source: The readings.
        study: Figures.
    """

    source: GaugeReadings[float]
    study: Linearity


@dataclass(frozen=True, slots=True, kw_only=True)
class StabilityResult:
    """A check standard over time.

    Attributes:
        source: The readings.
        study: Figures.
    """

    source: GaugeReadings[float]
    study: Stability


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleGaugeResult:
    """One gauge on one part.

    Attributes:
        source: The readings.
        study: Figures.
    """

    source: GaugeReadings[float]
    study: SingleGauge


GaugeResult = (
    ComponentsResult
    | AgreementResult
    | LinearityResult
    | StabilityResult
    | SingleGaugeResult
)


def components_of(
    readings: GaugeReadings[float],
    *,
    nested: bool = False,
    tolerance: float | None = None,
    confidence: float = 0.95,
) -> ComponentsResult:
    """Find the components of readings in any design.

    Args:
        readings: The readings, each with part and appraiser.
        nested: Parts of one name are different parts where different appraisers read
            them.
        tolerance: Upper minus lower limit, in the unit of the readings; None for that
            of the study on record, if it has one.
        confidence: Confidence of the intervals, 0 to 1.

    Raises:
        InputError: The readings do not make a study.
    """
    width = readings.tolerance if tolerance is None else tolerance
    check_said(readings, lambda one: one.part, "part")
    check_said(readings, lambda one: one.appraiser, "appraiser")
    study = component_study(
        readings.parts,
        readings.appraisers,
        readings.values,
        nested=nested,
        confidence=confidence,
        step=assumed_step(readings.values),
    )
    share = None
    if width is not None:
        share = tolerance_share(
            study.spreads.measurement, study.intervals.measurement, width
        )
    return ComponentsResult(source=readings, study=study, tolerance=share)


def agreement_of(
    ratings: GaugeReadings[str],
    *,
    references: Mapping[str, str] | None = None,
    confidence: float = 0.95,
) -> AgreementResult:
    """Work out how alike appraisers rate.

    Args:
        ratings: The ratings, each with part and appraiser.
        references: Right category by part; those of the table come first.
        confidence: Confidence of the intervals, 0 to 1.

    Raises:
        InputError: The ratings do not make a study, or a part has two references.
    """
    check_said(ratings, lambda one: one.part, "part")
    check_said(ratings, lambda one: one.appraiser, "appraiser")
    right: dict[str, str] = {}
    for one in ratings.readings:
        if one.reference and right.setdefault(one.part, one.reference) != one.reference:
            raise InputError(
                f"part {one.part} has two reference categories: {right[one.part]} and"
                f" {one.reference}",
                hint="give each part one",
            )
    study = agreement(
        [
            Rating(part=one.part, appraiser=one.appraiser, rating=one.value)
            for one in ratings.readings
        ],
        references={**(references or {}), **right},
        confidence=confidence,
    )
    return AgreementResult(source=ratings, study=study)


def linearity_of(
    readings: GaugeReadings[float],
    *,
    references: Mapping[str, float],
    confidence: float = 0.95,
) -> LinearityResult:
    """Fit the bias over the reference values.

    Args:
        readings: The readings, each with its part.
        references: Reference value by part; those of a table of readings come first.
        confidence: Confidence of intervals and band, 0 to 1.

    Raises:
        InputError: A part has no reference value, or the readings do not make a study.
    """
    check_said(readings, lambda one: one.part, "part")
    study = linearity(
        readings.parts,
        references_of(readings, references),
        readings.values,
        confidence=confidence,
    )
    return LinearityResult(source=readings, study=study)


def stability_of(
    readings: GaugeReadings[float],
    *,
    reference: float | None = None,
    confidence: float = 0.95,
) -> StabilityResult:
    """Follow a check standard over time.

    Args:
        readings: The readings of one part, in order of time.
        reference: Reference value of the part, in the unit of the readings.
        confidence: Confidence of the intervals, 0 to 1.

    Raises:
        InputError: They are of several parts, or do not make a study.
    """
    one_part(readings)
    study = stability(
        [one.occasion for one in readings.readings],
        readings.values,
        reference=reference,
        confidence=confidence,
    )
    return StabilityResult(source=readings, study=study)


def single_gauge_of(
    readings: GaugeReadings[float],
    *,
    reference: float,
    tolerance: float,
    confidence: float = 0.95,
) -> SingleGaugeResult:
    """Work out a single-gauge study.

    Args:
        readings: The readings of one part by one appraiser.
        reference: Reference value of the part, in the unit of the readings.
        tolerance: Upper minus lower limit, in that unit.
        confidence: Confidence of the intervals, 0 to 1.

    Raises:
        InputError: They are of several parts or appraisers, or do not make a study.
    """
    one_part(readings)
    people = sorted(set(readings.appraisers))
    if len(people) > 1:
        raise InputError(
            f"the readings are of {len(people)} appraisers: {', '.join(people[:5])}",
            hint="choose one of them with --appraisers",
        )
    study = single_gauge(
        readings.values,
        reference=reference,
        tolerance=tolerance,
        confidence=confidence,
        step=assumed_step(readings.values),
    )
    return SingleGaugeResult(source=readings, study=study)
