"""Operating characteristic of plans by attributes, of one sample or several."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from rig.analysis.acceptance.attributes import Stage
from rig.analysis.acceptance.operating_curve import (
    CURVE_POINTS,
    OperatingCurve,
    acceptance_binomial,
    acceptance_hypergeometric,
    chance_of_finding,
    share_accepted_with,
)
from rig.analysis.acceptance.plan_checks import (
    check_lot,
    checked_bad_parts,
    checked_shares,
)
from rig.analysis.numbers.gaps import FloatArray

_LIMIT_POINTS = 2001
_HALVINGS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class StageChances:
    """What becomes of lots, sample after sample.

    Attributes
    ----------
    accepted : ndarray of float
        Probability that the lot is accepted after each sample, shape (stages, k).
    going_on : ndarray of float
        Probability that another sample follows each one, shape (stages, k).
    """

    accepted: FloatArray
    going_on: FloatArray

    @property
    def acceptance(self) -> FloatArray:
        """Probability of acceptance, shape (k,)."""
        total: FloatArray = np.minimum(self.accepted.sum(axis=0), 1.0)
        return total


def chances_of_process(shares: npt.ArrayLike, stages: Sequence[Stage]) -> StageChances:
    """Work out what becomes of lots from a process.

    Parameters
    ----------
    shares : array_like, shape (k,)
        Nonconforming share of the process, 0 to 1.
    stages : sequence of Stage
        Samples with their numbers.

    Returns
    -------
    StageChances
        Binomial.

    Raises
    ------
    InputError
        If a share is not 0 to 1.
    """
    from scipy.special import gammaln, xlog1py, xlogy

    p = checked_shares(shares)

    def chance(found: int, sample: int, before: int, drawn: int) -> FloatArray:
        log = gammaln(sample + 1.0) - gammaln(found + 1.0)
        log -= gammaln(sample - found + 1.0)
        terms = log + xlogy(found, p) + xlog1py(sample - found, -p)
        return np.asarray(np.exp(terms))

    return _stage_after_stage(stages, p.shape, chance)


def chances_of_lot(
    nonconforming: npt.ArrayLike, stages: Sequence[Stage], *, lot: int
) -> StageChances:
    """Work out what becomes of one lot with a known number of bad parts.

    Parameters
    ----------
    nonconforming : array_like of int, shape (k,)
        Bad parts in the lot, 0 to `lot`.
    stages : sequence of Stage
        Samples with their numbers.
    lot : int
        Parts in the lot.

    Returns
    -------
    StageChances
        Hypergeometric; a later sample is taken from what the earlier one left.

    Raises
    ------
    InputError
        If the lot is smaller than all samples together, or bad parts are not whole
        numbers from 0 to `lot`.
    """
    check_lot(lot, stages[-1].sample)
    bad = checked_bad_parts(nonconforming, lot)

    def chance(found: int, sample: int, before: int, drawn: int) -> FloatArray:
        return chance_of_finding(found, bad - before, lot - drawn, sample)

    return _stage_after_stage(stages, bad.shape, chance)


def _stage_after_stage(
    stages: Sequence[Stage],
    shape: tuple[int, ...],
    chance: Callable[[int, int, int, int], FloatArray],
) -> StageChances:
    """Go through the samples, with the chances of each count that goes on.

    `chance` takes the number found in a sample, the sample, the number found before it
    and the parts drawn before it.
    """
    accepted, going_on = [], []
    counts = {0: np.ones(shape)}  # those that go on, by the number found so far
    drawn = 0
    for stage in stages:
        sample = stage.sample - drawn
        takes = np.zeros(shape)
        more: dict[int, FloatArray] = {}
        for before, weight in counts.items():
            for total in range(before, min(stage.reject, before + sample + 1)):
                found = weight * chance(total - before, sample, before, drawn)
                if total <= stage.accept:
                    takes = takes + found
                else:
                    more[total] = more.get(total, np.zeros(shape)) + found
        accepted.append(takes)
        going_on.append(sum(more.values(), start=np.zeros(shape)))
        counts, drawn = more, stage.sample
    return StageChances(accepted=np.array(accepted), going_on=np.array(going_on))


def average_sample(shares: npt.ArrayLike, stages: Sequence[Stage]) -> FloatArray:
    """Average number of parts inspected, each sample whole.

    Parameters
    ----------
    shares : array_like, shape (k,)
        Nonconforming share of the process, 0 to 1.
    stages : sequence of Stage
        Samples with their numbers.

    Returns
    -------
    ndarray, shape (k,)
        Parts.

    Raises
    ------
    InputError
        If a share is not 0 to 1.

    Notes
    -----
    NIST/SEMATECH e-Handbook, 6.2.4 (average sample number; from memory).
    """
    found = chances_of_process(shares, stages)
    more = [late.sample - early.sample for early, late in pairwise(stages)]
    parts = np.full(found.going_on.shape[1], float(stages[0].sample))
    for sample, chance in zip(more, found.going_on, strict=False):
        parts += sample * chance
    return parts


def acceptance_of_process(shares: npt.ArrayLike, stages: Sequence[Stage]) -> FloatArray:
    """Probability of acceptance of lots from a process.

    Parameters
    ----------
    shares : array_like, shape (k,)
        Nonconforming share of the process, 0 to 1.
    stages : sequence of Stage
        Samples with their numbers.

    Returns
    -------
    ndarray, shape (k,)
        0 to 1, binomial.

    Raises
    ------
    InputError
        If a share is not 0 to 1.
    """
    if len(stages) == 1:
        return acceptance_binomial(shares, stages[0].sample, stages[0].accept)
    return chances_of_process(shares, stages).acceptance


def quality_accepted_with(chance: float, stages: Sequence[Stage]) -> float:
    """Quality that a plan accepts with a given probability.

    Parameters
    ----------
    chance : float
        Probability of acceptance, 0 to 1.
    stages : sequence of Stage
        Samples with their numbers.

    Returns
    -------
    float
        Nonconforming share, binomial.

    Raises
    ------
    InputError
        If the plan is not possible.
    """
    if len(stages) == 1:
        return share_accepted_with(chance, stages[0].sample, stages[0].accept)
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if float(acceptance_of_process([middle], stages)[0]) > chance:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def operating_curve(
    stages: Sequence[Stage], *, lot: int | None = None
) -> OperatingCurve:
    """Work out the curve of a plan by attributes.

    Parameters
    ----------
    stages : sequence of Stage
        Samples with their numbers.
    lot : int or None
        Parts in the lot: then the curve is for that lot; otherwise for the process.

    Returns
    -------
    OperatingCurve
        Up to where hardly a lot is accepted. The three named shares are binomial.

    Raises
    ------
    InputError
        If the lot is smaller than all samples together or the plan is not possible.
    """
    end = quality_accepted_with(0.001, stages)
    producer, indifferent, consumer = (
        quality_accepted_with(chance, stages) for chance in (0.95, 0.5, 0.1)
    )
    if lot is None:
        shares = np.linspace(0.0, end, CURVE_POINTS)
        acceptance = acceptance_of_process(shares, stages)
    else:
        worst = min(lot, math.ceil(end * lot))
        bad = np.unique(np.rint(np.linspace(0, worst, CURVE_POINTS)))
        shares = bad / lot
        acceptance = _acceptance_of_lot(bad, stages, lot)
    return OperatingCurve(
        shares=shares,
        acceptance=acceptance,
        model="binomial" if lot is None else "hypergeometric",
        indifference_share=indifferent,
        producer_share=producer,
        consumer_share=consumer,
    )


def _acceptance_of_lot(
    bad: FloatArray, stages: Sequence[Stage], lot: int
) -> FloatArray:
    if len(stages) == 1:
        return acceptance_hypergeometric(bad, lot, stages[0].sample, stages[0].accept)
    return chances_of_lot(bad, stages, lot=lot).acceptance


def average_outgoing_share(
    shares: npt.ArrayLike, stages: Sequence[Stage], *, lot: int
) -> FloatArray:
    """Share that goes out on average if lots not accepted are sorted.

    Parameters
    ----------
    shares : array_like, shape (k,)
        Nonconforming share of the process, 0 to 1.
    stages : sequence of Stage
        Samples with their numbers.
    lot : int
        Parts in the lot, at least all samples together.

    Returns
    -------
    ndarray, shape (k,)
        0 to 1.

    Raises
    ------
    InputError
        If the lot is smaller than all samples together or a share is not 0 to 1.

    Notes
    -----
    Sum over the samples of p Pa (N - n)/N, n parts inspected by then;
    NIST/SEMATECH e-Handbook, 6.2.3.2 and 6.2.4 (from memory).
    """
    check_lot(lot, stages[-1].sample)
    found = chances_of_process(shares, stages)
    left = np.array([(lot - stage.sample) / lot for stage in stages])
    p = checked_shares(shares)
    outgoing: FloatArray = p * (found.accepted * left[:, None]).sum(axis=0)
    return outgoing


def average_outgoing_limit(stages: Sequence[Stage], *, lot: int) -> tuple[float, float]:
    """Largest share that goes out on average if lots not accepted are sorted.

    Parameters
    ----------
    stages : sequence of Stage
        Samples with their numbers.
    lot : int
        Parts in the lot, at least all samples together.

    Returns
    -------
    at_share : float
        Incoming share at which the outgoing one is largest, 0 to 1.
    limit_share : float
        Average outgoing quality limit (AOQL), 0 to 1.

    Raises
    ------
    InputError
        If the lot is smaller than all samples together.

    Notes
    -----
    Largest value of `average_outgoing_share`, which has one peak: by a grid, and by a
    second one around the peak of the first. NIST/SEMATECH e-Handbook, 6.2.3.2.
    """
    low, high = 0.0, 1.0
    for _ in range(2):
        shares = np.linspace(low, high, _LIMIT_POINTS)
        outgoing = average_outgoing_share(shares, stages, lot=lot)
        peak = int(np.argmax(outgoing))
        low = float(shares[max(0, peak - 1)])
        high = float(shares[min(shares.size - 1, peak + 1)])
    return float(shares[peak]), float(outgoing[peak])
