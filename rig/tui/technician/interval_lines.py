"""Estimates with their intervals as lines of a screen; rounds nothing."""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content

from rig.sheets.interval_rows import IntervalRow

_NAME_WIDTH = 24
_NO_VALUE = "–"


def interval_lines(rows: Iterable[IntervalRow]) -> list[Content]:
    """Return two lines for each: value and interval, then what they mean."""
    lines = []
    for row in rows:
        unit = f" {row.unit}" if row.unit else ""
        share = f" ({row.confidence})" if row.confidence else ""
        lines.append(
            Content.assemble(
                (f"  {row.name:<{_NAME_WIDTH}} ", "$text-muted"),
                (row.value if row.value == _NO_VALUE else f"{row.value}{unit}", "bold"),
                f"  interval {row.interval}{unit}{share}, n = {row.n}"
                if row.confidence
                else f"  {row.interval}, n = {row.n}",
            )
        )
        if row.meaning:
            lines.append(Content.styled(f"      {row.meaning}", "$text-muted"))
    return lines


def heading(words: str) -> Content:
    """Return a heading."""
    return Content.styled(words, "bold $text-primary")


def remark(sentence: str) -> Content:
    """Return a sentence that is to be minded."""
    return Content.assemble(("! ", "bold $text-warning"), sentence)


def simulated_mark(simulated: int, total: int, noun: str) -> Content:
    """Return how much of a result a simulated rig made; empty for nothing."""
    if not simulated:
        return Content("")
    part = "" if simulated == total else f" in part: {simulated} of {total} {noun}"
    return Content.styled(f"  SIMULATED{part}", "bold $text-warning")
