"""What the sheet of any study of a gauge is made of; knows no study."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.study.tolerance_share import ToleranceShare
from rig.sheets.interval_rows import IntervalRow, interval_row


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTable:
    """A table beside the figures; all text.

    Attributes:
        caption: What it shows, in one sentence without full stop.
        head: Names of the columns; the first column names the rows.
        rows: Cells of each row.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeMatter:
    """What one kind of study says.

    Attributes:
        kind: Name of the kind of study in the trade.
        lead: How much was read, in one sentence.
        figures: Estimates with their intervals.
        tables: What stands beside them.
        methods: Sentences on how they were found.
        drawn: What the drawing shows, in one or more sentences.
        statements: What to know before trusting the figures.
    """

    kind: str
    lead: str
    figures: tuple[IntervalRow, ...]
    tables: tuple[SheetTable, ...]
    methods: tuple[str, ...]
    drawn: str
    statements: tuple[str, ...]


def tolerance_row(share: ToleranceShare, n: int) -> IntervalRow:
    """Lay out what share of a tolerance the measurement takes up."""
    return interval_row(
        "Measurement over tolerance",
        f"P/T: six standard deviations over {share.tolerance:g}; common practice asks"
        " for at most 10 to 30 %",
        share.percent,
        share.interval,
        unit="%",
        n=n,
    )
