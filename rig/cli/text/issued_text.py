"""Issued documents as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rig.cli.text.table import table

if TYPE_CHECKING:
    from rig.sheets.issued_sheet import IssuedRow

_HEAD = ("number", "issued (UTC)", "title", "about", "customer, order", "replaces", "")


def issued_text(rows: Sequence[IssuedRow]) -> str:
    """Return documents as a table, each with the checksum of its file below."""
    if not rows:
        return "No document is issued."
    cells = [
        (
            row.number,
            row.issued.removesuffix(" UTC"),
            row.title,
            row.subject,
            row.customer,
            row.replaces,
            "SIMULATED" if row.simulated else "",
        )
        for row in rows
    ]
    sums = [f"{row.sha256}  {row.number}" for row in rows]
    return "\n".join([table(_HEAD, cells), "SHA-256 of each file as issued:", *sums])
