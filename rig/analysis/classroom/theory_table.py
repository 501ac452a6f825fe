"""Tables of predicted operate points, and the curve for one sensor and one plate."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

import numpy as np

from rig.analysis.classroom.predicted_curve import (
    PredictedCurve,
    Property,
    lines_and_notes,
)
from rig.analysis.numbers.gaps import FloatArray
from rig.errors import InputError
from rig.model.mounted import Principle, Sensor
from rig.model.number_input import number

_THICKNESSES: Final = ("thickness_mm", "thickness_over_size")
_AXES: Final = ("size_mm", "rated_over_size", *_THICKNESSES)
_POINTS: Final = 4  # of an axis that one value is worked out from
_ON_THE_EDGE: Final = 1e-4  # the file states its axes to six digits


@dataclass(frozen=True, slots=True, kw_only=True)
class TheoryTable:
    """Predicted operate points over sensor, plate and material.

    Attributes
    ----------
    of : Property
        Property of the material along the last axis.
    axes : dict[str, ndarray of float]
        Values of each axis but the last, rising, by name: ``size_mm``,
        ``rated_over_size``, ``thickness_mm``, ``thickness_over_size``.
    properties : ndarray of float
        Values of the property, rising, shape (k,).
    operate_over_rated : ndarray of float
        Operate point over s_n, shape (axes in order, k); NaN where the sensor never
        operates.
    notes : tuple[str, ...]
        Comment lines of the file: model, sensor, target.
    """

    of: Property
    axes: dict[str, FloatArray]
    properties: FloatArray
    operate_over_rated: FloatArray
    notes: tuple[str, ...]


def read_theory_table(text: str, name: str) -> TheoryTable:
    """Read a table from the text of a data file.

    Parameters
    ----------
    text : str
        CSV: columns of the axes, then one ``property=value`` a column; a row for every
        combination of the axes, the last axis fastest. Empty cells become NaN; lines
        that begin with # are notes.
    name : str
        Name of the file, for messages.

    Returns
    -------
    TheoryTable
        Every axis rising.

    Raises
    ------
    InputError
        If a column is unknown, a cell is text, or rows do not fill the axes in order.
    """
    lines, notes = lines_and_notes(text)
    rows = [(count, next(csv.reader([line]))) for count, line in lines]
    heads = rows[0][1] if rows else []
    axes = [head for head in heads if "=" not in head]
    kinds = {head.partition("=")[0] for head in heads[len(axes) :]}
    known = {kind.value: kind for kind in Property}
    if not axes or not set(axes) <= set(_AXES) or len(kinds) != 1 or kinds - set(known):
        raise InputError(
            f"{name}: the header is {','.join(heads)[:60]!r}",
            hint=f"axes such as {', '.join(_AXES)}, then property=value columns",
        )
    cells = _cells(rows, name)
    values = [cells[:, i] for i in range(len(axes))]
    steps = [np.unique(column) for column in values]
    shape = tuple(len(step) for step in steps)
    full = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, len(axes))
    if full.shape != (len(cells), len(axes)) or not np.array_equal(
        full, cells[:, : len(axes)]
    ):
        raise InputError(
            f"{name}: the rows are not every combination of {', '.join(axes)} in order",
            hint="write the file with the program that made it",
        )
    return TheoryTable(
        of=known[kinds.pop()],
        axes=dict(zip(axes, steps, strict=True)),
        properties=np.array(
            [number(head.partition("=")[2], name) for head in heads[len(axes) :]]
        ),
        operate_over_rated=cells[:, len(axes) :].reshape(*shape, -1),
        notes=notes,
    )


def _cells(rows: list[tuple[int, list[str]]], name: str) -> FloatArray:
    width = len(rows[0][1])
    table = []
    for count, cells in rows[1:]:
        where = f"{name}, line {count}"
        if len(cells) != width:
            raise InputError(f"{where}: {len(cells)} cells", hint=f"{width} of them")
        table.append([number(cell, where) if cell else math.nan for cell in cells])
    return np.array(table, dtype=np.float64).reshape(-1, width)


@cache
def shipped_theory(principle: Principle) -> TheoryTable:
    """Read the table that comes with the product.

    Parameters
    ----------
    principle : Principle
        Capacitive over permittivity, inductive over conductivity.

    Returns
    -------
    TheoryTable
        The notes say for which sensor and plate, and that it is simulated.
    """
    name = f"predicted_{principle.value}.csv"
    text = files("rig.analysis").joinpath(f"data/{name}").read_text("utf-8")
    return read_theory_table(text, name)


def curve_for(sensor: Sensor, thickness_mm: float) -> PredictedCurve:
    """Return the curve that theory gives for a sensor and a plate of some thickness.

    Parameters
    ----------
    sensor : Sensor
        Sensor as adjusted in the works: it operates at s_n on the standard target.
    thickness_mm : float
        Thickness of the plate.

    Returns
    -------
    PredictedCurve
        Operate points in mm over the material's property, for the sensor's size and
        rated distance and for that thickness. It leaves out materials on which the
        sensor never operates.

    Raises
    ------
    InputError
        If sensor or plate lie outside what was computed; the sentence says what was.

    Notes
    -----
    Polynomials of third degree through the four nearest points, over the logarithm of
    each axis. A plate thicker than the thickest counts as that: what lies deeper
    changes the operate point by less than 0.0015 s_n.
    """
    table = shipped_theory(sensor.principle)
    at = {
        "size_mm": sensor.size_mm,
        "rated_over_size": sensor.rated_distance_mm / sensor.size_mm,
        "thickness_mm": thickness_mm,
        "thickness_over_size": thickness_mm / sensor.size_mm,
    }
    found = table.operate_over_rated
    for axis, points in table.axes.items():
        value = at[axis]
        if axis in _THICKNESSES:
            value = min(value, float(points[-1]))
        _refuse_outside(axis, value, points, sensor)
        weights, chosen = _weights(points, value)
        found = np.tensordot(weights, found[chosen], axes=(0, 0))
    some = np.isfinite(found)
    if np.count_nonzero(some) < 2:
        raise InputError(
            f"theory has {sensor.name} operate on no plate of {thickness_mm:g} mm",
            hint="measure a thicker plate",
        )
    return PredictedCurve(
        of=table.of,
        values=table.properties[some],
        operate_mm=found[some] * sensor.rated_distance_mm,
        notes=(*table.notes[:2], _note_of(table, sensor, thickness_mm)),
    )


def _refuse_outside(
    axis: str, value: float, points: FloatArray, sensor: Sensor
) -> None:
    low, high = float(points[0]), float(points[-1])
    if low * (1.0 - _ON_THE_EDGE) <= value <= high * (1.0 + _ON_THE_EDGE):
        return
    if axis in _THICKNESSES:
        least_mm = low if axis == "thickness_mm" else low * sensor.size_mm
        raise InputError(
            f"theory holds for plates of {least_mm:.3g} mm and more with {sensor.name}",
            hint="measure a thicker plate",
        )
    what = "a size" if axis == "size_mm" else "an s_n over the size"
    unit = " mm" if axis == "size_mm" else ""
    raise InputError(
        f"theory holds for sensors with {what} of {low:.3g} to {high:.3g}{unit},"
        f" and {sensor.name} has {value:.3g}{unit}",
        hint="give a curve for it with --curve",
    )


def _weights(points: FloatArray, value: float) -> tuple[FloatArray, slice]:
    """Return the weights of the nearest points, and which they are."""
    count = min(_POINTS, len(points))
    first = int(np.searchsorted(points, value)) - count // 2
    chosen = slice(start := min(max(first, 0), len(points) - count), start + count)
    x, at = np.log(points[chosen]), math.log(value)
    weights = np.ones(count)
    for i in range(count):
        others = np.delete(x, i)
        weights[i] = np.prod((at - others) / (x[i] - others))
    return weights, chosen


def _note_of(table: TheoryTable, sensor: Sensor, thickness_mm: float) -> str:
    said = (note.partition("target: ")[2] for note in table.notes)
    plate = next((words for words in said if words), "a plate")
    return (
        f"target: {plate}, {thickness_mm:g} mm thick; s_n"
        f" {sensor.rated_distance_mm:g} mm, size {sensor.size_mm:g} mm"
    )
