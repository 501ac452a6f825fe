"""The trail replayed: what it makes of every lot, switching state and calibration.

Nothing else of the records is read, so that what is on record can be held against it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from rig.records.lot_entries import (
    LotEntry,
    LotPart,
    Signature,
    StoredDecision,
    Withdrawal,
    decision_of,
    lot_of,
    part_of,
    whole_row,
)
from rig.records.mapping import json_text
from rig.records.schema_decisions import lot_decisions, lot_parts, lots
from rig.records.trail import CALIBRATION, LOT, SIGNED, SWITCHING, WITHDRAWN
from rig.records.trail_book import TrailEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRecord:
    """All that is on record of a lot.

    Attributes:
        lot: The lot as it was begun.
        readings: Every reading of its parts, in order of entry.
        decision: Decision about it; None as long as there is none.
        withdrawal: Who withdrew it, when and why; None if it stands.
        signatures: Signatures under it, in the order signed.
    """

    lot: LotEntry
    readings: tuple[LotPart, ...] = ()
    decision: StoredDecision | None = None
    withdrawal: Withdrawal | None = None
    signatures: tuple[Signature, ...] = ()


@dataclass(slots=True, kw_only=True)
class Replayed:
    """What the trail makes of the records.

    Attributes:
        lots: Lots by identity.
        switching: Switching state in force by product and supplier.
        calibrations: Identity of the calibration in force by rig.
    """

    lots: dict[str, LotRecord] = field(default_factory=dict)
    switching: dict[tuple[str, str], Mapping[str, Any]] = field(default_factory=dict)
    calibrations: dict[str, str] = field(default_factory=dict)


def replay(entries: Iterable[TrailEntry]) -> Replayed:
    """Replay the trail from its first entry.

    Raises:
        KeyError: An entry is of a lot that the trail did not begin.
    """
    found = Replayed()
    for one in entries:
        after = one.after or {}
        if one.kind == LOT:
            _replay_lot(found, one.subject, after)
            if one.action == WITHDRAWN:
                _replay_withdrawal(found, one)
            elif one.action == SIGNED:
                _replay_signature(found, one, after["signature"]["meaning"])
        elif one.kind == SWITCHING:
            found.switching[after["product"], after["supplier"]] = after["state"]
        elif one.kind == CALIBRATION:
            found.calibrations[one.subject] = after["calibration"]["calibration_id"]
    return found


def _replay_lot(found: Replayed, lot_id: str, after: Mapping[str, Any]) -> None:
    """Take one entry of a lot; the keys say what it holds."""
    if "lot" in after:
        row = whole_row(lots, after["lot"])
        found.lots[lot_id] = LotRecord(lot=lot_of(_folded(row, "terms")))
    rows = [*after.get("parts", ()), *([after["part"]] if "part" in after else ())]
    parts = [part_of(whole_row(lot_parts, row)) for row in rows]
    lot = found.lots[lot_id]
    lot = replace(lot, readings=(*lot.readings, *parts))
    if after.get("decision"):
        row = whole_row(lot_decisions, after["decision"])
        lot = replace(lot, decision=decision_of(_folded(row, "document")))
    state = after.get("switching_state")
    if state is not None:
        found.switching[lot.lot.product, lot.lot.supplier] = state
    found.lots[lot_id] = lot


def _replay_withdrawal(found: Replayed, one: TrailEntry) -> None:
    withdrawal = Withdrawal(
        person=one.person, authority=one.authority, reason=one.reason, at=one.at
    )
    lot = replace(found.lots[one.subject], withdrawal=withdrawal)
    found.lots[one.subject] = lot


def _replay_signature(found: Replayed, one: TrailEntry, meaning: str) -> None:
    signature = Signature(
        person=one.person,
        meaning=meaning,
        statement=one.reason,
        at=one.at,
        entry=one.entry,
        hash=one.hash,
    )
    lot = found.lots[one.subject]
    found.lots[one.subject] = replace(lot, signatures=(*lot.signatures, signature))


def _folded(row: Mapping[str, Any], column: str) -> dict[str, Any]:
    """Return a row with one column as the JSON text that the records keep."""
    return {**row, column: json_text(row[column])}
