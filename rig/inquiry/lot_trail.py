"""What the trail holds of a lot, and whether the lot on record is what it says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from rig.inquiry.verification import lot_fault
from rig.records import Store
from rig.records.trail import LOT
from rig.records.trail_book import TrailBook, TrailEntry
from rig.records.trail_chain import ChainCheck


@dataclass(frozen=True, slots=True, kw_only=True)
class LotTrail:
    """What the trail holds of a lot.

    Attributes:
        kept: Whether a trail is kept; earlier records that are only read have none.
        entries: Entries of the trail that are of this lot, in order.
        check: Check of the chain of the whole trail.
        fault: Difference between the lot on record and the trail, in words; empty
            without one.
    """

    kept: bool
    entries: tuple[TrailEntry, ...]
    check: ChainCheck
    fault: str


NO_TRAIL: Final = LotTrail(
    kept=False,
    entries=(),
    check=ChainCheck(entries=0, head="", faults=()),
    fault="",
)


def lot_trail(store: Store, lot_id: str) -> LotTrail:
    """Return what the trail holds of a lot.

    Raises:
        RecordsError: The records cannot be read.
    """
    book = TrailBook(store)
    if not book.kept():
        return NO_TRAIL
    entries = tuple(book.entries(kind=LOT, subject=lot_id))
    return LotTrail(
        kept=True,
        entries=entries,
        check=book.check(),
        fault=lot_fault(store, lot_id, entries),
    )
