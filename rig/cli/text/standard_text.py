"""Verdicts on a run as plain text, and the exit status that they lead to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rig.analysis.limits.verdict import Decision
from rig.cli.text.table import table
from rig.sheets.verdict_rows import VerdictRow, VerdictTable

FAILED_STATUS = 1


def status_of(decisions: Iterable[Decision]) -> int:
    """Return the exit status that verdicts lead to."""
    return FAILED_STATUS if Decision.DOES_NOT_CONFORM in decisions else 0


def verdicts_text(found: VerdictTable) -> str:
    """Return verdicts with limits, source and rule."""
    parts = []
    if found.rows:
        parts.append(_rows(found.rows))
        parts.append(f"Decision rule: {found.rule}.")
        parts += dict.fromkeys(_source(row) for row in found.rows)
    return "\n".join([*parts, *found.statements])


def usable_text(rows: Sequence[VerdictRow], statements: Sequence[str]) -> str:
    """Return s_u at its ends and s_a."""
    sources = dict.fromkeys(_source(row) for row in rows)
    return "\n".join([_rows(rows), *sources, *statements])


def _rows(rows: Sequence[VerdictRow]) -> str:
    head = ["", "figure", "verdict", "limits", "chance"]
    cells = [
        [
            f"{row.symbol} {row.name}".strip(),
            str(row.text),
            f"{row.sign} {row.decision}",
            row.limits,
            row.chance,
        ]
        for row in rows
    ]
    return table(head, cells)


def _source(row: VerdictRow) -> str:
    return f"Limits of {row.symbol or row.name}: {row.source}."
