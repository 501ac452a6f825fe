"""Predicted operating distances over a property of the material, beside measured."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.errors import InputError
from rig.model.figures import Figure
from rig.model.number_input import number


class Property(StrEnum):
    """Property of the target's material that the distance depends on."""

    PERMITTIVITY = "relative_permittivity"
    CONDUCTIVITY = "conductivity_s_m"


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictedCurve:
    """A curve of predicted distances.

    Attributes
    ----------
    of : Property
        Property along the curve.
    values : ndarray of float
        Values of the property, rising, above 0, shape (k,).
    operate_mm : ndarray of float
        Predicted operate points, shape (k,).
    notes : tuple[str, ...]
        Comment lines of the file: model, sensor, target.
    """

    of: Property
    values: FloatArray
    operate_mm: FloatArray
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredMaterial:
    """A material that was measured.

    Attributes
    ----------
    material : str
        Name of the material or of the plate.
    curve : PredictedCurve
        What theory predicts for the sensor and for that plate.
    property_low : float
        Smallest value that the material's property may have.
    property_high : float
        Largest value that the property may have; the same as the smallest if it is
        known.
    operate : Figure
        Measured operate point (mm).
    """

    material: str
    curve: PredictedCurve
    property_low: float
    property_high: float
    operate: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """Measured less predicted for one material.

    Attributes
    ----------
    material : str
        Name of the material or of the plate.
    predicted_mm : float
        Predicted distance at the geometric middle of the property's range.
    predicted_range_mm : tuple[float, float]
        Smallest and largest predicted distance over that range.
    measured_mm : float
        Measured distance.
    deviation_mm : float
        Measured less predicted distance.
    expanded_uncertainty_mm : float or None
        Expanded uncertainty of the deviation: the measured figure's and half the
        predicted range, combined; None if the measured figure has none.
    normalised : float or None
        Deviation over its expanded uncertainty, E_n; None without one.
    agrees : bool or None
        Whether E_n is at most 1 in size; None without it.
    """

    material: str
    predicted_mm: float
    predicted_range_mm: tuple[float, float]
    measured_mm: float
    deviation_mm: float
    expanded_uncertainty_mm: float | None
    normalised: float | None
    agrees: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """All materials beside the curve.

    Attributes
    ----------
    deviations : tuple[Deviation, ...]
        Every material's deviation, in the order given.
    rank_correlation : float or None
        Spearman's, measured against predicted; None below 3 materials or if all are
        alike.
    """

    deviations: tuple[Deviation, ...]
    rank_correlation: float | None


def read_curve(text: str, name: str) -> PredictedCurve:
    """Read a curve from the text of a data file.

    Parameters
    ----------
    text : str
        CSV with the header ``relative_permittivity,operate_mm`` or
        ``conductivity_s_m,operate_mm``; lines that begin with # are notes.
    name : str
        Name of the file, for messages.

    Returns
    -------
    PredictedCurve
        At least two rows, property rising.

    Raises
    ------
    InputError
        If the header is another one, a cell is empty or text, or the property does not
        rise.
    """
    lines, notes = lines_and_notes(text)
    rows = [(count, next(csv.reader([line]))) for count, line in lines]
    headers = {(kind.value, "operate_mm"): kind for kind in Property}
    found = tuple(cell.strip() for cell in rows[0][1]) if rows else ()
    if found not in headers:
        raise InputError(
            f"{name}: the header is {','.join(found)!r}",
            hint=" or ".join(",".join(header) for header in headers),
        )
    points = []
    for count, cells in rows[1:]:
        where = f"{name}, line {count}"
        if len(cells) != 2:
            raise InputError(f"{where}: {len(cells)} cells", hint="two of them")
        points.append([number(cell, where) for cell in cells])
    table = np.array(points, dtype=np.float64).reshape(-1, 2)
    if len(points) < 2 or table[0, 0] <= 0.0 or np.any(np.diff(table[:, 0]) <= 0.0):
        raise InputError(
            f"{name}: {found[0]} has to rise from above 0 over at least 2 rows",
            hint="sort the rows",
        )
    return PredictedCurve(
        of=headers[found],
        values=table[:, 0],
        operate_mm=table[:, 1],
        notes=notes,
    )


