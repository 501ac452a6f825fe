"""The trail and the check of the records as plain text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from rig.inquiry.verification import Verification
from rig.sheets.trail_rows import NOTHING, TrailRow, chain_words

_NO_TRAIL: Final = "These records are of an earlier version, which kept no trail."


def trail_text(rows: Sequence[TrailRow]) -> str:
    """Return entries of the trail, each with what was before and after, and why."""
    if not rows:
        return "the trail holds no entry"
    return "\n".join(line for row in rows for line in entry_lines(row))


def entry_lines(row: TrailRow) -> list[str]:
    """Return the lines of one entry."""
    states = [("before", row.before), ("after", row.after), ("why", row.why)]
    return [
        f"{row.number}. {row.when}  {row.subject}: {row.action}, by {row.who}",
        *(f"   {name}: {words}" for name, words in states if words != NOTHING),
    ]


def verification_text(found: Verification) -> str:
    """Return what the check of the records found."""
    return "\n".join(
        [
            *(chain_words(found.trail) if found.trail_kept else [_NO_TRAIL]),
            _counted("lot", found.lots, "the trail", len(found.lot_faults)),
            *found.lot_faults,
            _counted("run", found.runs, "its checksum", len(found.run_faults)),
            *found.run_faults,
        ]
    )


def _counted(noun: str, count: int, against: str, faults: int) -> str:
    many = f"1 {noun}" if count == 1 else f"{count} {noun}s"
    return f"{many} held against {against}: {faults or 'no'} difference" + (
        "" if faults == 1 else "s"
    )
