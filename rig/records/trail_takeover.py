"""The start of the trail in earlier records: what was decided before it was kept."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, Select, Table, select

from rig.model.grounds import Grounds
from rig.records.lot_changes import switching_state
from rig.records.schema_decisions import (
    calibrations,
    lot_decisions,
    lot_parts,
    lots,
    switching_states,
)
from rig.records.trail import (
    CALIBRATION,
    LOT,
    SWITCHING,
    TAKEN_OVER,
    Change,
    append_change,
    unfolded,
)

_GROUNDS: Final = Grounds(reason="on record before the trail was kept")
Row = dict[str, Any]


def take_over(connection: Connection, now: datetime) -> None:
    """Add to the trail every lot, switching state and calibration as it stands."""
    for row in _rows(connection, select(lots).order_by(lots.c.lot_id)):
        after = _lot(connection, row)
        _append(connection, LOT, row["lot_id"], after, now)
    states: dict[tuple[str, str], Row] = {}
    for row in _rows(
        connection, select(switching_states).order_by(switching_states.c.state_id)
    ):
        states[row["product"], row["supplier"]] = json.loads(row["state"])
    for (product, supplier), state in states.items():
        after = switching_state(product, supplier, state)
        _append(connection, SWITCHING, product, after, now)
    newest: dict[str, Row] = {}
    for row in _rows(
        connection, select(calibrations).order_by(calibrations.c.entered_at)
    ):
        newest[row["rig_id"]] = row
    for rig_id, row in newest.items():
        after = {"calibration": unfolded(unfolded(row, "table"), "readings")}
        _append(connection, CALIBRATION, rig_id, after, now)


def _lot(connection: Connection, row: Row) -> Row:
    lot_id = row["lot_id"]
    parts = _rows(connection, _of_lot(lot_parts, lot_id).order_by(lot_parts.c.entry))
    decided = _rows(connection, _of_lot(lot_decisions, lot_id))
    return {
        "lot": unfolded(row, "terms"),
        "parts": parts,
        "decision": unfolded(decided[0], "document") if decided else None,
    }


def _of_lot(table: Table, lot_id: str) -> Select[Any]:
    return select(table).where(table.c.lot_id == lot_id)


def _rows(connection: Connection, query: Select[Any]) -> list[Row]:
    return [dict(row) for row in connection.execute(query).mappings()]


def _append(
    connection: Connection,
    kind: str,
    subject: str,
    after: Mapping[str, Any],
    now: datetime,
) -> None:
    change = Change(
        kind=kind,
        subject=subject,
        action=TAKEN_OVER,
        grounds=_GROUNDS,
        before=None,
        after=after,
        at=now,
    )
    append_change(connection, change)
