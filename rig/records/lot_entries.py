"""Lots as the records have them: begun, readings, decision, withdrawal, signatures."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Table

from rig.model.part_number import one_spelling
from rig.records.decoding import decodes
from rig.records.mapping import StoredRow, time_of


@dataclass(frozen=True, slots=True, kw_only=True)
class LotEntry:
    """A lot as it was begun.

    Attributes:
        lot_id: Identity of the lot; sorts by time of start.
        product: Product that the lot is of.
        supplier: Supplier of the lot; may be empty.
        size: Number of parts in the lot.
        terms: What its sample is taken and judged by: plain values, ready for JSON.
        resubmitted: Whether the lot was inspected before.
        operator: Name of whoever answers for the inspection; may be empty.
        begun_at: When, UTC.
    """

    lot_id: str
    product: str
    supplier: str
    size: int
    terms: Mapping[str, Any]
    resubmitted: bool
    operator: str
    begun_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPart:
    """One reading of one part of a lot's sample.

    Attributes:
        part: Serial or sample number of the part.
        decision: conforms, does not conform or undecided.
        reason: Reason for the decision, in words.
        value: Value of the figure that is kept; None where the part was looked at only.
        expanded_uncertainty: Expanded uncertainty of that value; None if there is none.
        unit: Unit of both; empty without a value.
        run_id: The run behind it; empty if it was entered by hand.
        simulated: Whether that run was simulated.
        entered_at: When, UTC.
        person: Who inspected it; empty if nobody said so.
        authority: Who permitted it that the part was inspected again; may be empty.
        why_again: Why it was inspected again; may be empty.
    """

    part: str
    decision: str
    reason: str
    value: float | None
    expanded_uncertainty: float | None
    unit: str
    run_id: str
    simulated: bool
    entered_at: datetime
    person: str = ""
    authority: str = ""
    why_again: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDecision:
    """What was decided about a lot.

    Attributes:
        lot_id: Identity of the lot.
        accepted: Whether the lot is accepted.
        sentence: The decision with its reason.
        document: All that it rests on, plain values.
        simulated: Whether a simulated part is behind it.
        decided_at: When, UTC.
        person: Who decided; empty if nobody said so.
    """

    lot_id: str
    accepted: bool
    sentence: str
    document: Mapping[str, Any]
    simulated: bool
    decided_at: datetime
    person: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawal:
    """That a lot was begun by mistake.

    Attributes:
        person: Who withdrew it; empty if nobody said so.
        authority: Who permitted it; empty where nothing was inspected yet.
        reason: Why it was withdrawn.
        at: When, UTC.
    """

    person: str
    authority: str
    reason: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """A signature under a lot.

    Attributes:
        person: Who signed.
        meaning: Meaning of the signature in a word: inspected, reviewed, approved.
        statement: Statement that was signed.
        at: When, UTC.
        entry: Number of its entry in the trail.
        hash: Hash of that entry, which covers all entries before.
    """

    person: str
    meaning: str
    statement: str
    at: datetime
    entry: int
    hash: str


def newest_readings(readings: Sequence[LotPart]) -> list[LotPart]:
    """Return the last reading of each part, in order of the first ones.

    Args:
        readings: Readings in order of entry.
    """
    latest: dict[str, LotPart] = {}
    for reading in readings:
        latest[reading.part] = reading
    return list(latest.values())


@decodes("a lot")
def lot_of(row: StoredRow) -> LotEntry:
    """Return the lot that a row of `lots` holds."""
    return LotEntry(
        lot_id=row["lot_id"],
        product=row["product"],
        supplier=row["supplier"],
        size=row["size"],
        terms=json.loads(row["terms"]),
        resubmitted=row["resubmitted"],
        operator=row["operator"],
        begun_at=time_of(row["begun_at"]),
    )


@decodes("a result of a part")
def part_of(row: StoredRow) -> LotPart:
    """Return the reading that a row of `lot_parts` holds."""
    return LotPart(
        part=one_spelling(row["part"]),
        decision=row["decision"],
        reason=row["reason"],
        value=row["value"],
        expanded_uncertainty=row["expanded_uncertainty"],
        unit=row["unit"],
        run_id=row["run_id"] or "",
        simulated=row["simulated"],
        entered_at=time_of(row["entered_at"]),
        person=row["person"],
        authority=row["authority"],
        why_again=row["why_again"],
    )


@decodes("a decision")
def decision_of(row: StoredRow) -> StoredDecision:
    """Return the decision that a row of `lot_decisions` holds."""
    return StoredDecision(
        lot_id=row["lot_id"],
        accepted=row["accepted"],
        sentence=row["sentence"],
        document=json.loads(row["document"]),
        simulated=row["simulated"],
        decided_at=time_of(row["decided_at"]),
        person=row["person"],
    )


def withdrawal_of(row: StoredRow) -> Withdrawal:
    """Return the withdrawal that a row of `trail` holds."""
    return Withdrawal(
        person=row["person"],
        authority=row["authority"],
        reason=row["reason"],
        at=time_of(row["entered_at"]),
    )


@decodes("a signature")
def signature_of(row: StoredRow) -> Signature:
    """Return the signature that a row of `trail` holds."""
    return Signature(
        person=row["person"],
        meaning=json.loads(row["state_after"])["signature"]["meaning"],
        statement=row["reason"],
        at=time_of(row["entered_at"]),
        entry=row["entry"],
        hash=row["hash"],
    )


def whole_row(table: Table, row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a row that was kept in the trail with every column of today."""
    return {
        column.name: row.get(column.name, None if column.nullable else "")
        for column in table.columns
    }
