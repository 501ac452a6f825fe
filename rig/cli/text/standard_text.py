"""What the standard makes of a run, as text and as a JSON document."""

from __future__ import annotations

from typing import Any

from rig.analysis.limits.verdict import Decision, Verdict
from rig.analysis.standard.iec_60947_5_2 import UsableDistance
from rig.analysis.standard.run_against_standard import RunStandard
from rig.cli.documents import figure_document
from rig.cli.text.table import table
from rig.model.figures import Figure
from rig.model.plain import plain
from rig.model.rounding import format_figure

FAILED_STATUS = 1


def status_of(decisions: list[Decision]) -> int:
    """Return the exit status that verdicts lead to."""
    return FAILED_STATUS if Decision.DOES_NOT_CONFORM in decisions else 0


def verdict_document(verdict: Verdict) -> dict[str, Any]:
    """Return a verdict with all that it rests on."""
    return {
        "decision": verdict.decision.value,
        "figure": figure_document(verdict.figure),
        "limits": plain(verdict.limits),
        "rule": verdict.rule,
        "conformance_probability": plain(verdict.conformance_probability),
        "sentence": verdict.sentence,
    }


def standard_document(found: RunStandard) -> dict[str, Any]:
    """Return verdicts, statements and the 8 h test."""
    document: dict[str, Any] = {
        "verdicts": {
            symbol: verdict_document(verdict)
            for symbol, verdict in found.verdicts.items()
        },
        "verdict_statements": list(found.statements),
    }
    if found.delay is not None:
        document["switching_delay"] = verdict_document(found.delay)
    test = found.eight_hours
    if test is not None:
        document["eight_hour_test"] = {
            "complete": test.complete,
            "hours": test.hours,
            "kind": test.repeat_accuracy.kind,
            "means_mm": plain(test.means_mm),
            "between_times": plain(test.between_times),
            "statements": list(test.repeat_accuracy.statements),
        }
    return document


def standard_text(found: RunStandard) -> str:
    """Return verdicts with limits, source and rule."""
    parts = []
    if found.verdicts:
        rows = [
            [symbol, str(format_figure(one.figure)), one.decision.value, _span(one)]
            for symbol, one in found.verdicts.items()
        ]
        parts.append(table(["", "figure", "verdict", "limits"], rows))
        rule = next(iter(found.verdicts.values())).rule
        parts.append(f"Decision rule: {rule}.")
        parts += dict.fromkeys(
            f"Limits of {symbol}: {one.limits.source}."
            for symbol, one in found.verdicts.items()
        )
    parts += found.statements
    if found.delay is not None:
        parts.append(f"switching delay, both ways together: {found.delay.sentence}")
    return "\n".join(parts)


def usable_document(found: UsableDistance) -> dict[str, Any]:
    """Return s_u at its ends and s_a, with the conditions that decide."""
    ends = (("smallest", found.smallest), ("largest", found.largest))
    return {
        f"s_u_{name}": {"under": under, **verdict_document(verdict)}
        for name, (under, verdict) in ends
    } | {
        "s_a": verdict_document(found.assured),
        "statements": list(found.statements),
    }


def usable_text(found: UsableDistance) -> str:
    """Return s_u at its ends and s_a in words."""
    ends = (("smallest", found.smallest), ("largest", found.largest))
    lines = [
        f"s_u over s_r, {name} (under {under}): {verdict.sentence}"
        for name, (under, verdict) in ends
    ]
    said = [f"Note: {words}." for words in found.statements]
    return "\n".join([*lines, f"s_a: {found.assured.sentence}", *said])


def decisions_of(
    found: RunStandard | None, usable: UsableDistance | None
) -> list[Decision]:
    """Return every decision about a run, for the exit status."""
    verdicts = [*found.verdicts.values(), found.delay] if found else []
    if usable is not None:
        verdicts += [usable.smallest[1], usable.largest[1], usable.assured]
    return [one.decision for one in verdicts if one is not None]


def words_of(figure: Figure) -> str:
    """Return a figure in words; a ratio has no unit."""
    return str(format_figure(figure)).replace(") 1,", "),")


def _span(verdict: Verdict) -> str:
    limits = plain(verdict.limits)
    low, high, unit = limits["lower"], limits["upper"], limits["unit"]
    if low is None:
        return f"at most {high:.6g} {unit}"
    if high is None:
        return f"at least {low:.6g} {unit}"
    return f"{low:.6g} to {high:.6g} {unit}"
