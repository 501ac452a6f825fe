"""Time delay before availability as plain text; rounds nothing."""

from __future__ import annotations

from collections.abc import Sequence

from rig.cli.text.table import table
from rig.sheets.availability_sheet import AVAILABILITY_HEAD, AvailabilitySheet


def availability_text(sheet: AvailabilitySheet) -> str:
    """Return one check."""
    return "\n".join(
        [sheet.name, table(("figure", "value"), sheet.rows), *sheet.verdicts]
    )


def availabilities_text(rows: Sequence[Sequence[str]]) -> str:
    """Return all checks, a row each."""
    if not rows:
        return "No supply was switched yet: `gapsweep availability measure` does it."
    return table(AVAILABILITY_HEAD, rows)
