"""Rows as columns of plain text, and the mark of simulated results."""

from __future__ import annotations

from collections.abc import Sequence

SIMULATED = "SIMULATED: no machine was behind this."


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return rows in columns, the head in the first line."""
    lines = [list(head), *[list(row) for row in rows]]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    return "\n".join(
        "  ".join(
            cell.ljust(width) for cell, width in zip(line, widths, strict=True)
        ).rstrip()
        for line in lines
    )
