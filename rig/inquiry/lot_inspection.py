"""How the parts of a lot are really measured and judged, for its operating curve."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from rig.analysis.acceptance.attributes import AttributePlan
from rig.analysis.acceptance.simulated_acceptance import RealInspection
from rig.analysis.acceptance.staged_curve import quality_accepted_with
from rig.analysis.acceptance.variables import variables_curve
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.analysis.limits.verdict import RULES
from rig.records.lot_entries import LotPart

# Where nothing is measured yet: U a quarter of the way to the limit, which the trade
# asks of a measurement at the least (common practice, no source)
ASSUMED_RELATIVE_UNCERTAINTY: Final = 0.25
# Datum, scale and plate are the same for all parts of a lot, readings are not (assumed)
ASSUMED_COMMON_SHARE: Final = 0.8
_ENOUGH_PARTS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectionChoices:
    """What is said of an inspection; what is not said is measured or assumed.

    Attributes:
        relative_uncertainty: Expanded uncertainty of a part's figure over the way from
            the mean of the process to its limit at acceptable quality.
        common_share: Share of its variance that all parts of a lot have in common, 0
            to 1.
        undecided_again: How often an undecided part is measured again, at most.
        failing_again: How often a failing part is measured again, at most.
    """

    relative_uncertainty: float | None = None
    common_share: float | None = None
    undecided_again: int | None = None
    failing_again: int | None = None


AS_ASSUMED: Final = InspectionChoices()


@dataclass(frozen=True, slots=True, kw_only=True)
class LotInspection:
    """How parts are measured and judged, and where that is known from.

    Attributes:
        real: How parts are measured and judged.
        acceptable_share: Nonconforming share at acceptable quality: the AQL, or without
            one the share that the plan accepts with 95 %.
        uncertainty_source: Where the relative uncertainty is from, in words.
        common_source: Where the common share is from, in words.
    """

    real: RealInspection
    acceptable_share: float
    uncertainty_source: str
    common_source: str


def inspection_of(
    plan: AttributePlan | VariablesPlan,
    rule: str,
    parts: Sequence[LotPart] = (),
    choices: InspectionChoices = AS_ASSUMED,
    *,
    repeats: int | None = None,
) -> LotInspection:
    """Return how the parts of a lot are measured and judged.

    Args:
        plan: The sampling plan.
        rule: Name of the decision rule.
        parts: Parts measured so far, whose spread and uncertainty are taken.
        choices: What is said instead.
        repeats: How often a part of the lot may be inspected again, at most; None for
            not at all.

    Raises:
        InputError: What is said is not possible.
    """
    acceptable = _acceptable_share(plan)
    relative, source = _relative_uncertainty(acceptable, parts, choices)
    common, common_source = choices.common_share, "as said"
    if common is None:
        common, common_source = ASSUMED_COMMON_SHARE, "assumed"
    return LotInspection(
        real=RealInspection(
            relative_uncertainty=relative,
            common_share=common,
            rule=RULES[rule],
            undecided_again=_bound(choices.undecided_again, repeats),
            failing_again=_bound(choices.failing_again, repeats),
        ),
        acceptable_share=acceptable,
        uncertainty_source=source,
        common_source=common_source,
    )


def _bound(said: int | None, agreed: int | None) -> int:
    return said if said is not None else agreed or 0


def _acceptable_share(plan: AttributePlan | VariablesPlan) -> float:
    if plan.aql_percent is not None:
        return plan.aql_percent / 100.0
    if isinstance(plan, VariablesPlan):
        return variables_curve(plan).producer_share
    return quality_accepted_with(0.95, plan.stages)


def _relative_uncertainty(
    acceptable: float, parts: Sequence[LotPart], choices: InspectionChoices
) -> tuple[float, str]:
    # Deferred: help must answer at once
    from scipy.special import ndtri

    if choices.relative_uncertainty is not None:
        return choices.relative_uncertainty, "as said"
    known = [
        (part.value, part.expanded_uncertainty)
        for part in parts
        if part.value is not None and part.expanded_uncertainty is not None
    ]
    if len(known) < _ENOUGH_PARTS:
        return ASSUMED_RELATIVE_UNCERTAINTY, "assumed"
    spread = statistics.stdev(value for value, _ in known)
    if spread == 0.0:
        return ASSUMED_RELATIVE_UNCERTAINTY, "assumed"
    mean_uncertainty = statistics.fmean(one for _, one in known)
    way = -float(ndtri(acceptable)) * spread
    return mean_uncertainty / way, f"from {len(known)} parts measured"
