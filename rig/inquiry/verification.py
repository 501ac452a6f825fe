"""Whether the records are as they were written: trail, lots, edges of runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from rig.inquiry.trail_replay import LotRecord, Replayed, replay
from rig.records import Reader, Store
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotEntry
from rig.records.trail_book import TrailBook, TrailEntry
from rig.records.trail_chain import ChainCheck

_NOT_REPLAYED: Final = (
    "the trail cannot be replayed: what it says of a lot is incomplete"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """Whether the records are as they were written.

    Attributes:
        trail_kept: Whether a trail is kept; earlier records that are only read have
            none.
        trail: Check of the chain of the trail.
        lots: Number of lots held against the trail.
        lot_faults: What is on record of lots otherwise than the trail has it.
        runs: Number of runs whose edges were held against their checksum.
        run_faults: Runs whose edges are not as they were at the end.
        intact: Whether nothing was found.
    """

    trail_kept: bool
    trail: ChainCheck
    lots: int
    lot_faults: tuple[str, ...]
    runs: int
    run_faults: tuple[str, ...]
    intact: bool


def verify_records(store: Store) -> Verification:
    """Check trail, lots and runs, all read at one moment.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        book = TrailBook(moment)
        kept, trail = book.kept(), book.check()
        lots = lots_on_record(moment) if kept else {}
        lot_faults = lot_faults_of(moment) if kept else ()
        reader = Reader(moment)
        run_ids = [run.run_id for run in reader.runs() if run.ended_at is not None]
        altered = [one for one in run_ids if reader.verify(one).intact is False]
    run_faults = tuple(
        f"run {run_id}: its edges are not as they were at its end" for run_id in altered
    )
    return Verification(
        trail_kept=kept,
        trail=trail,
        lots=len(lots),
        lot_faults=lot_faults,
        runs=len(run_ids),
        run_faults=run_faults,
        intact=not (trail.faults or lot_faults or run_faults),
    )


def lots_on_record(store: Store) -> dict[str, LotRecord]:
    """Return all that the tables of lots hold, by identity.

    Raises:
        RecordsError: The records cannot be read.
    """
    book = LotBook(store)
    return {lot.lot_id: _on_record(book, lot) for lot in book.all_lots()}


def lot_fault(store: Store, lot_id: str, entries: Sequence[TrailEntry]) -> str:
    """Say in what a lot on record is not what the trail says; empty if it is.

    Args:
        store: Open records.
        lot_id: Identity of the lot.
        entries: What the trail holds of the lot.

    Raises:
        RecordsError: The lot is not there, or the records cannot be read.
    """
    book = LotBook(store)
    try:
        replayed = replay(entries).lots.get(lot_id)
    except (KeyError, TypeError):
        return _NOT_REPLAYED
    return _fault(_on_record(book, book.lot(lot_id)), replayed)


def lot_faults_of(store: Store) -> tuple[str, ...]:
    """Return what is on record of lots otherwise than the trail has it, in words.

    Raises:
        RecordsError: The records cannot be read.
    """
    try:
        replayed = replay(TrailBook(store).entries())
    except (KeyError, TypeError):
        return (_NOT_REPLAYED,)
    found: list[str] = []
    lots = lots_on_record(store)
    for lot_id in dict.fromkeys((*lots, *replayed.lots)):
        fault = _fault(lots.get(lot_id), replayed.lots.get(lot_id))
        if fault:
            found.append(f"lot {lot_id}: {fault}")
    return (*found, *_switching_faults(LotBook(store), replayed))


def _on_record(book: LotBook, lot: LotEntry) -> LotRecord:
    return LotRecord(
        lot=lot,
        readings=tuple(book.readings(lot.lot_id)),
        decision=book.decision(lot.lot_id),
        withdrawal=book.withdrawal(lot.lot_id),
        signatures=tuple(book.signatures(lot.lot_id)),
    )


def _fault(tables: LotRecord | None, trail: LotRecord | None) -> str:
    """Say in what a lot differs; empty if it does not."""
    if tables is None:
        return "it is missing from the records, and the trail has it"
    if trail is None:
        return "it is on record, and the trail does not have it"
    if tables.lot != trail.lot:
        return "product, size or terms on record are not those of the trail"
    if tables.readings != trail.readings:
        pairs = zip(tables.readings, trail.readings, strict=False)
        other = [mine.part for mine, theirs in pairs if mine != theirs]
        if other:
            parts = ", ".join(dict.fromkeys(other))
            return f"results of parts on record are not those of the trail: {parts}"
        return (
            f"{len(tables.readings)} results of parts are on record, and"
            f" {len(trail.readings)} in the trail"
        )
    if tables.decision != trail.decision:
        return "the decision on record is not that of the trail"
    return ""


def _switching_faults(book: LotBook, replayed: Replayed) -> list[str]:
    return [
        f"switching rules of {product}{f' from {supplier}' if supplier else ''}: the"
        " state on record is not that of the trail"
        for (product, supplier), state in replayed.switching.items()
        if book.switching_state(product, supplier) != state
    ]
