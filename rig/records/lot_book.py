"""Lots on record: begun, their parts, the decision, the switching state. Adds only."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, func, inspect, select

from rig.errors import InputError, RecordsError
from rig.model.grounds import NO_GROUNDS, Grounds
from rig.model.part_number import one_spelling
from rig.records.chain import insert_chained
from rig.records.columns import is_part, same_part
from rig.records.failures import not_on_record
from rig.records.lot_changes import (
    inspection_resumed,
    lot_begun,
    lot_decided,
    lot_signed,
    lot_withdrawn,
    part_inspected,
)
from rig.records.lot_entries import (
    LotEntry,
    LotPart,
    Signature,
    StoredDecision,
    Withdrawal,
    decision_of,
    lot_of,
    newest_readings,
    part_of,
    signature_of,
    withdrawal_of,
)
from rig.records.mapping import json_text, time_text
from rig.records.schema_decisions import (
    lot_decisions,
    lot_parts,
    lots,
    switching_states,
)
from rig.records.schema_trail import trail
from rig.records.store import Store
from rig.records.trail import LOT, SIGNED, WITHDRAWN, append_change
from rig.version import SOFTWARE_VERSION


class LotBook:
    """Lots on record.

    Every method raises `RecordsError` when the records cannot be read or written, and
    then has kept nothing.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    @property
    def store(self) -> Store:
        """Records that the lots are in."""
        return self._store

    def begin(self, lot: LotEntry) -> None:
        """Put a lot on record before its first part."""
        row = {
            "lot_id": lot.lot_id,
            "product": lot.product,
            "supplier": lot.supplier,
            "size": lot.size,
            "terms": json_text(dict(lot.terms)),
            "resubmitted": lot.resubmitted,
            "operator": lot.operator,
            "begun_at": time_text(lot.begun_at),
            "software_version": SOFTWARE_VERSION,
        }
        with self._store.writing() as connection:
            insert_chained(connection, lots, row)
            append_change(connection, lot_begun(row, at=lot.begun_at))

    def lot(self, lot_id: str) -> LotEntry:
        """Return a lot as it was begun."""
        with self._store.reading() as connection:
            row = connection.execute(select(lots).where(lots.c.lot_id == lot_id))
            found = row.mappings().first()
        if found is None:
            raise not_on_record("lot", lot_id, self._store.where)
        return lot_of(found)

    def all_lots(self) -> list[LotEntry]:
        """Return every lot, oldest first."""
        query = select(lots).order_by(lots.c.begun_at, lots.c.lot_id)
        with self._store.reading() as connection:
            return [lot_of(row) for row in connection.execute(query).mappings()]

    def add_part(self, lot_id: str, part: LotPart, *, known: int | None = None) -> None:
        """Add one reading of a part; an earlier one of the same part stays.

        Args:
            lot_id: Identity of the lot.
            part: The reading.
            known: Number of readings of the part that whoever adds it knows of; None if
                nobody counted.

        Raises:
            InputError: Its run is on record as a reading already: one run is one part.
            RecordsError: The lot is decided, or more readings are there than are known.
        """
        with self._store.writing() as connection:
            _check_stands(connection, lot_id)
            if _decided(connection, lot_id):
                raise RecordsError(
                    f"the lot {lot_id} is decided and takes no further part",
                    hint="begin a new lot; a lot inspected again is --resubmitted",
                )
            last = connection.scalar(
                select(func.max(lot_parts.c.entry)).where(lot_parts.c.lot_id == lot_id)
            )
            row = {
                "lot_id": lot_id,
                "entry": 0 if last is None else last + 1,
                "part": one_spelling(part.part),
                "decision": part.decision,
                "reason": part.reason,
                "value": part.value,
                "expanded_uncertainty": part.expanded_uncertainty,
                "unit": part.unit,
                "run_id": part.run_id or None,
                "simulated": part.simulated,
                "entered_at": time_text(part.entered_at),
                "software_version": SOFTWARE_VERSION,
                "person": part.person,
                "authority": part.authority,
                "why_again": part.why_again,
            }
            _check_run_is_new(connection, lot_id, part)
            times = _times_read(connection, lot_id, part.part)
            if known is not None and known != times:
                raise RecordsError(
                    f"part {part.part} of the lot {lot_id} was inspected by somebody"
                    " else meanwhile",
                    hint="look at the lot, then inspect the part again if it is needed",
                )
            before = _last_of(connection, lot_id, part.part)
            insert_chained(connection, lot_parts, row)
            append_change(
                connection, part_inspected(row, before=before, at=part.entered_at)
            )

    def readings(self, lot_id: str) -> list[LotPart]:
        """Return every reading of the lot's parts, in order of entry."""
        query = (
            select(lot_parts)
            .where(lot_parts.c.lot_id == lot_id)
            .order_by(lot_parts.c.entry)
        )
        with self._store.reading() as connection:
            return [part_of(row) for row in connection.execute(query).mappings()]

    def readings_of_part(self, part: str) -> list[tuple[str, LotPart]]:
        """Return every reading of a part in any lot, with the lot, in order of time."""
        query = (
            select(lot_parts)
            .where(is_part(lot_parts.c.part, part))
            .order_by(lot_parts.c.entered_at, lot_parts.c.lot_id, lot_parts.c.entry)
        )
        with self._store.reading() as connection:
            rows = connection.execute(query).mappings().all()
        return [(row["lot_id"], part_of(row)) for row in rows]

    def readings_of_parts(self, parts: Collection[str]) -> list[tuple[str, LotPart]]:
        """Return every reading of some parts, with the lot, in order of time.

        Args:
            parts: Numbers in their one spelling; few enough for one statement.
        """
        query = (
            select(lot_parts)
            .where(same_part(lot_parts.c.part).in_([one.upper() for one in parts]))
            .order_by(lot_parts.c.entered_at, lot_parts.c.lot_id, lot_parts.c.entry)
        )
        with self._store.reading() as connection:
            rows = connection.execute(query).mappings().all()
        return [(row["lot_id"], part_of(row)) for row in rows]

    def parts(self, lot_id: str) -> list[LotPart]:
        """Return the last reading of each part, in order of the first ones."""
        return newest_readings(self.readings(lot_id))

    def decide(
        self,
        decision: StoredDecision,
        lot: LotEntry,
        state: Mapping[str, Any] | None,
    ) -> None:
        """Put the decision and the switching state after it on record, both or none.

        Args:
            decision: Decision about the lot; made once.
            lot: Lot that the decision is about.
            state: Switching state for the next lot; None where no switching rules
                apply.
        """
        row = {
            "lot_id": decision.lot_id,
            "accepted": decision.accepted,
            "sentence": decision.sentence,
            "document": json_text(dict(decision.document)),
            "simulated": decision.simulated,
            "decided_at": time_text(decision.decided_at),
            "software_version": SOFTWARE_VERSION,
            "person": decision.person,
        }
        at = decision.decided_at
        with self._store.writing() as connection:
            _check_stands(connection, lot.lot_id)
            insert_chained(connection, lot_decisions, row)
            if state is not None:
                _add_state(connection, lot.product, lot.supplier, lot.lot_id, state, at)
            append_change(connection, lot_decided(row, state=state, at=at))

    def withdraw(self, lot_id: str, *, grounds: Grounds, now: datetime) -> None:
        """Withdraw a lot that was begun by mistake; all of it stays on record."""
        with self._store.writing() as connection:
            _check_stands(connection, lot_id)
            if _decided(connection, lot_id):
                raise RecordsError(f"the lot {lot_id} is decided about and stays so")
            append_change(connection, lot_withdrawn(lot_id, grounds=grounds, at=now))

    def withdrawal(self, lot_id: str) -> Withdrawal | None:
        """Return who withdrew a lot, when and why; None if it stands."""
        with self._store.reading() as connection:
            if not inspect(connection).has_table(trail.name):
                return None
            return _withdrawal(connection, lot_id)

    def sign(
        self, lot_id: str, meaning: str, statement: str, *, person: str, now: datetime
    ) -> None:
        """Put a signature under a lot; it stands in the trail."""
        change = lot_signed(lot_id, meaning, statement, person=person, at=now)
        with self._store.writing() as connection:
            append_change(connection, change)

    def signatures(self, lot_id: str) -> list[Signature]:
        """Return the signatures under a lot, in the order signed."""
        query = _entries_of(lot_id, SIGNED).order_by(trail.c.entry)
        with self._store.reading() as connection:
            if not inspect(connection).has_table(trail.name):
                return []
            return [signature_of(row) for row in connection.execute(query).mappings()]

    def decision(self, lot_id: str) -> StoredDecision | None:
        """Return what was decided about a lot; None if nothing was yet."""
        query = select(lot_decisions).where(lot_decisions.c.lot_id == lot_id)
        with self._store.reading() as connection:
            row = connection.execute(query).mappings().first()
        if row is None:
            return None
        return decision_of(row)

    def switching_state(self, product: str, supplier: str) -> Mapping[str, Any] | None:
        """Return the state in force; None if no lot of this kind was decided yet."""
        with self._store.reading() as connection:
            return _state_in_force(connection, product, supplier)

    def add_state(
        self,
        product: str,
        supplier: str,
        state: Mapping[str, Any],
        at: datetime,
        grounds: Grounds = NO_GROUNDS,
    ) -> None:
        """Add a state that no lot led to, such as after an action of the supplier."""
        with self._store.writing() as connection:
            before = _state_in_force(connection, product, supplier)
            _add_state(connection, product, supplier, None, state, at)
            append_change(
                connection,
                inspection_resumed(
                    (product, supplier), before, state, grounds=grounds, at=at
                ),
            )


