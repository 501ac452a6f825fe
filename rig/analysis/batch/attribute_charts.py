"""Control charts of counted failures: shares of parts, failures a part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rig.analysis.batch.control_charts import Signal, run_rules
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column
from rig.errors import InputError

_FEWEST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class AttributeChart:
    """A control chart whose limits follow the size of each sample.

    Attributes
    ----------
    name : str
        What is plotted.
    sizes : ndarray of float
        Size of each sample, shape (k,).
    points : ndarray of float
        Share or rate of each sample, shape (k,).
    centre : float
        Centre line: all failures over all that was inspected.
    lower : ndarray of float
        Lower control limit of each point, shape (k,); never below 0.
    upper : ndarray of float
        Upper control limit of each point, shape (k,).
    signals : tuple[Signal, ...]
        Rules broken by the points in units of their own standard deviation.
    """

    name: str
    sizes: FloatArray
    points: FloatArray
    centre: float
    lower: FloatArray
    upper: FloatArray
    signals: tuple[Signal, ...]


def share_chart(failing: Cells, inspected: Cells) -> AttributeChart:
    """Chart of the share of parts that fail (p chart).

    Parameters
    ----------
    failing : array_like, shape (k,)
        Parts that fail in each sample; at least 3 samples.
    inspected : array_like, shape (k,)
        Parts inspected in each sample, 1 or more.

    Returns
    -------
    AttributeChart
        Limits p +- 3 sqrt(p (1 - p) / n), cut at 0 and 1.

    Raises
    ------
    InputError
        If counts are missing, below 0 or above their sample, or there are fewer than 3.

    Notes
    -----
    NIST/SEMATECH e-Handbook, 6.3.3.2; ISO 7870-2:2013, p chart (from memory). Run rules
    are applied to z = (p_i - p) / sigma_i, as for charts of standardised values.
    """
    d, n = _counts(failing, inspected)
    if np.any(d > n):
        raise InputError("more parts fail than were inspected", hint="check the counts")
    centre = float(d.sum() / n.sum())
    return _chart(
        "share of parts that fail",
        d / n,
        n,
        centre,
        np.sqrt(centre * (1.0 - centre) / n),
        1.0,
    )


def rate_chart(failures: Cells, inspected: Cells) -> AttributeChart:
    """Chart of the failures a part (u chart).

    Parameters
    ----------
    failures : array_like, shape (k,)
        Failures found in each sample; a part may have several. At least 3 samples.
    inspected : array_like, shape (k,)
        Parts, or other units, inspected in each sample, above 0.

    Returns
    -------
    AttributeChart
        Limits u +- 3 sqrt(u / n), the lower cut at 0.

    Raises
    ------
    InputError
        If counts are missing or below 0, or there are fewer than 3.

    Notes
    -----
    NIST/SEMATECH e-Handbook, 6.3.3.1; ISO 7870-2:2013, u chart (from memory).
    """
    c, n = _counts(failures, inspected)
    centre = float(c.sum() / n.sum())
    return _chart(
        "failures a part", c / n, n, centre, np.sqrt(centre / n), float("inf")
    )


def _counts(counted: Cells, inspected: Cells) -> tuple[FloatArray, FloatArray]:
    d = column("counts", counted, at_least=_FEWEST)
    n = column("samples", inspected, at_least=_FEWEST)
    if d.size != n.size:
        raise InputError(
            f"{d.size} counts for {n.size} samples", hint="give one for each"
        )
    if np.any(d < 0.0) or np.any(n <= 0.0):
        raise InputError(
            "a count is below 0, or a sample is empty", hint="leave empty samples out"
        )
    return d, n


def _chart(
    name: str,
    points: FloatArray,
    sizes: FloatArray,
    centre: float,
    sigma: FloatArray,
    most: float,
) -> AttributeChart:
    # Where nothing fails, or all does, the points have no spread and break no rule
    steady = bool(np.all(sigma == 0.0))
    z = np.zeros_like(points) if steady else (points - centre) / sigma
    return AttributeChart(
        name=name,
        sizes=sizes,
        points=points,
        centre=centre,
        lower=np.maximum(centre - 3.0 * sigma, 0.0),
        upper=np.minimum(centre + 3.0 * sigma, most),
        signals=() if steady else run_rules(z, 0.0, 1.0),
    )
