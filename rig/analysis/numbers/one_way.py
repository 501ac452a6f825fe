"""One-way analysis of variance: between groups against within; knows no sensor."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.given import Cells, column
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class OneWay:
    """The table of a one-way analysis of variance, fixed or random groups.

    Attributes
    ----------
    mean : float
        Mean of all readings.
    sum_of_squares_between : float
        Sum of squares between groups, unit of the readings squared.
    degrees_of_freedom_between : int
        Number of groups less one.
    sum_of_squares_within : float
        Sum of squares within groups, unit of the readings squared.
    degrees_of_freedom_within : int
        Number of readings less groups.
    f : float
        Mean square between over mean square within; inf if nothing is within.
    p : float
        Probability of such an F or a larger one if the groups do not differ.
    sd_within : float
        Standard deviation within a group.
    sd_between : float
        Standard deviation that the groups add; 0 if the estimate of its variance is
        below 0.
    """

    mean: float
    sum_of_squares_between: float
    degrees_of_freedom_between: int
    sum_of_squares_within: float
    degrees_of_freedom_within: int
    f: float
    p: float
    sd_within: float
    sd_between: float


def one_way(groups: Sequence[Cells]) -> OneWay:
    """Analyse groups of readings.

    Parameters
    ----------
    groups : sequence of array_like, each of shape (n_i,)
        One unit for all; at least two groups of at least two readings.

    Returns
    -------
    OneWay
        In the unit of the readings.

    Raises
    ------
    InputError
        If there are fewer than two groups, a group is too small or a cell is missing.

    Notes
    -----
    All readings are centred on the first of them before squaring, so that a large
    common offset costs no digits.
    """
    arrays = [
        column(f"group {index + 1}", group, at_least=2)
        for index, group in enumerate(groups)
    ]
    offset = float(arrays[0][0]) if arrays else 0.0
    moments = [mean_and_sd(array - offset) for array in arrays]
    return _table(
        np.array([float(mean) for mean, _ in moments]),
        np.array([float(sd) for _, sd in moments]),
        np.array([array.size for array in arrays]),
        offset,
    )


def _table(
    means: npt.NDArray[np.float64],
    sds: npt.NDArray[np.float64],
    counts: npt.NDArray[np.intp],
    offset: float,
) -> OneWay:
    from scipy.special import fdtrc

    if means.size < 2:
        raise InputError(
            "a comparison of groups needs at least two of them", hint="add a group"
        )
    total = int(counts.sum())
    grand = float(counts @ means) / total
    between = float(counts @ np.square(means - grand))
    within = float((counts - 1) @ np.square(sds))
    df_between, df_within = means.size - 1, total - means.size
    ms_between, ms_within = between / df_between, within / df_within
    typical = (total - float(counts @ counts) / total) / df_between
    if ms_within > 0.0:
        f = ms_between / ms_within
        p = float(fdtrc(df_between, df_within, f))
    else:
        f, p = (math.inf, 0.0) if ms_between > 0.0 else (math.nan, 1.0)
    return OneWay(
        mean=grand + offset,
        sum_of_squares_between=between,
        degrees_of_freedom_between=df_between,
        sum_of_squares_within=within,
        degrees_of_freedom_within=df_within,
        f=f,
        p=p,
        sd_within=math.sqrt(ms_within),
        sd_between=math.sqrt(max(ms_between - ms_within, 0.0) / typical),
    )
