"""Acceptance of a lot by a measured figure: s method, form k."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from rig.analysis.acceptance.operating_curve import CURVE_POINTS, OperatingCurve
from rig.analysis.limits.verdict import Limits
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class VariablesPlan:
    """A plan of the s method.

    Attributes
    ----------
    sample : int
        Parts to measure.
    k : float
        Acceptability constant.
    aql_percent : float or None
        Per cent nonconforming; None for a plan of one's own.
    source : str
        Source of k.
    """

    sample: int
    k: float
    aql_percent: float | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VariablesDecision:
    """What is done with a lot.

    Attributes
    ----------
    accepted : bool
        Whether the lot is accepted.
    mean : float
        Mean of the sample.
    sd : float
        Standard deviation of the sample, divides by n - 1.
    lower_quality : float or None
        (mean - lower limit)/s; None without that limit.
    upper_quality : float or None
        (upper limit - mean)/s; None without that limit.
    estimated_share : float
        Nonconforming share of the lot, estimated.
    plan : VariablesPlan
        Plan that was used.
    sentence : str
        The decision in words.
    """

    accepted: bool
    mean: float
    sd: float
    lower_quality: float | None
    upper_quality: float | None
    estimated_share: float
    plan: VariablesPlan
    sentence: str


@cache
def _tables() -> dict[str, Any]:
    text = files("rig.analysis").joinpath("data/variables_plans.toml")
    return tomllib.loads(text.read_text("utf-8"))


def variables_plan(sample: int, *, aql_percent: float) -> VariablesPlan:
    """Look up the constant of the s method.

    Parameters
    ----------
    sample : int
        One of the sample sizes of the table.
    aql_percent : float
        One of those of the table.

    Returns
    -------
    VariablesPlan
        For normal inspection.

    Raises
    ------
    InputError
        If the sample size or the limit is not in the table.

    Notes
    -----
    MIL-STD-414, table B-1 (not opened; read in a public package, and a second one
    agrees within 0.01). ISO 3951-1 was not opened. The choice of the sample from the
    lot size is left to whoever inspects: code letters differ between the standards.
    """
    data = _tables()
    if str(sample) not in data["k"]:
        raise InputError(
            f"a sample of {sample} is not in the table of the s method",
            hint=f"one of {', '.join(data['k'])}",
        )
    if aql_percent not in data["aql_percent"]:
        known = ", ".join(f"{value:g}" for value in data["aql_percent"])
        raise InputError(
            f"an AQL of {aql_percent:g} % is not in the table of the s method",
            hint=f"one of {known} %",
        )
    row = data["k"][str(sample)]
    return VariablesPlan(
        sample=sample,
        k=float(row[data["aql_percent"].index(aql_percent)]),
        aql_percent=aql_percent,
        source=data["source"],
    )


def decide_lot_by_variables(
    values: Cells, limits: Limits, plan: VariablesPlan, *, lot: int
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

    Returns
    -------
    VariablesDecision
        With one limit by form k. With two, by the estimated share on both sides
        together against the largest share that k allows on one.

    Raises
    ------
    InputError
        If the sample is not the plan's, the lot is smaller than it, or all parts read
        alike.

    Notes
    -----
    MIL-STD-414, section B (from memory): accept if (limit - mean)/s >= k. Form k and
    form M agree through B_M = (1 - k sqrt n/(n - 1))/2 and the beta distribution with
    both parameters n/2 - 1. Holds for normal lots only: look at the normal plot.
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
    low = (mean - limits.lower) / sd
    high = (limits.upper - mean) / sd
    share = estimated_share(low, x.size) + estimated_share(high, x.size)
    two = math.isfinite(low) and math.isfinite(high)
    accepted = (
        share <= estimated_share(plan.k, x.size) if two else min(low, high) >= plan.k
    )
    return VariablesDecision(
        accepted=accepted,
        mean=mean,
        sd=sd,
        lower_quality=low if math.isfinite(low) else None,
        upper_quality=high if math.isfinite(high) else None,
        estimated_share=share,
        plan=plan,
        sentence=_sentence(accepted, min(low, high), share, plan, lot),
    )


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


def _sentence(
    accepted: bool, quality: float, share: float, plan: VariablesPlan, lot: int
) -> str:
    word = "accepted" if accepted else "not accepted"
    return (
        f"lot of {lot} {word}: quality {quality:.3f} against k {plan.k:.3f}, estimated"
        f" {100.0 * share:.2f} % nonconforming (s method, n = {plan.sample};"
        f" {plan.source})"
    )
