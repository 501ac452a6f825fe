"""Operators on record, by the names that they are chosen by, and their PINs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import Connection, select

from rig.errors import InputError
from rig.model.grounds import Grounds
from rig.records.chain import insert_chained
from rig.records.mapping import time_of, time_text
from rig.records.pin_brake import (
    FREE_TRIALS,
    PinTrial,
    free_again_at,
    wrong_in_a_row,
)
from rig.records.pin_hash import PinHash, hash_pin
from rig.records.schema_trail import operator_pins, operators, pin_trials
from rig.records.store import Store
from rig.records.trail import Change, append_change
from rig.version import SOFTWARE_VERSION

_KIND: Final = "operator"
_NAMED: Final = "named"
_RETIRED: Final = "retired"
_PIN_SET: Final = "PIN set"


@dataclass(frozen=True, slots=True, kw_only=True)
class Operator:
    """Somebody who answers for what is on record.

    Attributes:
        name: Name that the operator is chosen by.
        authorises: Whether the operator may permit that a failed part is inspected
            again, and name operators.
        active: Whether the operator can be chosen.
        has_pin: Whether the operator has a PIN and can sign.
        entered_at: When this was put on record, UTC.
    """

    name: str
    authorises: bool
    active: bool
    has_pin: bool
    entered_at: datetime


class OperatorBook:
    """Operators on record.

    Every method raises `RecordsError` when the records cannot be read or written.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def every(self) -> list[Operator]:
        """Return every operator, those retired among them, by name."""
        query = select(operators).order_by(operators.c.operator_entry)
        with self._store.reading() as connection:
            with_pin = set(connection.scalars(select(operator_pins.c.name)))
            rows = connection.execute(query).mappings().all()
        newest = {row["name"]: row for row in rows}
        return [
            Operator(
                name=name,
                authorises=row["authorises"],
                active=row["active"],
                has_pin=name in with_pin,
                entered_at=time_of(row["entered_at"]),
            )
            for name, row in sorted(newest.items())
        ]

    def enter(
        self,
        name: str,
        *,
        authorises: bool,
        active: bool,
        grounds: Grounds,
        now: datetime,
    ) -> None:
        """Put on record from now on what an operator may do."""
        row = {
            "name": name,
            "authorises": authorises,
            "active": active,
            "entered_at": time_text(now),
            "software_version": SOFTWARE_VERSION,
        }
        with self._store.writing() as connection:
            before = (
                connection.execute(
                    select(operators)
                    .where(operators.c.name == name)
                    .order_by(operators.c.operator_entry.desc())
                    .limit(1)
                )
                .mappings()
                .first()
            )
            insert_chained(connection, operators, row)
            change = Change(
                kind=_KIND,
                subject=name,
                action=_NAMED if active else _RETIRED,
                grounds=grounds,
                before=None if before is None else {"operator": _state(dict(before))},
                after={"operator": _state(row)},
                at=now,
            )
            append_change(connection, change)

    def set_pin(self, name: str, pin: str, *, grounds: Grounds, now: datetime) -> None:
        """Keep the hash of a PIN; it counts from now on."""
        made = hash_pin(pin)
        row = {
            "name": name,
            "salt": made.salt,
            "hash": made.digest,
            "cost": made.cost,
            "block_size": made.block_size,
            "parallelization": made.parallelization,
            "entered_at": time_text(now),
        }
        with self._store.writing() as connection:
            connection.execute(operator_pins.insert(), row)
            change = Change(
                kind=_KIND,
                subject=name,
                action=_PIN_SET,
                grounds=grounds,
                before=None,
                after=None,
                at=now,
            )
            append_change(connection, change)

    def check_pin(self, name: str, pin: str, *, now: datetime) -> None:
        """Let only the PIN of an operator pass; each one that is tried is on record.

        Raises:
            InputError: It is wrong, the operator has none, or too many were wrong.
        """
        # In one transaction: of many tried at once, each counts before the next
        with self._store.writing() as connection:
            kept = _pin_of(connection, name)
            if kept is None:
                raise InputError(
                    f"{name} has no PIN",
                    hint=f"`gapsweep operator pin {name!r}` sets one",
                )
            trials = _trials(connection, name)
            free_at = free_again_at(trials)
            if free_at is not None and now < free_at:
                raise InputError(
                    f"{wrong_in_a_row(trials)} wrong PINs of {name} in a row: the next"
                    f" may be tried from {free_at:%Y-%m-%d %H:%M:%S} UTC on",
                    hint="each further one that is wrong doubles the wait",
                )
            accepted = kept.fits(pin)
            connection.execute(
                pin_trials.insert(),
                {"name": name, "accepted": accepted, "tried_at": time_text(now)},
            )
        if not accepted:
            left = FREE_TRIALS - wrong_in_a_row(trials) - 1
            wait = f"{left} more before a wait" if left > 0 else "now there is a wait"
            raise InputError(f"the PIN of {name} is not right", hint=wait)


def _state(row: dict[str, object]) -> dict[str, object]:
    return {name: row[name] for name in ("name", "authorises", "active")}


def _pin_of(connection: Connection, name: str) -> PinHash | None:
    query = (
        select(operator_pins)
        .where(operator_pins.c.name == name)
        .order_by(operator_pins.c.pin_entry.desc())
        .limit(1)
    )
    row = connection.execute(query).mappings().first()
    if row is None:
        return None
    return PinHash(
        salt=row["salt"],
        digest=row["hash"],
        cost=row["cost"],
        block_size=row["block_size"],
        parallelization=row["parallelization"],
    )


def _trials(connection: Connection, name: str) -> list[PinTrial]:
    query = (
        select(pin_trials)
        .where(pin_trials.c.name == name)
        .order_by(pin_trials.c.trial_entry)
    )
    return [
        PinTrial(accepted=row["accepted"], tried_at=time_of(row["tried_at"]))
        for row in connection.execute(query).mappings()
    ]
