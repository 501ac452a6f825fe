"""What a bound on repeated measurements costs: the risk of accepting a bad lot."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy.typing as npt

from rig.analysis.acceptance.attributes import AttributePlan
from rig.analysis.acceptance.simulated_acceptance import (
    SimulatedAcceptance,
    simulate_attributes,
    simulate_variables,
)
from rig.analysis.acceptance.staged_curve import quality_accepted_with
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.inquiry.lot_inspection import LotInspection

NOMINAL_RISK: Final = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatsRisk:
    """What measuring parts again does to the risks of a plan, simulated.

    Attributes:
        undecided_again: How often an undecided part is measured again, at most.
        failing_again: How often a failing part is measured again, at most.
        consumer_share: Nonconforming share that the plan nominally accepts with 10 %.
        risk_once: Probability that such a lot is accepted if each part is measured
            once, 0 to 1.
        risk: Probability that such a lot is accepted with the repeats, 0 to 1.
        counting_error: Standard error of both from the number of lots, the larger one.
        acceptable_share: Nonconforming share at acceptable quality.
        acceptance_once: Probability that a lot of that quality is accepted if each part
            is measured once, 0 to 1.
        acceptance: Probability that a lot of that quality is accepted with the repeats,
            0 to 1.
    """

    undecided_again: int
    failing_again: int
    consumer_share: float
    risk_once: float
    risk: float
    counting_error: float
    acceptable_share: float
    acceptance_once: float
    acceptance: float


def risk_of_repeats(
    plan: AttributePlan | VariablesPlan, inspection: LotInspection
) -> RepeatsRisk | None:
    """Return what measuring parts again costs and gains.

    Args:
        plan: The sampling plan.
        inspection: How parts are measured and judged, with the bounds on repeats.

    Returns:
        None where nothing is measured again, and by variables, where each part counts
        with one value.
    """
    real = inspection.real
    if isinstance(plan, VariablesPlan) or not (
        real.undecided_again or real.failing_again
    ):
        return None
    risky = quality_accepted_with(NOMINAL_RISK, plan.stages)
    shares = [inspection.acceptable_share, risky]
    single = replace(real, undecided_again=0, failing_again=0)
    once = acceptance_as_inspected(shares, plan, replace(inspection, real=single))
    again = acceptance_as_inspected(shares, plan, inspection)
    return RepeatsRisk(
        undecided_again=real.undecided_again,
        failing_again=real.failing_again,
        consumer_share=risky,
        risk_once=float(once.accepted[1]),
        risk=float(again.accepted[1]),
        counting_error=float(max(once.counting_error[1], again.counting_error[1])),
        acceptable_share=inspection.acceptable_share,
        acceptance_once=float(once.accepted[0]),
        acceptance=float(again.accepted[0]),
    )


def acceptance_as_inspected(
    shares: npt.ArrayLike,
    plan: AttributePlan | VariablesPlan,
    inspection: LotInspection,
    *,
    lot: int | None = None,
) -> SimulatedAcceptance:
    """Return how likely lots are accepted as they are inspected.

    Args:
        shares: Nonconforming shares, between 0 and 1, shape (k,).
        plan: The sampling plan.
        inspection: How parts are measured and judged.
        lot: Parts in the lot, by attributes; None for lots from a process.
    """
    acceptable = inspection.acceptable_share
    if isinstance(plan, VariablesPlan):
        return simulate_variables(
            shares, plan, inspection.real, acceptable_share=acceptable
        )
    return simulate_attributes(
        shares, plan.stages, inspection.real, acceptable_share=acceptable, lot=lot
    )
