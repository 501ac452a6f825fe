"""How likely lots are accepted as they are really inspected, by simulation.

Parts are measured with uncertainty, part of it common to all; a guard band leaves some
undecided; some are measured again. None of this is in the curve of a plan.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.acceptance.attributes import Stage
from rig.analysis.acceptance.plan_checks import check_lot, checked_shares
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.analysis.limits.verdict import GUARDED, Rule
from rig.analysis.numbers.gaps import FloatArray
from rig.errors import InputError

SEED = 2859
# Readings drawn for one share; few lots of large samples, many of small ones
_READINGS = 250_000
_FEWEST_LOTS = 500
_MOST_LOTS = 10_000

BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class RealInspection:
    """How parts are measured and judged.

    Attributes
    ----------
    relative_uncertainty : float
        Expanded uncertainty (95 %) of a part's figure over the way from the mean of the
        process to its limit at acceptable quality; 0 for none.
    common_share : float
        Share of the variance of the error that all parts of a lot have in common, 0 to
        1.
    rule : Rule
        Decision rule for a part, or by variables for the lot.
    undecided_again : int
        How often a part that is undecided is measured again, at most; its last reading
        counts.
    failing_again : int
        How often a part that does not conform is measured again, at most.
    """

    relative_uncertainty: float
    common_share: float
    rule: Rule = GUARDED
    undecided_again: int = 0
    failing_again: int = 0

    def __post_init__(self) -> None:
        if not self.relative_uncertainty >= 0.0:
            raise InputError(
                f"a relative uncertainty of {self.relative_uncertainty:g} is below 0",
                hint="a quarter of the way to the limit is 0.25",
            )
        if not 0.0 <= self.common_share <= 1.0:
            raise InputError(
                f"a common share of {self.common_share:g} is not from 0 to 1",
                hint="four fifths of the variance are 0.8",
            )
        if self.undecided_again < 0 or self.failing_again < 0:
            raise InputError(
                "a part cannot be measured again less than 0 times",
                hint="0 takes its first reading",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedAcceptance:
    """Acceptance as counted over drawn lots.

    Attributes
    ----------
    shares : ndarray of float
        Nonconforming share, 0 to 1, shape (k,).
    accepted : ndarray of float
        Share of the lots that is accepted, whatever is undecided counting against the
        lot, shape (k,).
    left_open : ndarray of float
        Share of the lots for which it is decisive how the undecided count, shape (k,).
    counting_error : ndarray of float
        Standard error of `accepted` from the number of lots, shape (k,).
    lots : int
        Lots drawn for each share.
    seed : int
        Seed of the random numbers.
    """

    shares: FloatArray
    accepted: FloatArray
    left_open: FloatArray
    counting_error: FloatArray
    lots: int
    seed: int


def simulate_attributes(
    shares: npt.ArrayLike,
    stages: Sequence[Stage],
    inspection: RealInspection,
    *,
    acceptable_share: float,
    lot: int | None = None,
) -> SimulatedAcceptance:
    """Count how often drawn lots are accepted by attributes.

    Parameters
    ----------
    shares : array_like, shape (k,)
        Nonconforming share of the lot, or of the process without one, 0 to 1.
    stages : sequence of Stage
        Samples with their acceptance and rejection numbers.
    inspection : RealInspection
        How parts are measured and judged.
    acceptable_share : float
        Nonconforming share at acceptable quality, between 0 and 0.5: it makes the way
        to the limit that `relative_uncertainty` is a share of.
    lot : int or None
        Parts in the lot; the share is taken to whole parts. None for a process.

    Returns
    -------
    SimulatedAcceptance
        The same for the same input.

    Raises
    ------
    InputError
        If a share is not possible or the lot is smaller than the sample.

    Notes
    -----
    Figures of parts are normal, with one limit. An error is normal with the standard
    uncertainty U/2, in two independent portions: one drawn for each lot, one for each
    reading.
    """
    p = checked_shares(shares)
    most = stages[-1].sample
    if lot is not None:
        check_lot(lot, most)
    lots = _number_of_lots(most)
    width = _expanded(inspection, acceptable_share)
    results = []
    for k, share in enumerate(p):
        rng = np.random.default_rng([SEED, k])
        parts, limit = _drawn_parts(rng, float(share), lots, most, lot)
        failing, undecided = _judged(rng, parts, limit, width, inspection)
        surely = _accepted(failing | undecided, stages)
        perhaps = _accepted(failing, stages)
        results.append((surely.mean(), (perhaps & ~surely).mean()))
    return _counted(p, results, lots)


def simulate_variables(
    shares: npt.ArrayLike,
    plan: VariablesPlan,
    inspection: RealInspection,
    *,
    acceptable_share: float,
) -> SimulatedAcceptance:
    """Count how often drawn lots are accepted by variables, with one limit.

    Parameters
    ----------
    shares : array_like, shape (k,)
        Nonconforming share of the process, between 0 and 1.
    plan : VariablesPlan
        Sample and constant.
    inspection : RealInspection
        How parts are measured and the lot judged; no part is measured again.
    acceptable_share : float
        Nonconforming share at acceptable quality, as for `simulate_attributes`.

    Returns
    -------
    SimulatedAcceptance
        The same for the same input.

    Raises
    ------
    InputError
        If a share is not possible.

    Notes
    -----
    As `variables.decide_lot_by_variables` decides: form k, with the limit moved by the
    guard band.
    """
    p = checked_shares(shares)
    if np.any((p <= 0.0) | (p >= 1.0)):
        raise InputError("a share is not between 0 and 1", hint="5 % is 0.05")
    lots = _number_of_lots(plan.sample)
    width = _expanded(inspection, acceptable_share)
    guard = inspection.rule.guard_factor * width
    results = []
    for k, share in enumerate(p):
        rng = np.random.default_rng([SEED, k])
        parts, limit = _drawn_parts(rng, float(share), lots, plan.sample, None)
        values = parts + _common(rng, lots, width, inspection)
        values += _own(rng, values.shape, width, inspection)
        mean, sd = values.mean(axis=1), values.std(axis=1, ddof=1)
        surely = (limit - guard - mean) / sd >= plan.k
        perhaps = (limit + guard - mean) / sd >= plan.k
        results.append((surely.mean(), (perhaps & ~surely).mean()))
    return _counted(p, results, lots)


def _number_of_lots(sample: int) -> int:
    return min(_MOST_LOTS, max(_FEWEST_LOTS, _READINGS // sample))


def _expanded(inspection: RealInspection, acceptable_share: float) -> float:
    """Expanded uncertainty in standard deviations of the process."""
    from scipy.special import ndtri

    if not 0.0 < acceptable_share < 0.5:
        raise InputError(
            f"an acceptable share of {acceptable_share:g} is not between 0 and 0.5",
            hint="1 % is 0.01",
        )
    return inspection.relative_uncertainty * -float(ndtri(acceptable_share))


def _drawn_parts(
    rng: np.random.Generator, share: float, lots: int, sample: int, lot: int | None
) -> tuple[FloatArray, float]:
    """Draw true figures, shape (lots, sample), and give their upper limit."""
    from scipy.special import ndtri

    if lot is None:
        bad = rng.random((lots, sample)) < share
    else:
        in_lot = round(share * lot)
        share = in_lot / lot
        found = rng.hypergeometric(in_lot, lot - in_lot, sample, size=lots)
        bad = np.arange(sample) < found[:, None]
        bad = rng.permuted(bad, axis=1)
    # Largest figures of the process are the nonconforming ones
    place = rng.random((lots, sample))
    tail = np.where(bad, place * share, share + place * (1.0 - share))
    return -ndtri(np.maximum(tail, 1e-300)), -float(ndtri(share))


def _common(
    rng: np.random.Generator, lots: int, width: float, inspection: RealInspection
) -> FloatArray:
    sd = 0.5 * width * math.sqrt(inspection.common_share)
    return rng.normal(0.0, 1.0, (lots, 1)) * sd


def _own(
    rng: np.random.Generator,
    shape: tuple[int, ...],
    width: float,
    inspection: RealInspection,
) -> FloatArray:
    sd = 0.5 * width * math.sqrt(1.0 - inspection.common_share)
    return rng.normal(0.0, 1.0, shape) * sd


def _judged(
    rng: np.random.Generator,
    parts: FloatArray,
    limit: float,
    width: float,
    inspection: RealInspection,
) -> tuple[BoolArray, BoolArray]:
    """Judge each part by its last reading: which fail, and which stay undecided."""
    guard = inspection.rule.guard_factor * width
    beyond = parts + _common(rng, len(parts), width, inspection) - limit
    reading = beyond + _own(rng, parts.shape, width, inspection)
    for again in range(max(inspection.undecided_again, inspection.failing_again)):
        failing, undecided = _verdicts(reading, guard)
        once_more = np.zeros_like(failing)
        if again < inspection.undecided_again:
            once_more |= undecided
        if again < inspection.failing_again:
            once_more |= failing
        fresh = _own(rng, (int(once_more.sum()),), width, inspection)
        reading[once_more] = beyond[once_more] + fresh
    return _verdicts(reading, guard)


def _verdicts(reading: FloatArray, guard: float) -> tuple[BoolArray, BoolArray]:
    failing = reading > guard
    return failing, (reading > -guard) & ~failing


def _accepted(against: BoolArray, stages: Sequence[Stage]) -> BoolArray:
    """Tell which lots are accepted, stage after stage."""
    accepted = np.zeros(len(against), dtype=bool)
    going_on = np.ones(len(against), dtype=bool)
    for stage in stages:
        found = against[:, : stage.sample].sum(axis=1)
        accepted |= going_on & (found <= stage.accept)
        going_on &= (found > stage.accept) & (found < stage.reject)
    return accepted


def _counted(
    shares: FloatArray, results: list[tuple[float, float]], lots: int
) -> SimulatedAcceptance:
    accepted, left_open = np.array(results, dtype=np.float64).T
    return SimulatedAcceptance(
        shares=shares,
        accepted=accepted,
        left_open=left_open,
        counting_error=np.sqrt(accepted * (1.0 - accepted) / lots),
        lots=lots,
        seed=SEED,
    )
