"""The verdict on a part: the gravest of all that its run is held against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from rig.analysis.limits.verdict import Decision, Rule, gravest
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.inquiry.runs_behind import RunBehind
from rig.model.product import ProductVersion

DELAY = "switching delay"
EVERY_LIMIT = (
    "The verdict on a part is the gravest of all that its run is held against: s_r, H,"
    " R, and the switching delay where the data sheet has a frequency."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartVerdict:
    """The verdict on one part.

    Attributes:
        decision: The gravest of all; None for no verdict.
        by: Symbols or names of what gave it; empty where the figure of the batch alone
            was looked at.
        decisions: Each decision by its symbol or name; empty likewise.
        reason: Why there is no verdict; empty if there is one.
    """

    decision: Decision | None
    by: tuple[str, ...] = ()
    decisions: Mapping[str, Decision] = field(default_factory=dict)
    reason: str = ""


def verdict_on_part(
    one: RunBehind, rule: Rule, product: ProductVersion | None = None
) -> PartVerdict:
    """Hold the run of a part against every limit of its product, or of its sensor.

    Args:
        one: Run behind the part.
        rule: Decision rule.
        product: Product to hold it against; None for that of the run.

    Raises:
        InputError: A limit of the data sheet is not possible.
    """
    if one.computation is None:
        return PartVerdict(decision=None, reason="the run has no figures")
    found = standard_of_run(one.run, one.computation.figures, rule, product)
    verdicts = dict(found.verdicts)
    if not verdicts:
        return PartVerdict(decision=None, reason=found.statements[0])
    if found.delay is not None:
        verdicts[DELAY] = found.delay
    decisions = {name: verdict.decision for name, verdict in verdicts.items()}
    worst = gravest(decisions.values())
    return PartVerdict(
        decision=worst,
        by=tuple(name for name, decision in decisions.items() if decision is worst),
        decisions=decisions,
    )
