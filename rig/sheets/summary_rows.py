"""The figures of a batch's summary and of its charts as rows and sentences."""

from __future__ import annotations

from dataclasses import replace

from rig.analysis.batch.batch_summary import BatchSummary
from rig.analysis.numbers.intervals import Interval
from rig.model.rounding import (
    format_decimals,
    format_p,
    format_without_uncertainty,
)
from rig.sheets.interval_rows import IntervalRow, bare_row, interval_row

_SINGLE = "a single part's reading"


def summary_rows(s: BatchSummary) -> tuple[IntervalRow, ...]:
    """Lay out location, spread, extremes, tolerance interval and capability."""
    content = f"{100.0 * s.tolerance.content:g} %"
    rows = [
        interval_row("Mean", "", s.mean, s.mean_interval, unit=s.unit, n=s.n),
        interval_row(
            "Standard deviation",
            "measurement scatter is part of it",
            s.sd,
            s.sd_interval,
            unit=s.unit,
            n=s.n,
        ),
        _extreme("Smallest", s.smallest, s),
        _extreme("Largest", s.largest, s),
        _tolerance(s, f"holds {content} of such parts; {s.tolerance.method}"),
    ]
    return (*rows, *_capability(s))


def normality_words(s: BatchSummary) -> str:
    """Say how well the parts lie on the straight line of the normal plot."""
    plot = s.normal_plot
    if plot is None:
        return ""
    words = f"Correlation with the straight line {format_decimals(plot.correlation, 4)}"
    if plot.p is None:
        return f"{words}; {s.n} parts are too few for a test of normality."
    return f"{words}; Anderson-Darling test of normality: {format_p(plot.p)}."


def _tolerance(s: BatchSummary, meaning: str) -> IntervalRow:
    """Lay out the interval about the mean, which has a row of its own."""
    found = s.tolerance
    interval = Interval(
        lower=found.lower, upper=found.upper, confidence=found.confidence
    )
    row = interval_row(
        "Tolerance interval", meaning, s.mean, interval, unit=s.unit, n=s.n
    )
    return replace(row, value="–")


def _extreme(name: str, value: float, s: BatchSummary) -> IntervalRow:
    shown = format_without_uncertainty(value, s.unit)
    return bare_row(name, "", shown, unit=s.unit, why_none=_SINGLE, n=s.n)


def _capability(s: BatchSummary) -> list[IntervalRow]:
    known = s.capability
    if known is None:
        return []
    rows = []
    if known.cp is not None and known.cp_interval is not None:
        rows.append(
            interval_row(
                "Cp",
                "width of the limits over 6 standard deviations",
                known.cp,
                known.cp_interval,
                unit="1",
                n=known.n,
            )
        )
    bound = Interval(
        lower=known.cpk_lower_bound, upper=float("inf"), confidence=known.confidence
    )
    rows.append(
        interval_row("Cpk", known.statement, known.cpk, bound, unit="1", n=known.n)
    )
    return rows
