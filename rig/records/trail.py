"""The trail: who changed what on record, when, and why. Adds only.

What is changed and its entry in the trail are written in one transaction, both or none.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, select

from rig.model.grounds import Grounds
from rig.records.chain import insert_chained
from rig.records.mapping import json_text, time_text
from rig.records.schema_trail import trail
from rig.records.trail_chain import NO_HASH, entry_hash
from rig.version import SOFTWARE_VERSION

LOT: Final = "lot"
SWITCHING: Final = "switching rules"
CALIBRATION: Final = "calibration"
BENCH: Final = "bench"
NOTE: Final = "note"
PRODUCT: Final = "product"
DOCUMENT: Final = "document"

BEGUN: Final = "begun"
INSPECTED: Final = "part inspected"
INSPECTED_AGAIN: Final = "part inspected again"
DECIDED: Final = "decided"
RESUMED: Final = "inspection resumed"
ENTERED: Final = "entered"
DECLARED: Final = "declared"
APPROVED: Final = "approved"
WITHDRAWN: Final = "withdrawn"
SIGNED: Final = "signed"
ISSUED: Final = "issued"
TAKEN_OVER: Final = "taken over"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change, before it has its place in the trail.

    Attributes:
        kind: What kind of thing is changed.
        subject: Identity of the thing within its kind.
        action: What is done to it.
        grounds: Who does it, under whose authority, and why.
        before: What was on record, plain values; None for nothing.
        after: What is on record from then on, plain values; None for nothing.
        at: When, UTC.
    """

    kind: str
    subject: str
    action: str
    grounds: Grounds
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None
    at: datetime


def append_change(connection: Connection, change: Change) -> None:
    """Add a change to the end of the trail, inside the transaction that makes it."""
    last = connection.execute(
        select(trail.c.entry, trail.c.hash).order_by(trail.c.entry.desc()).limit(1)
    ).first()
    number, head = (0, NO_HASH) if last is None else (last.entry, last.hash)
    row = {
        "entry": number + 1,
        "kind": change.kind,
        "subject": change.subject,
        "action": change.action,
        "person": change.grounds.person,
        "authority": change.grounds.authority,
        "reason": change.grounds.reason,
        "state_before": _text(change.before),
        "state_after": _text(change.after),
        "entered_at": time_text(change.at),
        "software_version": SOFTWARE_VERSION,
        "previous_hash": head,
    }
    insert_chained(connection, trail, row | {"hash": entry_hash(row)})


def unfolded(row: Mapping[str, Any], column: str) -> dict[str, Any]:
    """Return a row with the JSON text of one column as what it says."""
    return {**row, column: json.loads(row[column])}


def _text(state: Mapping[str, Any] | None) -> str:
    return json_text(None if state is None else dict(state))