def _add_state(
    connection: Connection,
    product: str,
    supplier: str,
    lot_id: str | None,
    state: Mapping[str, Any],
    at: datetime,
) -> None:
    insert_chained(
        connection,
        switching_states,
        {
            "product": product,
            "supplier": supplier,
            "lot_id": lot_id,
            "state": json_text(dict(state)),
            "entered_at": time_text(at),
        },
    )


def _state_in_force(
    connection: Connection, product: str, supplier: str
) -> dict[str, Any] | None:
    query = (
        select(switching_states.c.state)
        .where(switching_states.c.product == product)
        .where(switching_states.c.supplier == supplier)
        .order_by(switching_states.c.state_id.desc())
        .limit(1)
    )
    text = connection.scalar(query)
    return None if text is None else dict(json.loads(text))


def _last_of(
    connection: Connection, lot_id: str, part: str
) -> Mapping[str, Any] | None:
    """Return the row of the last reading of a part; None before the first one."""
    query = (
        select(lot_parts)
        .where(lot_parts.c.lot_id == lot_id)
        .where(is_part(lot_parts.c.part, part))
        .order_by(lot_parts.c.entry.desc())
        .limit(1)
    )
    found = connection.execute(query).mappings().first()
    return None if found is None else dict(found)


def _entries_of(lot_id: str, action: str) -> Select[Any]:
    return (
        select(trail)
        .where(trail.c.kind == LOT)
        .where(trail.c.subject == lot_id)
        .where(trail.c.action == action)
    )


