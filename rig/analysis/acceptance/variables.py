"""Acceptance of a lot by a measured figure: s method, form k."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from rig.analysis.acceptance.operating_curve import CURVE_POINTS, OperatingCurve
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.analysis.limits.verdict import GUARDED, Decision, Limits, Rule
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class VariablesDecision:
    """What is done with a lot.

    Attributes
    ----------
    verdict : Decision
        Conforms: the lot is acceptable with every limit drawn in by the guard band.
        Does not conform: it is not, even with every limit moved out by it. Undecided:
        the uncertainty leaves both open.
    accepted : bool
        Whether the lot is accepted: only if it conforms.
    mean : float
        Mean of the sample.
    sd : float
        Standard deviation of the sample, divides by n - 1; scatter of the measurement
        is in it.
    lower_quality : float or None
        (mean - lower limit)/s; None without that limit.
    upper_quality : float or None
        (upper limit - mean)/s; None without that limit.
    estimated_share : float
        Nonconforming share of the lot, estimated from the values as they are.
    guard : float
        Guard band, in the unit of the values; 0 by the simple rule.
    largest_share : float
        Estimated share with the limits drawn in by the guard band.
    smallest_share : float
        Estimated share with the limits moved out by the guard band.
    allowed_share : float
        Largest estimated share with which a lot is accepted.
    rule : str
        Name of the decision rule.
    plan : VariablesPlan
        Plan that was used.
    sentence : str
        The decision in words.
    """

    verdict: Decision
    accepted: bool
    mean: float
    sd: float
    lower_quality: float | None
    upper_quality: float | None
    estimated_share: float
    guard: float
    largest_share: float
    smallest_share: float
    allowed_share: float
    rule: str
    plan: VariablesPlan
    sentence: str


def decide_lot_by_variables(
    values: Cells,
    limits: Limits,
    plan: VariablesPlan,
    *,
    lot: int,
    expanded: Cells | None = None,
    rule: Rule = GUARDED,
) -> VariablesDecision:
    """Decide about a lot from the measured sample.

    Parameters
    ----------
    values : array_like, shape (n,)
        One a part, in the unit of the limits; n as the plan has it.
    limits : Limits
        One or two of them.
    plan : VariablesPlan
        Plan from `variables_plan`, or of one's own.
    lot : int
        Parts in the lot, at least n.
    expanded : array_like, shape (n,), or None
        Expanded uncertainty (95 %) of each value, in the same unit, 0 or more; None
        only by a rule without a guard band.
    rule : Rule
        Decision rule for the lot.

    Returns
    -------
    VariablesDecision
        With one limit by form k. With two, by the estimated share on both sides
        together against the largest share that k allows on one.

    Raises
    ------
    InputError
        If the sample is not the plan's, the lot is smaller than it, all parts read
        alike, or the rule needs uncertainties and there are none.

    Notes
    -----
    MIL-STD-414, section B (from memory): accept if (limit - mean)/s >= k. Form k and
    form M agree through B_M = (1 - k sqrt n/(n - 1))/2 and the beta distribution with
    both parameters n/2 - 1. Holds for normal lots only: look at the normal plot.

    The standards know no error common to the parts, and it does not average out: it
    moves every value and so the mean. The guard band is therefore the mean of the
    expanded uncertainties, by which the mean moves if all of each is common, and lies
    on both sides of each limit as JCGM 106:2012, 8.3, has it for one value. What is
    not common widens s and so makes acceptance harder by itself.
    """
    x = column("values of the sample", values, at_least=2)
    if x.size != plan.sample:
        raise InputError(
            f"{x.size} parts measured, the plan asks for {plan.sample}",
            hint="the s method needs the whole sample; it cannot stop early",
        )
    if lot < x.size:
        raise InputError(
            f"the lot of {lot} is smaller than the sample of {x.size}",
            hint="inspect the whole lot",
        )
    mean, sd = (float(moment) for moment in mean_and_sd(x))
    if sd == 0.0:
        raise InputError(
            "all parts of the sample read the same", hint="read with a finer step"
        )
    guard = rule.guard_factor * _mean_uncertainty(expanded, x.size, rule)
    as_they_are, drawn_in, moved_out = (
        _Judged.of(mean, sd, limits, plan, by=by) for by in (0.0, guard, -guard)
    )
    verdict = Decision.UNDECIDED
    if drawn_in.acceptable:
        verdict = Decision.CONFORMS
    elif not moved_out.acceptable:
        verdict = Decision.DOES_NOT_CONFORM
    low, high = as_they_are.qualities
    found = VariablesDecision(
        verdict=verdict,
        accepted=verdict is Decision.CONFORMS,
        mean=mean,
        sd=sd,
        lower_quality=low if math.isfinite(low) else None,
        upper_quality=high if math.isfinite(high) else None,
        estimated_share=as_they_are.share,
        guard=guard,
        largest_share=drawn_in.share,
        smallest_share=moved_out.share,
        allowed_share=estimated_share(plan.k, plan.sample),
        rule=rule.name,
        plan=plan,
        sentence="",
    )
    return replace(found, sentence=_sentence(found, limits.unit, lot))


def _mean_uncertainty(expanded: Cells | None, n: int, rule: Rule) -> float:
    if expanded is None:
        if rule.guard_factor > 0.0:
            raise InputError(
                "the values have no uncertainty, and the guarded rule needs it",
                hint="give the uncertainty of each, or agree on the simple rule",
            )
        return 0.0
    u = column("expanded uncertainties of the sample", expanded, at_least=2)
    if u.size != n:
        raise InputError(
            f"{u.size} uncertainties for {n} values", hint="give one for each"
        )
    if np.any(u < 0.0):
        raise InputError("an expanded uncertainty is below 0", hint="give its size")
    return float(np.mean(u))


@dataclass(frozen=True, slots=True)
class _Judged:
    """A sample against limits that were moved by a guard band."""

    qualities: tuple[float, float]
    share: float
    acceptable: bool

    @classmethod
    def of(
        cls, mean: float, sd: float, limits: Limits, plan: VariablesPlan, *, by: float
    ) -> _Judged:
        low = (mean - (limits.lower + by)) / sd
        high = ((limits.upper - by) - mean) / sd
        n = plan.sample
        share = min(1.0, estimated_share(low, n) + estimated_share(high, n))
        acceptable = min(low, high) >= plan.k
        if math.isfinite(low) and math.isfinite(high):
            acceptable = share <= estimated_share(plan.k, n)
        return cls((low, high), share, acceptable)


def estimated_share(quality: float, n: int) -> float:
    """Nonconforming share beyond one limit, estimated without bias.

    Parameters
    ----------
    quality : float
        (limit - mean)/s; inf gives 0.
    n : int
        Parts in the sample, at least 3.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    InputError
        If n is below 3.

    Notes
    -----
    Beta distribution with both parameters n/2 - 1 at (1 - Q sqrt n/(n - 1))/2, cut to
    0 to 1; MIL-STD-414 and ISO 3951-1 (from memory).
    """
    from scipy.special import betainc

    if n < 3:
        raise InputError(
            f"{n} parts are too few to estimate a share", hint="at least 3"
        )
    at = 0.5 * (1.0 - quality * math.sqrt(n) / (n - 1))
    return float(betainc(0.5 * n - 1.0, 0.5 * n - 1.0, min(1.0, max(0.0, at))))


def acceptance_by_variables(shares: Cells, plan: VariablesPlan) -> FloatArray:
    """Probability of acceptance with one limit.

    Parameters
    ----------
    shares : array_like, shape (k,)
        Nonconforming share of a normal process, between 0 and 1.
    plan : VariablesPlan
        Sample and constant.

    Returns
    -------
    ndarray, shape (k,)
        0 to 1.

    Raises
    ------
    InputError
        If a share is not between 0 and 1.

    Notes
    -----
    Noncentral t with n - 1 degrees of freedom and noncentrality z_{1-p} sqrt n, beyond
    k sqrt n.
    """
    from scipy.special import nctdtr, ndtri

    p = column("shares of nonconforming parts", shares)
    if np.any((p <= 0.0) | (p >= 1.0)):
        raise InputError("a share is not between 0 and 1", hint="5 % is 0.05")
    root = math.sqrt(plan.sample)
    return np.asarray(1.0 - nctdtr(plan.sample - 1, -ndtri(p) * root, plan.k * root))


def variables_curve(plan: VariablesPlan) -> OperatingCurve:
    """Work out the curve of a plan of the s method with one limit.

    Parameters
    ----------
    plan : VariablesPlan
        Sample and constant.

    Returns
    -------
    OperatingCurve
        From 0.01 % to where hardly a lot is accepted.
    """
    end = _share_accepted_with(0.001, plan)
    shares = np.linspace(1e-4, max(end, 2e-4), CURVE_POINTS)
    producer, indifferent, consumer = (
        _share_accepted_with(chance, plan) for chance in (0.95, 0.5, 0.1)
    )
    return OperatingCurve(
        shares=shares,
        acceptance=acceptance_by_variables(shares, plan),
        model="noncentral t",
        indifference_share=indifferent,
        producer_share=producer,
        consumer_share=consumer,
    )


def _share_accepted_with(chance: float, plan: VariablesPlan) -> float:
    """Share at which acceptance falls to `chance`, by bisection on its logarithm."""
    low, high = math.log(1e-12), math.log(0.999999)
    for _ in range(60):
        middle = 0.5 * (low + high)
        if float(acceptance_by_variables([math.exp(middle)], plan)[0]) > chance:
            low = middle
        else:
            high = middle
    return math.exp(0.5 * (low + high))


_WORDS = {
    Decision.CONFORMS: "accepted",
    Decision.DOES_NOT_CONFORM: "not accepted",
    Decision.UNDECIDED: "not decided",
}


def _sentence(found: VariablesDecision, unit: str, lot: int) -> str:
    plan = found.plan
    known = (found.lower_quality, found.upper_quality)
    quality = min(one for one in known if one is not None)
    shares = f"estimated {_percent(found.estimated_share)} nonconforming"
    if found.guard:
        shares += (
            f", from {_percent(found.smallest_share)} to"
            f" {_percent(found.largest_share)} within the mean U of"
            f" {found.guard:.3g} {unit}"
        )
    return (
        f"lot of {lot} {_WORDS[found.verdict]}: quality {quality:.3f} against k"
        f" {plan.k:.3f}, {shares}; at most {_percent(found.allowed_share)} allowed"
        f" (s method, {plan.severity.value}, n = {plan.sample}; {plan.source})"
    )


def _percent(share: float) -> str:
    return f"{100.0 * share:.2f} %"
