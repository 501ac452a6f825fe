"""Whether the records are as they were written: chain, trail, lots and runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from rig.inquiry.chain_anchor import Anchor, fault_against
from rig.inquiry.trail_replay import LotRecord, Replayed, replay
from rig.records import Reader, RunSummary, Store
from rig.records.chain_check import RecordsChain, check_records_chain
from rig.records.file_damage import damage_to_file
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
        damage: What the database says of damage to the file, in words.
        chain: The chain over every row that decides, and what is not as it has it.
        anchors: Number of earlier heads of the chain that it was held against.
        anchor_faults: What of the chain is not as one of them has it.
        trail_kept: Whether a trail is kept; earlier records that are only read have
            none.
        trail: Check of the chain of the trail.
        lots: Number of lots held against the trail.
        lot_faults: What is on record of lots otherwise than the trail has it.
        runs: Number of runs that were held against the chain.
        run_faults: What of runs is not as it was written.
        clock: Runs that the clock has earlier than one that was recorded before them;
            no fault of the records.
        intact: Whether nothing was found.
    """

    damage: tuple[str, ...]
    chain: RecordsChain
    anchors: int
    anchor_faults: tuple[str, ...]
    trail_kept: bool
    trail: ChainCheck
    lots: int
    lot_faults: tuple[str, ...]
    runs: int
    run_faults: tuple[str, ...]
    clock: tuple[str, ...]
    intact: bool


def verify_records(store: Store, against: Sequence[Anchor] = ()) -> Verification:
    """Check all that is on record, read at one moment.

    Args:
        store: Open records.
        against: Earlier heads of the chain that were kept elsewhere.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        with moment.reading() as connection:
            damage = damage_to_file(connection)
            chain = check_records_chain(connection)
        differing = (fault_against(moment, anchor) for anchor in against)
        anchor_faults = tuple(fault for fault in differing if fault)
        book = TrailBook(moment)
        kept, trail = book.kept(), book.check()
        lots = lots_on_record(moment) if kept else {}
        lot_faults = lot_faults_of(moment) if kept else ()
        reader = Reader(moment)
        runs = reader.runs()
        checks = reader.checks([run.run_id for run in runs])
    run_faults = tuple(
        f"run {run_id}: {change}"
        for run_id, check in checks.items()
        for change in check.changes
    )
    return Verification(
        damage=damage,
        chain=chain,
        anchors=len(against),
        anchor_faults=anchor_faults,
        trail_kept=kept,
        trail=trail,
        lots=len(lots),
        lot_faults=lot_faults,
        runs=len(runs),
        run_faults=run_faults,
        clock=tuple(_set_back(runs)),
        intact=not (
            damage
            or chain.faults
            or anchor_faults
            or trail.faults
            or lot_faults
            or run_faults
        ),
    )


def _set_back(runs: Sequence[RunSummary]) -> Iterator[str]:
    """Yield where the clock was set back between runs, in the order recorded."""
    for before, run in pairwise(runs):
        if run.started_at < before.started_at:
            yield (
                f"run {run.run_id} was recorded after run {before.run_id}, and the"
                f" clock has it {before.started_at - run.started_at} earlier: it was"
                " set back, or was ahead before"
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
