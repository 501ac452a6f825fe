"""The trail and the check of the records as plain text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from rig.inquiry.verification import Verification
from rig.sheets.trail_rows import NOTHING, TrailRow, chain_words

_NO_CHAIN: Final = (
    "These records are of an earlier version, which kept no chain: edges alone are held"
    " against a checksum."
)
_HEAD_ELSEWHERE: Final = (
    "The chain has no key: it shows accidents, and a change by somebody who worked its"
    " hashes out anew only if an earlier head was kept elsewhere (--anchor, --against)."
)
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
    chain = found.chain
    kept = [f"chain: {chain.links} links, head {chain.links}:{chain.head or 'none'}"]
    if found.anchors:
        heads = _counted("kept head", found.anchors)
        kept.append(_held(heads, "the chain", len(found.anchor_faults)))
    return "\n".join(
        [
            *(f"the file is damaged: {words}" for words in found.damage),
            *(kept if chain.kept else [_NO_CHAIN]),
            *found.anchor_faults,
            *chain.faults,
            *(chain_words(found.trail) if found.trail_kept else [_NO_TRAIL]),
            _held(_counted("lot", found.lots), "the trail", len(found.lot_faults)),
            *found.lot_faults,
            _held(_counted("run", found.runs), "the chain", len(found.run_faults)),
            *found.run_faults,
            *found.clock,
            *([_HEAD_ELSEWHERE] if chain.kept else []),
        ]
    )


def _counted(noun: str, count: int) -> str:
    return f"1 {noun}" if count == 1 else f"{count} {noun}s"


def _held(what: str, against: str, faults: int) -> str:
    differences = "difference" if faults == 1 else "differences"
    return f"{what} held against {against}: {faults or 'no'} {differences}"
