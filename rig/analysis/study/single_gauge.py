"""Single-gauge study: one reference part read again and again by one appraiser."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column, probability
from rig.analysis.numbers.intervals import Interval, sd_interval
from rig.analysis.numbers.readout import spread_in_steps
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.analysis.study.study_results import DRAWS, DRAWS_SEED
from rig.analysis.study.tolerance_share import checked_tolerance
from rig.errors import InputError

SHARE = 0.2  # of the tolerance, that the spread of the gauge may take up
ENOUGH_READINGS = 25
FINE_ENOUGH_PERCENT = 5.0  # step of the readout over the tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleGauge:
    """Repeatability and bias of one gauge on one part, and its capability.

    Attributes
    ----------
    n : int
        Number of readings.
    mean : float
        Mean of the readings, in their unit.
    sd : float
        Standard deviation of a reading (repeatability).
    sd_interval : Interval
        Interval of it; wider where the step of the readings hides it.
    reference : float
        Reference value of the part.
    bias : float
        Mean less reference.
    bias_interval : Interval
        Interval of the bias; the uncertainty of the reference is not in it.
    p : float
        Probability of such a bias or a larger one if there is none.
    tolerance : float
        Upper minus lower limit.
    cg : float
        Cg: a fifth of the tolerance over six standard deviations.
    cg_interval : Interval
        Interval of it.
    cgk : float
        Cgk: a tenth of the tolerance less the bias, over three standard deviations.
    cgk_interval : Interval
        Interval of it.
    step : float
        Step of the readings, 0 if they have none.
    step_percent : float
        Step over the tolerance, %.
    """

    n: int
    mean: float
    sd: float
    sd_interval: Interval
    reference: float
    bias: float
    bias_interval: Interval
    p: float
    tolerance: float
    cg: float
    cg_interval: Interval
    cgk: float
    cgk_interval: Interval
    step: float
    step_percent: float

    @property
    def tenth(self) -> float:
        """A tenth of the tolerance, in the unit of the readings."""
        return 0.5 * SHARE * self.tolerance


def single_gauge(
    readings: Cells,
    *,
    reference: float,
    tolerance: float,
    confidence: float = 0.95,
    step: float = 0.0,
) -> SingleGauge:
    """Work out a single-gauge study.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Readings of one part, n at least 2, better 50; any unit.
    reference : float
        Reference value of the part, same unit.
    tolerance : float
        Upper minus lower limit, same unit.
    confidence : float
        Confidence of the intervals, 0 to 1.
    step : float
        Step of the readings, 0 if there is none.

    Returns
    -------
    SingleGauge
        In the unit of the readings.

    Raises
    ------
    InputError
        If there are fewer than 2 readings, they are all alike, or the tolerance or the
        reference is none.

    Notes
    -----
    ISO 22514-7 has the study; Cg = 0.2 T / (6 s) and Cgk = (0.1 T - |bias|) / (3 s)
    are common practice, no source. Interval of Cg by chi-squared, of the bias by
    Student's t, of Cgk a generalised one: bias and spread are drawn together.
    """
    probability("the confidence", confidence)
    x = column("the study", readings, at_least=2)
    width = checked_tolerance(tolerance)
    if not math.isfinite(reference):
        raise InputError(f"the reference is {reference:g}", hint="give its value")
    off, scatter = (float(v) for v in mean_and_sd(x - reference))
    if not scatter > 0.0:
        raise InputError(
            "all readings are alike, so repeatability is hidden by the resolution",
            hint="read with a finer step",
        )
    spread = sd_interval(scatter, x.size - 1, confidence)
    spread = spread_in_steps(spread, scatter, step)
    half, chance = _by_student(off, scatter, x.size, confidence)

    def over(sd: float) -> float:
        return SHARE * width / (6.0 * sd) if sd > 0.0 else math.inf

    return SingleGauge(
        n=x.size,
        mean=reference + off,
        sd=scatter,
        sd_interval=spread,
        reference=reference,
        bias=off,
        bias_interval=Interval(
            lower=off - half, upper=off + half, confidence=confidence
        ),
        p=chance,
        tolerance=width,
        cg=over(scatter),
        cg_interval=Interval(
            lower=over(spread.upper), upper=over(spread.lower), confidence=confidence
        ),
        cgk=(0.5 * SHARE * width - abs(off)) / (3.0 * scatter),
        cgk_interval=_cgk_interval(off, scatter, x.size, width, confidence),
        step=step,
        step_percent=100.0 * step / width,
    )


def _by_student(
    mean: float, sd: float, n: int, confidence: float
) -> tuple[float, float]:
    """Return half the width of the interval of a mean, and the chance of it at 0."""
    from scipy.special import stdtr, stdtrit

    error = sd / math.sqrt(n)
    half = float(stdtrit(n - 1, 0.5 + 0.5 * confidence)) * error
    return half, 2.0 * float(stdtr(n - 1, -abs(mean) / error))


def _cgk_interval(
    bias: float, sd: float, n: int, width: float, confidence: float
) -> Interval:
    rng = np.random.default_rng(DRAWS_SEED)
    sds = sd * np.sqrt((n - 1) / rng.chisquare(n - 1, DRAWS))
    off = abs(bias) - rng.standard_normal(DRAWS) * sds / math.sqrt(n)

    def drawn(size: FloatArray) -> FloatArray:
        return (0.5 * SHARE * width - size) / (3.0 * sds)

    # The size of a bias within its own scatter comes out too large, which would take
    # the upper end below a gauge that has none: there, a change of sign counts as 0
    tail = 0.5 * (1.0 - confidence)
    return Interval(
        lower=float(np.quantile(drawn(np.abs(off)), tail)),
        upper=float(np.quantile(drawn(np.maximum(off, 0.0)), 1.0 - tail)),
        confidence=confidence,
    )
