"""What the terms of a lot make of one part, figure by figure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from rig.analysis.limits.verdict import GRAVITY, RULES, Decision, Verdict, verdict
from rig.analysis.run.home_shift import home_finding_of
from rig.analysis.standard.run_against_standard import RunStandard, standard_of_run
from rig.errors import InputError
from rig.inquiry.lot_terms import LotTerms
from rig.inquiry.tried import Tried, decision_of_outcome
from rig.model.attempts import Outcome
from rig.model.figure_kinds import KIND_OF_OPTION, figure_of
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run

RULE_MARK: Final = "; rule: "
REASON_MARK: Final = "; "

# Outcomes of a measurement that was carried out and proves nothing
_OPEN = (Outcome.STEPS_LOST, Outcome.DATUM_MOVED)
# By the field of `RunFigures` that R rests on
_R_LABELS = {
    "repeat_accuracy_short_term": "R short term, not the 8 h test",
    "repeat_accuracy_timetable_percent": "R of the timetable, not the 8 h test",
    "repeat_accuracy_8_h_percent": "R, 8 h test",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What the terms make of one part.

    Attributes:
        decision: One of three.
        reason: Reason in words: one clause a figure, the gravest first, then the rule.
        figure: Figure that is kept with the part; None where nothing was measured.
        verdicts: Verdict of each figure by its symbol or name, the gravest first; empty
            where nothing was measured.
    """

    decision: Decision
    reason: str
    figure: Figure | None
    verdicts: Mapping[str, Verdict] = field(default_factory=dict)


def judge_run(terms: LotTerms, run: Run, figures: RunFigures) -> Judged:
    """Judge a part by a run.

    Raises:
        InputError: The run is void, its home switch moved, or it is not against the
            standard target where the standard decides.
    """
    if run.void:
        raise InputError(f"run {run.header.run_id} is void: {run.void}")
    if finding := home_finding_of(run):
        raise InputError(
            f"run {run.header.run_id} decides nothing: {finding}",
            hint="measure the part again",
        )
    found = figure_of(figures, terms.figure)
    if terms.limits is not None:
        one = verdict(found, terms.limits, RULES[terms.rule])
        label = f"{KIND_OF_OPTION[terms.figure].name}, n = {found.n}"
        return _judged([(terms.figure, label, one)], found)
    standard = standard_of_run(run, figures, RULES[terms.rule], terms.product)
    if not standard.verdicts:
        raise InputError(
            f"run {run.header.run_id} decides nothing: {standard.statements[0]}",
            hint="measure on the standard target, or begin the lot with limits",
        )
    labelled = [
        (symbol, f"{_label(symbol, standard)}, n = {one.figure.n}", one)
        for symbol, one in standard.verdicts.items()
    ]
    return _judged(labelled, found)


def judge_outcome(terms: LotTerms, tried: Tried) -> Judged | None:
    """Judge a part by an attempt that gave no figures.

    Returns:
        "Does not conform" for a sensor that failed at its function, on the standard
        target or where the lot has limits of its own; "undecided" where a fault of the
        bench or of the supply may be behind it; None where the attempt says nothing of
        the part, as after a stop by hand or on a target that no limit is for.
    """
    outcome = tried.outcome
    if outcome.fails:
        if not _decides(terms, tried):
            return None
        decision = Decision.DOES_NOT_CONFORM
    elif outcome.of_the_sensor or outcome in _OPEN:
        decision = Decision.UNDECIDED
    else:
        return None
    reason = f"{tried.words}: {tried.sentence}"
    return Judged(decision=decision, reason=reason, figure=None)


def _decides(terms: LotTerms, tried: Tried) -> bool:
    """Whether the part was tried on a target that the lot has limits for."""
    if terms.product is None and terms.limits is not None:
        return True
    own, target = tried.sensor, tried.target
    return decision_of_outcome(tried.outcome, own, target, terms.product) is not None


def judge_value(terms: LotTerms, value: float, expanded: float | None) -> Judged:
    """Judge a part by a value from elsewhere.

    Args:
        terms: Terms of the lot.
        value: Value of the figure that the lot has limits for, in its unit.
        expanded: Expanded uncertainty (95 %) of that value; None if it has none.

    Raises:
        InputError: The lot was begun without limits, or with a product, which asks for
            more than a value.
    """
    if terms.product is not None:
        raise InputError(
            "a value alone does not say that sensor, target and temperature match"
            f" {terms.product.title}",
            hint="measure the part, or give its run",
        )
    limits = terms.limits
    if limits is None:
        raise InputError(
            "the lot has no limits of its own, so a value alone decides nothing",
            hint="give a run, or begin the lot with --lower or --upper",
        )
    kind = KIND_OF_OPTION[terms.figure]
    found = Figure(
        value=value,
        unit=kind.unit,
        expanded_uncertainty=expanded,
        coverage_factor=None if expanded is None else 2.0,
        effective_degrees_of_freedom=None,
        standard_deviation=None,
        n=1,
        why_none="" if expanded is not None else "none was given with the value",
    )
    one = verdict(found, limits, RULES[terms.rule])
    return _judged([(terms.figure, f"{kind.name}, value given", one)], found)


def _judged(labelled: Sequence[tuple[str, str, Verdict]], found: Figure) -> Judged:
    """Put verdicts together, each with its symbol or name and its label."""
    by_gravity = sorted(labelled, key=lambda one: GRAVITY[one[2].decision])
    worst = by_gravity[0][2]
    rule = f"{RULE_MARK}{worst.rule}"
    # The rule is the same for all, so it is said once
    reasons = [
        f"{label}: {one.sentence.removesuffix(rule)}" for _, label, one in by_gravity
    ]
    return Judged(
        decision=worst.decision,
        reason=REASON_MARK.join(reasons) + rule,
        figure=found,
        verdicts={name: one for name, _, one in by_gravity},
    )


def _label(symbol: str, standard: RunStandard) -> str:
    """Return a symbol; for repeat accuracy with the test that it is of."""
    return _R_LABELS[standard.repeat_accuracy_field] if symbol == "R" else symbol
