"""Declared benches as plain text; rounds nothing."""

from __future__ import annotations

from collections.abc import Sequence

from rig.cli.text.table import table
from rig.sheets.bench_sheet import HEAD, BenchSheet


def benches_text(sheets: Sequence[BenchSheet]) -> str:
    """Return benches one under the other."""
    return "\n\n".join(
        "\n".join(
            [sheet.lead, table(HEAD, sheet.rows), sheet.not_included, sheet.effect]
        )
        for sheet in sheets
    )
