"""The sampling plan of a lot in words."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    PlanKind,
    quality_words,
)
from rig.analysis.acceptance.variables_plan import VariablesPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPlanWords:
    """A sampling plan in words.

    Attributes:
        method: Method, and how it judges.
        order: What to do with the sample, such as "inspect 13 parts: Ac 2, Re 3".
        sample: Sample with its acceptance numbers, such as "13 parts: Ac 2, Re 3".
        plan: How the sample was found in the tables.
        short: Plan in few words, such as "AQL 1 %, II, normal: n 13, Ac 2, Re 3".
        source: Source of the plan.
        statements: Whole sentences that go with the plan.
    """

    method: str
    order: str
    sample: str
    plan: str
    short: str
    source: str
    statements: tuple[str, ...]


def plan_words(plan: AttributePlan | VariablesPlan) -> LotPlanWords:
    """Put a sampling plan into words."""
    if isinstance(plan, AttributePlan):
        return _attribute_words(plan)
    aql = "" if plan.aql_percent is None else f"AQL {plan.aql_percent:g} %"
    level = f"level {plan.level}" if plan.level else "sample as said"
    words = (f"letter {plan.letter}", level, f"{plan.severity.value} inspection", aql)
    return LotPlanWords(
        method="by variables: mean and spread of a figure (s method)",
        order=f"measure {plan.sample} parts",
        sample=f"{plan.sample} parts",
        plan=f"{', '.join(words)}: k = {plan.k:g}",
        short=f"s method, {aql}, {plan.severity.value}: n {plan.sample}, k {plan.k:g}",
        source=plan.source,
        statements=tuple(map(whole_sentence, plan.statements)),
    )


_METHODS = {
    PlanKind.SINGLE: "by attributes: nonconforming parts are counted",
    PlanKind.DOUBLE: "by attributes, double sampling: nonconforming parts are counted,"
    " in a second sample where the first leaves it open",
    PlanKind.ZERO: "by attributes, zero acceptance: no nonconforming part is accepted",
}


def _attribute_words(plan: AttributePlan) -> LotPlanWords:
    numbers = f"Ac {plan.accept}, Re {plan.reject}"
    sample = f"{plan.sample} parts: {numbers}"
    short = f"n {plan.sample}, {numbers}"
    if plan.sampling is PlanKind.DOUBLE:
        one, two = plan.stages
        first = f"Ac {one.accept}, Re {one.reject}"
        more = two.sample - one.sample
        sample = f"{one.sample} parts: {first}; in between {more} more: {numbers}"
        short = f"n {one.sample} + {more}, {first}, then {numbers}"
    quality, inspection = quality_words(plan), f"{plan.severity.value} inspection"
    # Zero acceptance is indexed by its level alone
    level, index = [f"level {plan.level}"], f"{quality}, {plan.level}"
    if plan.sampling is PlanKind.ZERO:
        level, index = [], quality
    words = [_letter_words(plan), *level, inspection, quality]
    return LotPlanWords(
        method=_METHODS[plan.sampling],
        order=f"inspect {sample}",
        sample=sample,
        plan=", ".join(words),
        short=f"{index}, {plan.severity.value}: {short}",
        source=plan.source,
        statements=tuple(map(whole_sentence, plan.statements)),
    )


def _letter_words(plan: AttributePlan) -> str:
    """Name the letter of the lot, and the one that an arrow of the table leads to."""
    if plan.plan_letter == plan.letter:
        return f"letter {plan.letter}"
    return f"letter {plan.letter}, by the arrow the plan of letter {plan.plan_letter}"


def repeats_words(repeats: int | None) -> str:
    """Say how often a part may be inspected again."""
    if repeats is None:
        return "not bounded when the lot was begun"
    times = {0: "none", 1: "1 at most"}.get(repeats, f"{repeats} at most")
    authority = "; of one that does not conform only under a named authority"
    return times if repeats == 0 else f"{times}{authority}"


def whole_sentence(words: str) -> str:
    """Begin with a capital and end with a full stop."""
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."
