"""Outliers of a batch: flagged with the test that flags them, never dropped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.given import Cells, column, probability


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlier:
    """A value that a test calls an outlier.

    Attributes
    ----------
    index : int
        Index of the value, from 0.
    statistic : float
        Distance of the value from the mean of what is left, in standard deviations.
    critical : float
        What that distance would have to stay below.
    """

    index: int
    statistic: float
    critical: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlierTest:
    """All steps of the test.

    Attributes
    ----------
    outliers : tuple[Outlier, ...]
        Outliers flagged, most extreme first.
    statistics : tuple[float, ...]
        Statistic of every step, shape (r,).
    critical : tuple[float, ...]
        Critical value of every step, shape (r,).
    significance : float
        Share of clean batches in which something is flagged.
    test : str
        Name of the test.
    """

    outliers: tuple[Outlier, ...]
    statistics: tuple[float, ...]
    critical: tuple[float, ...]
    significance: float
    test: str


def find_outliers(
    values: Cells, *, at_most: int | None = None, significance: float = 0.05
) -> OutlierTest:
    """Test for one or more outliers in a normal batch.

    Parameters
    ----------
    values : array_like, shape (n,)
        One value a part, any unit.
    at_most : int or None
        How many are looked for; a tenth of the parts, and at least one, if None.
    significance : float
        0 to 1.

    Returns
    -------
    OutlierTest
        Nothing is flagged among fewer than 3 values, or if all are alike.

    Raises
    ------
    InputError
        If a value is missing.

    Notes
    -----
    Generalised extreme Studentised deviate test, Rosner 1983; NIST/SEMATECH
    e-Handbook, 1.3.5.17.3. With one outlier looked for it is Grubbs' test,
    1.3.5.17.1. Critical values are good from about 15 values up.
    """
    x = column("values of the parts", values)
    probability("the significance", significance)
    n = x.size
    wanted = max(1, n // 10) if at_most is None else at_most
    steps = max(0, min(wanted, n - 2))
    left = np.ones(n, dtype=bool)
    found: list[Outlier] = []
    for step in range(steps):
        rest = x[left]
        sd = float(rest.std(ddof=1))
        if sd == 0.0:
            break
        distance = np.where(left, np.abs(x - rest.mean()), -1.0)
        index = int(np.argmax(distance))
        found.append(
            Outlier(
                index=index,
                statistic=float(distance[index]) / sd,
                critical=_critical(n - step, significance),
            )
        )
        left[index] = False
    # The largest step that exceeds its critical value takes all before it along
    beyond = [i for i, step in enumerate(found) if step.statistic > step.critical]
    return OutlierTest(
        outliers=tuple(found[: beyond[-1] + 1]) if beyond else (),
        statistics=tuple(step.statistic for step in found),
        critical=tuple(step.critical for step in found),
        significance=significance,
        test="Grubbs" if steps == 1 else "generalised extreme Studentised deviate",
    )


def _critical(n: int, significance: float) -> float:
    """Critical value for the most extreme of n values, two-sided."""
    from scipy.special import stdtrit

    t = float(stdtrit(n - 2, 1.0 - significance / (2.0 * n)))
    return float((n - 1) * t / np.sqrt((n - 2 + t * t) * n))
