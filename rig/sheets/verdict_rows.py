"""Verdicts as rows of text, each with its limits, their source and the rule."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rig.analysis.limits.verdict import Limits, Verdict
from rig.analysis.standard.run_against_standard import RunStandard
from rig.model.figure_kinds import KIND_OF_FIELD
from rig.model.rounding import FigureText, format_figure, format_significant, unit_words
from rig.sheets.signs import VERDICT_SIGNS

_NAMES = {"s_r": "effective operating distance", "H": "differential travel"}
_NOT_THE_TEST = {"repeat_accuracy_short_term", "repeat_accuracy_timetable_percent"}
_LIMIT_DIGITS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictRow:
    """One verdict.

    Attributes:
        symbol: Symbol in the standard; empty if it has none.
        name: Name of the figure, in words.
        text: The figure.
        limits: What it was held against.
        source: Source of the limits.
        decision: Decision in words.
        sign: Goes before the decision.
        chance: Probability that the true value lies within the limits; a dash without.
    """

    symbol: str
    name: str
    text: FigureText
    limits: str
    source: str
    decision: str
    sign: str
    chance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictTable:
    """The verdicts on one thing.

    Attributes:
        rows: May be empty.
        rule: Decision rule that all of them follow; empty without rows.
        statements: Whole sentences that go with them.
    """

    rows: tuple[VerdictRow, ...]
    rule: str
    statements: tuple[str, ...]


def verdict_table(found: RunStandard) -> VerdictTable:
    """Lay out what the standard or the data sheet makes of a run."""
    names = _NAMES | {"R": _repeat_accuracy_name(found.repeat_accuracy_field)}
    rows = [
        verdict_row(one, symbol=symbol, name=names[symbol])
        for symbol, one in found.verdicts.items()
    ]
    verdicts = list(found.verdicts.values())
    if found.delay is not None:
        together = KIND_OF_FIELD["response_time_both"].name
        rows.append(verdict_row(found.delay, symbol="", name=together))
        verdicts.append(found.delay)
    return VerdictTable(
        rows=tuple(rows),
        rule="; ".join(dict.fromkeys(one.rule for one in verdicts if one.rule)),
        statements=found.statements,
    )


def _repeat_accuracy_name(field: str) -> str:
    """Say which repeat accuracy R is; empty without one."""
    if not field:
        return ""
    name = KIND_OF_FIELD[field].name.removesuffix(", share")
    return f"{name} (not the 8 h test)" if field in _NOT_THE_TEST else name


def verdict_row(one: Verdict, *, symbol: str, name: str) -> VerdictRow:
    """Lay out one verdict."""
    chance = one.conformance_probability
    return VerdictRow(
        symbol=symbol,
        name=name,
        text=format_figure(one.figure),
        limits=limits_words(one.limits),
        source=one.limits.source,
        decision=one.decision.value,
        sign=VERDICT_SIGNS[one.decision],
        chance="–" if chance is None else chance_words(chance),
    )


def limits_words(limits: Limits) -> str:
    """Write an interval with its unit."""
    low, high = (_bound(end) for end in (limits.lower, limits.upper))
    unit = f" {known}" if (known := unit_words(limits.unit)) else ""
    if not low:
        return f"at most {high}{unit}"
    if not high:
        return f"at least {low}{unit}"
    return f"{low} to {high}{unit}"


def chance_words(chance: float) -> str:
    """Write a probability in per cent, which is never quite 0 or 100."""
    percent = 100.0 * chance
    if percent > 99.9:
        return "> 99.9 %"
    if percent < 0.1:
        return "< 0.1 %"
    return f"{format_significant(percent, 3)} %"


def _bound(end: float) -> str:
    if math.isinf(end):
        return ""
    text = format_significant(end, _LIMIT_DIGITS)
    return text.rstrip("0").rstrip(".") if "." in text else text