def _withdrawal(connection: Connection, lot_id: str) -> Withdrawal | None:
    row = connection.execute(_entries_of(lot_id, WITHDRAWN)).mappings().first()
    return None if row is None else withdrawal_of(row)


def _check_stands(connection: Connection, lot_id: str) -> None:
    found = _withdrawal(connection, lot_id)
    if found is not None:
        raise RecordsError(f"the lot {lot_id} was withdrawn: {found.reason}")


def _times_read(connection: Connection, lot_id: str, part: str) -> int:
    query = (
        select(func.count())
        .select_from(lot_parts)
        .where(lot_parts.c.lot_id == lot_id)
        .where(is_part(lot_parts.c.part, part))
    )
    return int(connection.scalar(query) or 0)


def _check_run_is_new(connection: Connection, lot_id: str, part: LotPart) -> None:
    """Refuse a run that is a reading of a lot that stands, of whatever part."""
    if not part.run_id:
        return
    query = select(lot_parts).where(lot_parts.c.run_id == part.run_id)
    rows = connection.execute(query).mappings().all()
    standing = [r for r in rows if _withdrawal(connection, r["lot_id"]) is None]
    if not standing:
        return
    row = standing[0]
    where = "of this lot" if row["lot_id"] == lot_id else f"of the lot {row['lot_id']}"
    raise InputError(
        f"run {part.run_id} is on record as part {row['part']} {where}",
        hint="one run is one result of one part: measure the part anew",
    )


def _decided(connection: Connection, lot_id: str) -> bool:
    query = select(lot_decisions.c.lot_id).where(lot_decisions.c.lot_id == lot_id)
    return connection.scalar(query) is not None