def lines_and_notes(text: str) -> tuple[list[tuple[int, str]], tuple[str, ...]]:
    """Part the rows of a data file from its notes.

    Parameters
    ----------
    text : str
        Text of the file; lines that begin with # are notes, empty ones do not count.

    Returns
    -------
    lines : list of (int, str)
        Number of the line in the file, from 1, and the line.
    notes : tuple of str
        Without their #.
    """
    numbered = list(enumerate(text.splitlines(), start=1))
    notes = [line.lstrip("# ").rstrip() for _, line in numbered if line.startswith("#")]
    lines = [
        (count, line)
        for count, line in numbered
        if line.strip() and not line.startswith("#")
    ]
    return lines, tuple(notes)


def predicted_mm(prediction: PredictedCurve, value: float) -> float:
    """Distance at one value of the property.

    Parameters
    ----------
    prediction : PredictedCurve
        The curve.
    value : float
        Value of the property, within the curve.

    Returns
    -------
    float
        mm, on straight lines over the logarithm of the property.

    Raises
    ------
    InputError
        If the value lies outside the curve.
    """
    low, high = float(prediction.values[0]), float(prediction.values[-1])
    if not low <= value <= high:
        raise InputError(
            f"{prediction.of.value} {value:g} lies outside the predicted {low:g} to"
            f" {high:g}",
            hint="predict over a wider range",
        )
    return float(
        np.interp(math.log(value), np.log(prediction.values), prediction.operate_mm)
    )


def compare_with_prediction(measured: Sequence[MeasuredMaterial]) -> Agreement:
    """Put measured distances beside the predicted ones.

    Parameters
    ----------
    measured : sequence of MeasuredMaterial
        Materials measured, at least one, each with the curve that it is held against.

    Returns
    -------
    Agreement
        In mm.

    Raises
    ------
    InputError
        If nothing was measured, a property's range is invalid or outside the curve,
        or a figure is not in mm.

    Notes
    -----
    Normalised error as in ISO/IEC 17043 (from memory), |E_n| <= 1. The prediction's
    expanded uncertainty is half its range over the property's range: all that is known
    of a material is often a range. The model itself is taken as exact, so a large E_n
    speaks of the model or of the material.
    """
    if not measured:
        raise InputError("no material was measured", hint="measure at least one")
    deviations = tuple(_deviation(one) for one in measured)
    return Agreement(
        deviations=deviations,
        rank_correlation=_rank_correlation(
            [one.predicted_mm for one in deviations],
            [one.measured_mm for one in deviations],
        ),
    )


def _deviation(one: MeasuredMaterial) -> Deviation:
    curve = one.curve
    if one.operate.unit != "mm":
        raise InputError(
            f"{one.material}: the operate point is in {one.operate.unit}",
            hint="compare in mm",
        )
    if not 0.0 < one.property_low <= one.property_high:
        raise InputError(
            f"{one.material}: {curve.of.value} from {one.property_low:g} to"
            f" {one.property_high:g} is invalid",
            hint="give the smallest and the largest value, above 0",
        )
    ends = [predicted_mm(curve, v) for v in (one.property_low, one.property_high)]
    middle = predicted_mm(curve, math.sqrt(one.property_low * one.property_high))
    gap = one.operate.value - middle
    known = one.operate.expanded_uncertainty
    size = normalised = None
    if known is not None:
        size = math.hypot(known, 0.5 * abs(ends[1] - ends[0]))
        normalised = gap / size if size > 0.0 else math.copysign(math.inf, gap)
    return Deviation(
        material=one.material,
        predicted_mm=middle,
        predicted_range_mm=(min(ends), max(ends)),
        measured_mm=one.operate.value,
        deviation_mm=gap,
        expanded_uncertainty_mm=size,
        normalised=normalised,
        agrees=None if normalised is None else abs(normalised) <= 1.0,
    )


def _rank_correlation(first: Sequence[float], second: Sequence[float]) -> float | None:
    if len(first) < 3:
        return None
    a, b = _ranks(first), _ranks(second)
    a, b = a - a.mean(), b - b.mean()
    size = math.sqrt(float((a @ a) * (b @ b)))
    return float(a @ b) / size if size > 0.0 else None


def _ranks(values: Sequence[float]) -> FloatArray:
    """Ranks from 1; ties share the mean of theirs."""
    _, group, counts = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    mean_rank: FloatArray = last - 0.5 * (counts - 1.0)
    return mean_rank[group.reshape(-1)]
