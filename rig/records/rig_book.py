"""The register of rigs: as what each was known when it measured. Adds only."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, Select, select

from rig.model.grounds import Grounds
from rig.records.chain import insert_chained
from rig.records.decoding import decodes
from rig.records.mapping import StoredRow, json_text, time_of, time_text
from rig.records.schema_rigs import rigs
from rig.records.store import Store
from rig.records.trail import Change, append_change
from rig.version import SOFTWARE_VERSION

RIG: Final = "rig"
FIRST_SEEN: Final = "first seen"
CONFIRMED: Final = "change confirmed"
MORE_KNOWN: Final = "more known"
Traits = Mapping[str, float | int | str]


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownRig:
    """A rig as it is known.

    Attributes:
        rig_id: Identity of the rig.
        traits: What its controller said of it, by name.
        confirmed_by: Who confirmed that it changed; empty for one that was new.
        entered_at: When it was seen or confirmed, UTC.
    """

    rig_id: str
    traits: Traits
    confirmed_by: str
    entered_at: datetime


class RigBook:
    """Rigs on record.

    Every method raises `RecordsError` when the records cannot be read or written.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def known(self, rig_id: str) -> KnownRig | None:
        """Return a rig as it is known now; None for one that never measured here."""
        with self._store.reading() as connection:
            return _known(connection, rig_id)

    def enter(
        self, rig_id: str, traits: Traits, *, confirmed_by: str = "", now: datetime
    ) -> None:
        """Put on record what a rig is known as from now on.

        Args:
            rig_id: Identity of the rig.
            traits: What its controller says of it.
            confirmed_by: Who confirms that it changed; empty for one that is new, or of
                which more is asked than before.
            now: Time, UTC.
        """
        row = {
            "rig_id": rig_id,
            "traits": json_text(dict(traits)),
            "confirmed_by": confirmed_by,
            "entered_at": time_text(now),
            "software_version": SOFTWARE_VERSION,
        }
        with self._store.writing() as connection:
            before = _known(connection, rig_id)
            action = CONFIRMED if confirmed_by else MORE_KNOWN
            insert_chained(connection, rigs, row)
            change = Change(
                kind=RIG,
                subject=rig_id,
                action=FIRST_SEEN if before is None else action,
                grounds=Grounds(person=confirmed_by),
                before=None if before is None else {"rig": dict(before.traits)},
                after={"rig": dict(traits)},
                at=now,
            )
            append_change(connection, change)


def _known(connection: Connection, rig_id: str) -> KnownRig | None:
    row = connection.execute(_newest(rig_id)).mappings().first()
    return None if row is None else _rig_of(row)


def _newest(rig_id: str) -> Select[Any]:
    return (
        select(rigs)
        .where(rigs.c.rig_id == rig_id)
        .order_by(rigs.c.rig_entry.desc())
        .limit(1)
    )


@decodes("a rig")
def _rig_of(row: StoredRow) -> KnownRig:
    return KnownRig(
        rig_id=row["rig_id"],
        traits=json.loads(row["traits"]),
        confirmed_by=row["confirmed_by"],
        entered_at=time_of(row["entered_at"]),
    )
