"""Measurement-system study: crossed analysis of variance; knows no sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, block, probability
from rig.errors import InputError
from rig.model.rounding import format_p

POOL_ABOVE = 0.25  # AIAG, Measurement Systems Analysis, from memory
CATEGORIES_FACTOR = 1.41  # the same, rounded from sqrt 2


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaRow:
    """One line of the analysis of variance.

    Attributes
    ----------
    source : str
        part, appraiser, part x appraiser, repeatability or total.
    degrees_of_freedom : int
        Degrees of freedom of the sum.
    sum_of_squares : float
        Unit of the readings squared.
    mean_square : float
        Sum of squares over its degrees of freedom.
    f : float or None
        Against the mean square below it in the model; None for the last.
    p : float or None
        Probability of such an F or a larger one if the source adds nothing; None for
        the last.
    """

    source: str
    degrees_of_freedom: int
    sum_of_squares: float
    mean_square: float
    f: float | None
    p: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """Standard deviations of the study, in the unit of the readings.

    Attributes
    ----------
    repeatability : float
        Scatter of one appraiser on one part (EV).
    reproducibility : float
        Scatter between appraisers, their interaction with parts in it (AV).
    measurement : float
        Repeatability and reproducibility together (GRR).
    part : float
        Between parts (PV).
    total : float
        All together (TV).
    """

    repeatability: float
    reproducibility: float
    measurement: float
    part: float
    total: float

    def share_of_total(self, sd: float) -> float:
        """Return a standard deviation as per cent of the total."""
        return 100.0 * sd / self.total

    @property
    def measurement_percent(self) -> float:
        """Measurement over total, per cent (%GRR)."""
        return self.share_of_total(self.measurement)

    @property
    def categories_ratio(self) -> float:
        """1.41 times part over measurement, before it is cut to a whole number."""
        return CATEGORIES_FACTOR * self.part / self.measurement

    @property
    def categories(self) -> int:
        """Number of distinct categories that the system tells apart."""
        return math.floor(self.categories_ratio)


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedStudy:
    """What the analysis of variance gives.

    Attributes
    ----------
    full : tuple[AnovaRow, ...]
        The table with interaction.
    rows : tuple[AnovaRow, ...]
        The table that the spreads come from: `full`, or with the interaction pooled
        into repeatability.
    pooled : bool
        Whether it was pooled.
    spreads : Spreads
        Standard deviations of the study; a variance estimated below 0 counts as 0.
    components : dict[str, float]
        Variances before that: repeatability, interaction, appraiser, part.
    method : str
        "crossed analysis of variance", with what was done to the interaction.
    shape : tuple[int, int, int]
        Parts, appraisers and trials.
    """

    full: tuple[AnovaRow, ...]
    rows: tuple[AnovaRow, ...]
    pooled: bool
    spreads: Spreads
    components: dict[str, float]
    method: str
    shape: tuple[int, int, int]


def study_block(readings: Cells) -> FloatArray:
    """Check the readings of a crossed study.

    Parameters
    ----------
    readings : array_like, shape (p, o, r)
        p parts, o appraisers, r trials, each at least 2, any unit.

    Returns
    -------
    ndarray, shape (p, o, r)
        The same.

    Raises
    ------
    InputError
        If a cell is missing, the study is not balanced or too small, or nothing
        scatters within the cells.
    """
    x = block("the study", readings, dimensions=3)
    for count, what in zip(x.shape, ("part", "appraiser", "trial"), strict=True):
        if count < 2:
            raise InputError(
                f"the study has {count} {what}", hint=f"at least 2 {what}s are needed"
            )
    if not np.any(np.ptp(x, axis=2) > 0.0):
        raise InputError(
            "all trials read alike, so repeatability is hidden by the resolution",
            hint="read with a finer step",
        )
    return x


def crossed_study(readings: Cells, *, pool_above: float = POOL_ABOVE) -> CrossedStudy:
    """Analyse a crossed study with random parts and appraisers.

    Parameters
    ----------
    readings : array_like, shape (p, o, r)
        p parts, o appraisers, r trials, each at least 2, any unit.
    pool_above : float
        The interaction is pooled into repeatability if its p is above this.

    Returns
    -------
    CrossedStudy
        In the unit of the readings.

    Raises
    ------
    InputError
        If a cell is missing, the study is not balanced or too small, or nothing
        scatters within the cells.

    Notes
    -----
    AIAG, Measurement Systems Analysis, 4th ed., analysis-of-variance method (not
    opened; formulas from memory, figures checked against its public data set).
    """
    x = study_block(readings)
    probability("the level for pooling", pool_above)
    p, o, r = x.shape
    squares = _sums_of_squares(x)
    full = _table(squares, (p, o, r), pooled=False)
    chance = full[2].p
    assert chance is not None, "the interaction is held against a row below it"
    pooled = chance > pool_above
    rows = _table(squares, (p, o, r), pooled=True) if pooled else full
    components = variance_components(
        {row.source: np.float64(row.mean_square) for row in rows}, (p, o, r)
    )
    plain = {name: float(value) for name, value in components.items()}
    how = "pooled into repeatability" if pooled else "kept"
    return CrossedStudy(
        full=full,
        rows=rows,
        pooled=pooled,
        spreads=spreads_of(plain),
        components=plain,
        method=f"crossed analysis of variance, interaction {how} ({format_p(chance)})",
        shape=(p, o, r),
    )


def _sums_of_squares(x: FloatArray) -> dict[str, float]:
    p, o, r = x.shape
    # Centring on one reading first keeps the digits of a large common offset
    y = x - x[0, 0, 0]
    grand = y.mean()
    parts, appraisers, cells = (y.mean(axis=axis) for axis in ((1, 2), (0, 2), 2))
    both = cells - parts[:, np.newaxis] - appraisers[np.newaxis, :] + grand
    return {
        "part": o * r * float(np.square(parts - grand).sum()),
        "appraiser": p * r * float(np.square(appraisers - grand).sum()),
        "part x appraiser": r * float(np.square(both).sum()),
        "repeatability": float(np.square(y - cells[:, :, np.newaxis]).sum()),
    }


def _table(
    squares: dict[str, float], shape: tuple[int, int, int], *, pooled: bool
) -> tuple[AnovaRow, ...]:
    p, o, r = shape
    dof = {
        "part": p - 1,
        "appraiser": o - 1,
        "part x appraiser": (p - 1) * (o - 1),
        "repeatability": p * o * (r - 1),
    }
    sums = dict(squares)
    if pooled:
        sums["repeatability"] += sums.pop("part x appraiser")
        dof["repeatability"] += dof.pop("part x appraiser")
    below = "repeatability" if pooled else "part x appraiser"
    rows = [
        _row(source, sums, dof, None if source == "repeatability" else below)
        for source in sums
        if source != "part x appraiser"
    ]
    if not pooled:
        rows.insert(2, _row("part x appraiser", sums, dof, "repeatability"))
    total = sum(sums.values())
    rows.append(
        AnovaRow(
            source="total",
            degrees_of_freedom=p * o * r - 1,
            sum_of_squares=total,
            mean_square=total / (p * o * r - 1),
            f=None,
            p=None,
        )
    )
    return tuple(rows)


def _row(
    source: str, sums: dict[str, float], dof: dict[str, int], below: str | None
) -> AnovaRow:
    from scipy.special import fdtrc

    mean_square = sums[source] / dof[source]
    f = chance = None
    if below is not None:
        base = sums[below] / dof[below]
        f = mean_square / base if base > 0.0 else math.inf
        chance = float(fdtrc(dof[source], dof[below], f)) if base > 0.0 else 0.0
    return AnovaRow(
        source=source,
        degrees_of_freedom=dof[source],
        sum_of_squares=sums[source],
        mean_square=mean_square,
        f=f,
        p=chance,
    )


def variance_components(
    mean_squares: dict[str, FloatArray | np.float64], shape: tuple[int, int, int]
) -> dict[str, FloatArray | np.float64]:
    """Variances from mean squares, or from many draws of them.

    Parameters
    ----------
    mean_squares : dict of str to array, each of shape (...)
        Mean squares by source; without "part x appraiser" the interaction is pooled.
    shape : tuple of int
        Parts, appraisers and trials.

    Returns
    -------
    dict of str to array, each of shape (...)
        repeatability, interaction, appraiser, part; may be below 0.

    Notes
    -----
    Expected mean squares of the random two-way model with interaction.
    """
    p, o, r = shape
    error = mean_squares["repeatability"]
    below = mean_squares.get("part x appraiser", error)
    return {
        "repeatability": error,
        "interaction": (below - error) / r,
        "appraiser": (mean_squares["appraiser"] - below) / (p * r),
        "part": (mean_squares["part"] - below) / (o * r),
    }


def spreads_of(components: dict[str, float]) -> Spreads:
    """Standard deviations from variances; those below 0 count as 0.

    Parameters
    ----------
    components : dict of str to float
        Variance components, from `variance_components`.

    Returns
    -------
    Spreads
        In the unit of the readings.
    """
    at_least_0 = {name: max(value, 0.0) for name, value in components.items()}
    repeat = at_least_0["repeatability"]
    reproduce = at_least_0["interaction"] + at_least_0["appraiser"]
    part = at_least_0["part"]
    return Spreads(
        repeatability=math.sqrt(repeat),
        reproducibility=math.sqrt(reproduce),
        measurement=math.sqrt(repeat + reproduce),
        part=math.sqrt(part),
        total=math.sqrt(repeat + reproduce + part),
    )
