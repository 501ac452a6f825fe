"""Estimates with their confidence intervals as rows of text; knows no estimate."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rig.analysis.numbers.intervals import Interval
from rig.model.rounding import format_significant, round_to_interval, unit_words

_DIGITS = 4  # of what has no interval to be rounded by


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalRow:
    """An estimate, or the words why it has no interval.

    Attributes:
        name: Name of the quantity in the trade.
        meaning: What it is, in a few words; may be empty.
        value: Rounded by the interval.
        unit: Unit of value and interval; empty for a plain number.
        interval: Lower and upper end of the interval, or the words why there is none.
        confidence: Confidence of the interval, with the sign %; empty without one.
        n: How many readings or parts are behind it.
    """

    name: str
    meaning: str
    value: str
    unit: str
    interval: str
    confidence: str
    n: str


def interval_row(
    name: str,
    meaning: str,
    value: float,
    interval: Interval,
    *,
    unit: str,
    n: int,
) -> IntervalRow:
    """Lay out an estimate with its interval; an open end is left out."""
    confidence = f"{100.0 * interval.confidence:g} %"
    ends = (interval.lower, interval.upper)
    finite = [end for end in ends if math.isfinite(end)]
    if ends[0] <= value <= ends[1] and len(finite) == 2:
        shown, low, high = round_to_interval(value, *ends)
        span = f"{low} to {high}"
    elif ends[0] < value < ends[1] and finite:
        shown, low, high = _rounded_by_one_end(value, *ends)
        span = _span(low, high)
    else:
        shown = format_significant(value, _DIGITS)
        low, high = (
            format_significant(end, _DIGITS) if math.isfinite(end) else ""
            for end in ends
        )
        span = _span(low, high)
    return IntervalRow(
        name=name,
        meaning=meaning,
        value=shown,
        unit=unit_words(unit),
        interval=span,
        confidence=confidence,
        n=str(n),
    )


def _rounded_by_one_end(
    value: float, lower: float, upper: float
) -> tuple[str, str, str]:
    """Round by the end that there is, and leave the open one out."""
    if math.isinf(upper):
        shown, low, _ = round_to_interval(value, lower, 2.0 * value - lower)
        return shown, low, ""
    shown, _, high = round_to_interval(value, 2.0 * value - upper, upper)
    return shown, "", high


def bare_row(
    name: str, meaning: str, value: str, *, unit: str, why_none: str, n: int
) -> IntervalRow:
    """Lay out a value without an interval, with the words why."""
    return IntervalRow(
        name=name,
        meaning=meaning,
        value=value,
        unit=unit_words(unit),
        interval=why_none,
        confidence="",
        n=str(n),
    )


def _span(low: str, high: str) -> str:
    if not low:
        return f"at most {high}"
    return f"{low} to {high}" if high else f"at least {low}"
