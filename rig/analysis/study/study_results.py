"""Around the crossed study: confidence intervals, average and range, plots' data."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from rig.analysis.batch.control_constants import (
    associated_d2,
    chart_constants,
    range_moments,
)
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, probability
from rig.analysis.numbers.intervals import Interval
from rig.analysis.study.measurement_system import (
    CATEGORIES_FACTOR,
    CrossedStudy,
    Spreads,
    study_block,
    variance_components,
)

MANY_RANGES = 15  # above it d2 serves in place of d2*; AIAG, from memory
DRAWS = 20_000
DRAWS_SEED = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyIntervals:
    """Two-sided intervals of what a crossed study gives.

    Attributes
    ----------
    repeatability : Interval
        Interval of the repeatability, in the unit of the readings.
    reproducibility : Interval
        Interval of the reproducibility, in the unit of the readings.
    measurement : Interval
        Interval of the measurement (GRR), in the unit of the readings.
    part : Interval
        Interval of the part-to-part deviation, in the unit of the readings.
    total : Interval
        Interval of the total deviation, in the unit of the readings.
    measurement_percent : Interval
        Measurement over total, %.
    categories : Interval
        Distinct categories, not cut to whole numbers.
    method : str
        How they were found.
    """

    repeatability: Interval
    reproducibility: Interval
    measurement: Interval
    part: Interval
    total: Interval
    measurement_percent: Interval
    categories: Interval
    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AverageRange:
    """The average-and-range method.

    Attributes
    ----------
    mean_ranges : ndarray of float
        Mean range of each appraiser, shape (o,).
    mean_range : float
        Mean range of all appraisers.
    appraiser_means : ndarray of float
        Shape (o,).
    appraiser_difference : float
        Largest less smallest of them.
    part_means : ndarray of float
        Shape (p,).
    part_range : float
        Largest less smallest of them.
    spreads : Spreads
        Standard deviations by this method.
    method : str
        Name of the method, and that it leaves out the interaction.
    """

    mean_ranges: FloatArray
    mean_range: float
    appraiser_means: FloatArray
    appraiser_difference: float
    part_means: FloatArray
    part_range: float
    spreads: Spreads
    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyPlots:
    """Data of the plots of a study.

    Attributes
    ----------
    cell_means : ndarray of float
        Means of each part by each appraiser, shape (p, o): interaction plot, and the
        chart of means.
    cell_ranges : ndarray of float
        Shape (p, o): chart of ranges.
    mean_centre : float
        Centre line of the chart of means.
    mean_limits : tuple[float, float]
        Lower and upper limit of the chart of means; parts should lie outside.
    range_centre : float
        Centre line of the chart of ranges.
    range_limits : tuple[float, float]
        Lower and upper limit of the chart of ranges; cells should lie inside.
    by_part : ndarray of float
        All readings of each part, shape (p, o r).
    by_appraiser : ndarray of float
        All readings of each appraiser, shape (o, p r).
    shares : dict[str, float]
        Per cent of total standard deviation, by what.
    contributions : dict[str, float]
        Per cent of total variance, by what.
    """

    cell_means: FloatArray
    cell_ranges: FloatArray
    mean_centre: float
    mean_limits: tuple[float, float]
    range_centre: float
    range_limits: tuple[float, float]
    by_part: FloatArray
    by_appraiser: FloatArray
    shares: dict[str, float]
    contributions: dict[str, float]


def study_intervals(
    study: CrossedStudy,
    confidence: float = 0.95,
    *,
    draws: int = DRAWS,
    step: float = 0.0,
) -> StudyIntervals:
    """Confidence intervals of a crossed study.

    Parameters
    ----------
    study : CrossedStudy
        Study from `crossed_study`.
    confidence : float
        0 to 1.
    draws : int
        How many draws the quantiles are taken from.
    step : float
        Step of the readings in their unit; 0 if there is none.

    Returns
    -------
    StudyIntervals
        The same for the same study: the draws have a fixed seed.

    Notes
    -----
    Generalised confidence intervals (Hamada and Weerahandi 2000; Burdick, Borror and
    Montgomery 2005, from memory): each mean square is replaced by its sum of squares
    over a chi-squared draw, the variances are formed from these, and the quantiles
    taken. For repeatability it is the exact chi-squared interval up to the draws. After
    pooling the intervals hold given that there is no interaction. Readings in steps
    wider than the repeatability: see `spread_in_steps`.
    """
    probability("the confidence", confidence)
    rng = np.random.default_rng(DRAWS_SEED)
    mean_squares: dict[str, FloatArray | np.float64] = {
        row.source: row.sum_of_squares / rng.chisquare(row.degrees_of_freedom, draws)
        for row in study.rows
        if row.source != "total"
    }
    drawn = variance_components(mean_squares, study.shape)
    coarse = study.spreads.repeatability < step
    return intervals_of_draws(drawn, confidence, hidden_step=step if coarse else 0.0)


def intervals_of_draws(
    drawn: Mapping[str, FloatArray | np.float64],
    confidence: float,
    *,
    hidden_step: float,
) -> StudyIntervals:
    """Take the intervals of a study from draws of its variances.

    Parameters
    ----------
    drawn : mapping of str to ndarray, each of shape (draws,)
        repeatability, interaction, appraiser and part; what is below 0 counts as 0.
    confidence : float
        0 to 1.
    hidden_step : float
        Step of the readings in their unit if it hides the repeatability; else 0.

    Returns
    -------
    StudyIntervals
        In the unit of the readings.
    """
    parts = {name: np.maximum(value, 0.0) for name, value in drawn.items()}
    reproducibility = parts["interaction"] + parts["appraiser"]
    measurement = parts["repeatability"] + reproducibility
    total = measurement + parts["part"]
    hidden = hidden_step * hidden_step / 12.0

    def interval(
        squares: FloatArray, scale: float = 1.0, *, over: FloatArray | float = 1.0
    ) -> Interval:
        tail = 0.5 * (1.0 - confidence)
        less = np.maximum(squares - hidden, 0.0) if hidden else squares
        low = np.quantile(less / over, tail)
        high = np.quantile((squares + hidden) / over, 1.0 - tail)
        return Interval(
            lower=scale * math.sqrt(low),
            upper=scale * math.sqrt(high),
            confidence=confidence,
        )

    return StudyIntervals(
        repeatability=interval(np.asarray(parts["repeatability"])),
        reproducibility=interval(np.asarray(reproducibility)),
        measurement=interval(np.asarray(measurement)),
        part=interval(np.asarray(parts["part"])),
        total=interval(np.asarray(total)),
        measurement_percent=interval(
            np.asarray(measurement), 100.0, over=np.asarray(total)
        ),
        categories=interval(
            np.asarray(parts["part"]), CATEGORIES_FACTOR, over=np.asarray(measurement)
        ),
        method=f"generalised confidence intervals, {measurement.size} draws"
        + (
            f"; widened, for readings in steps of {hidden_step:g} hide the"
            " repeatability"
            if hidden
            else ""
        ),
    )


def average_and_range(readings: Cells) -> AverageRange:
    """Analyse a study from averages and ranges.

    Parameters
    ----------
    readings : array_like, shape (p, o, r)
        p parts, o appraisers, r trials, each at least 2, any unit.

    Returns
    -------
    AverageRange
        In the unit of the readings.

    Raises
    ------
    InputError
        If a cell is missing, the study is not balanced or too small, or nothing
        scatters within the cells.

    Notes
    -----
    AIAG, Measurement Systems Analysis, 4th ed. (not opened; from memory), with the
    factors K1 to K3 as 1/d2 or 1/d2* by integration. It cannot see an interaction of
    parts and appraisers and gives other figures than the analysis of variance does.
    """
    x = study_block(readings)
    p, o, r = x.shape
    ranges = np.ptp(x, axis=2)
    mean_range = float(ranges.mean())
    of_range = range_moments(r)[0] if p * o > MANY_RANGES else associated_d2(r, p * o)
    repeat = mean_range / of_range
    appraisers = x.mean(axis=(0, 2))
    parts = x.mean(axis=(1, 2))
    between = float(np.ptp(appraisers)) / associated_d2(o, 1)
    reproduce = math.sqrt(max(between**2 - repeat**2 / (p * r), 0.0))
    measurement = math.hypot(repeat, reproduce)
    part = float(np.ptp(parts)) / associated_d2(p, 1)
    return AverageRange(
        mean_ranges=ranges.mean(axis=0),
        mean_range=mean_range,
        appraiser_means=appraisers,
        appraiser_difference=float(np.ptp(appraisers)),
        part_means=parts,
        part_range=float(np.ptp(parts)),
        spreads=Spreads(
            repeatability=repeat,
            reproducibility=reproduce,
            measurement=measurement,
            part=part,
            total=math.hypot(measurement, part),
        ),
        method="average and range; an interaction is not seen",
    )


def study_plots(readings: Cells, spreads: Spreads) -> StudyPlots:
    """Collect the data of a study's plots.

    Parameters
    ----------
    readings : array_like, shape (p, o, r)
        Readings, as for `crossed_study`.
    spreads : Spreads
        Standard deviations by the method that is shown.

    Returns
    -------
    StudyPlots
        In the unit of the readings.

    Raises
    ------
    InputError
        If a cell is missing, or the study is not balanced or too small.
    """
    x = study_block(readings)
    p, o, r = x.shape
    ranges = np.ptp(x, axis=2)
    centre, mean_range = float(x.mean()), float(ranges.mean())
    constants = chart_constants(r)
    sds = {
        "measurement": spreads.measurement,
        "repeatability": spreads.repeatability,
        "reproducibility": spreads.reproducibility,
        "part": spreads.part,
    }
    shares = {name: spreads.share_of_total(sd) for name, sd in sds.items()}
    return StudyPlots(
        cell_means=x.mean(axis=2),
        cell_ranges=ranges,
        mean_centre=centre,
        mean_limits=(
            centre - constants.a2 * mean_range,
            centre + constants.a2 * mean_range,
        ),
        range_centre=mean_range,
        range_limits=(
            constants.d3_lower * mean_range,
            constants.d4_upper * mean_range,
        ),
        by_part=x.reshape(p, o * r),
        by_appraiser=x.transpose(1, 0, 2).reshape(o, p * r),
        shares=shares,
        contributions={name: share * share / 100.0 for name, share in shares.items()},
    )
