"""What a lot's sample is taken and judged by: made once, kept with the lot."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    Severity,
    attribute_plan,
)
from rig.analysis.acceptance.variables import VariablesPlan, variables_plan
from rig.analysis.limits.verdict import RULES, Decision, Limits, verdict
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.errors import InputError
from rig.model.figure_kinds import KIND_OF_OPTION, figure_of
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run

ATTRIBUTES = "attributes"
VARIABLES = "variables"


@dataclass(frozen=True, slots=True, kw_only=True)
class LotTerms:
    """The terms of a lot.

    Attributes:
        method: "attributes" or "variables".
        size: Parts in the lot.
        level: Inspection level; empty for variables.
        severity: In force when the lot was begun.
        aql_percent: Acceptance quality limit.
        sample: Parts to measure by variables; None for attributes.
        figure: Name of the figure that limits hold for.
        lower: Limit in the unit of the figure; None without one.
        upper: Likewise; with neither, parts are held against the standard.
        rule: Name of the decision rule.
    """

    method: str
    size: int
    level: str
    severity: str
    aql_percent: float
    sample: int | None
    figure: str
    lower: float | None
    upper: float | None
    rule: str

    @property
    def limits(self) -> Limits | None:
        """Limits of the figure; None where the standard decides."""
        if self.lower is None and self.upper is None:
            return None
        return Limits(
            lower=-math.inf if self.lower is None else self.lower,
            upper=math.inf if self.upper is None else self.upper,
            unit=KIND_OF_OPTION[self.figure].unit,
            source="agreed for the lot",
        )

    def attribute_plan(self) -> AttributePlan:
        """Return the sampling plan by attributes."""
        return attribute_plan(
            self.size,
            aql_percent=self.aql_percent,
            level=self.level,
            severity=Severity(self.severity),
        )

    def variables_plan(self) -> VariablesPlan:
        """Return the plan of the s method."""
        if self.sample is None:
            raise InputError("by variables the sample must be said: give --sample")
        return variables_plan(self.sample, aql_percent=self.aql_percent)


def terms_of(record: Mapping[str, Any]) -> LotTerms:
    """Return the terms that the records keep."""
    return LotTerms(**record)


def check_terms(terms: LotTerms) -> None:
    """Refuse terms that no lot can be judged by.

    Raises:
        InputError: They do not go together, or are not in the tables.
    """
    if terms.method == ATTRIBUTES:
        if terms.sample is not None:
            raise InputError(
                "--sample goes with --method variables only",
                hint="by attributes the table gives the sample",
            )
        terms.attribute_plan()
    else:
        plan = terms.variables_plan()
        if terms.size < plan.sample:
            raise InputError(
                f"the lot of {terms.size} is smaller than the sample of {plan.sample}",
                hint="take a smaller sample of the table, or inspect every part",
            )
        if terms.limits is None:
            raise InputError(
                "by variables a lot needs --lower, --upper or both",
                hint="the figure itself is judged, not each part",
            )
    # A limit that cannot be is found out before the first part
    _ = terms.limits


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What the terms make of one part.

    Attributes:
        decision: One of three.
        reason: In words.
        figure: That is kept with it; None where nothing was measured.
    """

    decision: Decision
    reason: str
    figure: Figure | None


def judge_run(terms: LotTerms, run: Run, figures: RunFigures) -> Judged:
    """Judge a part by a run.

    Raises:
        InputError: The run is void, or not against the standard target where the
            standard decides.
    """
    if run.void:
        raise InputError(f"run {run.header.run_id} is void: {run.void}")
    found = figure_of(figures, terms.figure)
    if terms.limits is not None:
        return judge_figure(terms, found)
    standard = standard_of_run(run, figures, RULES[terms.rule])
    if not standard.verdicts:
        raise InputError(
            f"run {run.header.run_id} cannot be held against the standard:"
            f" {standard.statements[0]}",
            hint="measure on the standard target, or begin the lot with limits",
        )
    worst = max(standard.verdicts.values(), key=lambda one: _GRAVITY[one.decision])
    rule = f"; rule: {worst.rule}"
    # The rule is the same for all, so it is said once
    reasons = [
        f"{symbol}: {one.sentence.removesuffix(rule)}"
        for symbol, one in standard.verdicts.items()
        if one.decision is worst.decision
    ]
    return Judged(
        decision=worst.decision, reason="; ".join(reasons) + rule, figure=found
    )


def judge_figure(terms: LotTerms, found: Figure) -> Judged:
    """Judge a part by a figure alone.

    Raises:
        InputError: The lot was begun without limits.
    """
    limits = terms.limits
    if limits is None:
        raise InputError(
            "the lot has no limits of its own, so a value alone decides nothing",
            hint="give a run, or begin the lot with --lower or --upper",
        )
    one = verdict(found, limits, RULES[terms.rule])
    return Judged(decision=one.decision, reason=one.sentence, figure=found)


_GRAVITY = {
    Decision.CONFORMS: 0,
    Decision.UNDECIDED: 1,
    Decision.DOES_NOT_CONFORM: 2,
}
