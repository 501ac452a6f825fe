"""Control charts and their run rules: data to plot, no picture."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.batch.control_constants import chart_constants
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, block, column
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """A run rule that a chart breaks.

    Attributes
    ----------
    rule : str
        The rule in words.
    at : int
        Index of the point that completes the pattern, from 0.
    points : tuple[int, ...]
        Indices of all points of the pattern.
    """

    rule: str
    at: int
    points: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """One control chart.

    Attributes
    ----------
    name : str
        What is plotted.
    points : ndarray of float
        Points in order, shape (k,).
    centre : float
        Centre line.
    lower : float
        Lower control limit.
    upper : float
        Upper control limit.
    signals : tuple[Signal, ...]
        Rules broken; run rules are applied to means and individuals, the range only to
        its limits.
    """

    name: str
    points: FloatArray
    centre: float
    lower: float
    upper: float
    signals: tuple[Signal, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartPair:
    """Location and spread of a process, in the unit of the readings.

    Attributes
    ----------
    location : Chart
        Individuals, or means of the subgroups.
    spread : Chart
        Moving ranges, or ranges of the subgroups.
    sigma : float
        Standard deviation of a single reading that the limits rest on.
    """

    location: Chart
    spread: Chart
    sigma: float


def individuals_chart(values: Cells) -> ChartPair:
    """Chart of single values and of the moving range of two.

    Parameters
    ----------
    values : array_like, shape (k,)
        Values in order of time, any unit; at least 3.

    Returns
    -------
    ChartPair
        Limits mean +- 3 (mean moving range)/d2.

    Raises
    ------
    InputError
        If a value is missing or there are fewer than 3.

    Notes
    -----
    NIST/SEMATECH e-Handbook, 6.3.2.2; ISO 7870-2 (not opened).
    """
    x = column("values", values, at_least=3)
    constants = chart_constants(2)
    moving = np.abs(np.diff(x))
    mean_range = float(moving.mean())
    sigma = mean_range / constants.d2
    return ChartPair(
        location=_location("individuals", x, float(x.mean()), sigma),
        spread=_range_chart(
            "moving range", moving, mean_range, 0.0, constants.d4_upper * mean_range
        ),
        sigma=sigma,
    )


def xbar_range_chart(subgroups: Cells) -> ChartPair:
    """Chart of the means and ranges of subgroups.

    Parameters
    ----------
    subgroups : array_like, shape (k, n)
        k of at least 2 subgroups in order of time, n of 2 to 25 readings each.

    Returns
    -------
    ChartPair
        Limits mean +- A2 (mean range), and D3 and D4 times the mean range.

    Raises
    ------
    InputError
        If a cell is missing, or there are too few or too large subgroups.

    Notes
    -----
    NIST/SEMATECH e-Handbook, 6.3.2.1; ISO 7870-2 (not opened). The range wastes too
    much of a subgroup above about 10 readings; above 25 it is refused.
    """
    x = block("subgroups", subgroups, dimensions=2)
    k, n = x.shape
    if k < 2 or not 2 <= n <= 25:
        raise InputError(
            f"{k} subgroups of {n} readings make no chart",
            hint="at least 2 subgroups of 2 to 25 readings",
        )
    constants = chart_constants(n)
    ranges = np.ptp(x, axis=1)
    mean_range = float(ranges.mean())
    sigma = mean_range / constants.d2
    means = x.mean(axis=1)
    return ChartPair(
        location=_location("mean", means, float(means.mean()), sigma / np.sqrt(n)),
        spread=_range_chart(
            "range",
            ranges,
            mean_range,
            constants.d3_lower * mean_range,
            constants.d4_upper * mean_range,
        ),
        sigma=sigma,
    )


def _location(name: str, points: FloatArray, centre: float, sigma: float) -> Chart:
    return Chart(
        name=name,
        points=points,
        centre=centre,
        lower=centre - 3.0 * float(sigma),
        upper=centre + 3.0 * float(sigma),
        signals=run_rules(points, centre, float(sigma)),
    )


def _range_chart(
    name: str, points: FloatArray, centre: float, lower: float, upper: float
) -> Chart:
    out = np.flatnonzero((points > upper) | (points < lower))
    return Chart(
        name=name,
        points=points,
        centre=centre,
        lower=lower,
        upper=upper,
        signals=tuple(
            Signal(rule="beyond a control limit", at=int(i), points=(int(i),))
            for i in out
        ),
    )


BoolArray = npt.NDArray[np.bool_]


def _of(needed: int, window: int, level: float) -> Callable[[FloatArray], BoolArray]:
    """So many of a window beyond a level on one side, the last one among them."""

    def broken(z: FloatArray) -> BoolArray:
        found = np.zeros(z.size, dtype=bool)
        for side in (z > level, z < -level):
            counts = np.convolve(side, np.ones(window, dtype=int))[: z.size]
            found |= side & (counts >= needed)
        return found

    return broken


def _all_in(
    window: int, holds: Callable[[FloatArray], BoolArray]
) -> Callable[[FloatArray], BoolArray]:
    """Every point of a window has a property."""

    def broken(z: FloatArray) -> BoolArray:
        counts = np.convolve(holds(z), np.ones(window, dtype=int))[: z.size]
        return np.asarray(counts >= window)

    return broken


def _steady(window: int) -> Callable[[FloatArray], BoolArray]:
    """So many points in a row that all rise or all fall."""

    def broken(z: FloatArray) -> BoolArray:
        steps = np.diff(z, prepend=np.nan)
        found = np.zeros(z.size, dtype=bool)
        for side in (steps > 0.0, steps < 0.0):
            counts = np.convolve(side, np.ones(window - 1, dtype=int))[: z.size]
            found |= counts >= window - 1
        return found

    return broken


def _alternating(window: int) -> Callable[[FloatArray], BoolArray]:
    """So many points in a row that go up and down in turn."""

    def broken(z: FloatArray) -> BoolArray:
        steps = np.diff(z)
        turns = np.zeros(z.size, dtype=int)
        turns[2:] = steps[1:] * steps[:-1] < 0.0
        counts = np.convolve(turns, np.ones(window - 2, dtype=int))[: z.size]
        return np.asarray(counts >= window - 2)

    return broken


# The eight patterns of ISO 7870-2:2013 (ISO 8258:1991, figure 1), from memory
RULES: tuple[tuple[str, int, Callable[[FloatArray], BoolArray]], ...] = (
    ("1 point beyond 3 sigma", 1, _of(1, 1, 3.0)),
    ("9 points in a row on one side of the centre", 9, _of(9, 9, 0.0)),
    ("6 points in a row rising or falling", 6, _steady(6)),
    ("14 points in a row alternating up and down", 14, _alternating(14)),
    ("2 of 3 points beyond 2 sigma on one side", 3, _of(2, 3, 2.0)),
    ("4 of 5 points beyond 1 sigma on one side", 5, _of(4, 5, 1.0)),
    ("15 points in a row within 1 sigma", 15, _all_in(15, lambda z: np.abs(z) < 1.0)),
    (
        "8 points in a row beyond 1 sigma on either side",
        8,
        _all_in(8, lambda z: np.abs(z) > 1.0),
    ),
)


def run_rules(points: Cells, centre: float, sigma: float) -> tuple[Signal, ...]:
    """Look for the eight patterns.

    Parameters
    ----------
    points : array_like, shape (k,)
        Points in order of time.
    centre : float
        Centre line.
    sigma : float
        Standard deviation of a plotted point; 0 if all points are alike, which breaks
        no rule.

    Returns
    -------
    tuple of Signal
        By rule, then in order; each point that completes a pattern gives one.

    Raises
    ------
    InputError
        If a point is missing.

    Notes
    -----
    ISO 7870-2:2013, from memory. On a steady normal process the eight together mark
    about 2.4 % of the points (by simulation), the first alone 0.27 %.
    """
    x = column("points", points)
    if sigma <= 0.0:
        return ()
    z = (x - centre) / sigma
    found = []
    for words, window, broken in RULES:
        # Two of three can be complete after two points: the window is cut short there
        found += [
            Signal(
                rule=words,
                at=int(i),
                points=tuple(range(max(0, int(i) - window + 1), int(i) + 1)),
            )
            for i in np.flatnonzero(broken(z))
        ]
    return tuple(found)
