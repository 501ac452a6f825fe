"""Finds lots by words and in an order, a page at a time, inside the database."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, case, cast, func, inspect, literal, select
from sqlalchemy.types import String

from rig.records.list_wanted import ListWanted
from rig.records.schema_decisions import lot_decisions, lot_parts, lots
from rig.records.schema_trail import trail
from rig.records.store import Store
from rig.records.trail import LOT, WITHDRAWN


class LotsBy(StrEnum):
    """What lots are sorted by."""

    BEGUN = "begun"
    PRODUCT = "product"
    SUPPLIER = "supplier"
    SIZE = "size"
    STATE = "state"


class LotState(StrEnum):
    """What became of a lot, by its rows alone."""

    OPEN = "not decided"
    ACCEPTED = "accepted"
    REFUSED = "not accepted"
    WITHDRAWN = "withdrawn"


_BY_STATE: Final = tuple(LotState)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotsWanted(ListWanted):
    """Which lots, in which order.

    A word is looked for in the identity of a lot, its product, supplier, inspector,
    state and the day when it was begun; also "simulated".

    Attributes:
        by: What they are sorted by.
    """

    by: LotsBy = LotsBy.BEGUN


@dataclass(frozen=True, slots=True, kw_only=True)
class LotsFound:
    """A page of lots.

    Attributes:
        lot_ids: Identities of the lots, in the order asked for.
        matching: How many have all words.
        on_record: How many there are at all.
    """

    lot_ids: tuple[str, ...]
    matching: int
    on_record: int


def find_lots(store: Store, wanted: LotsWanted) -> LotsFound:
    """Find lots by words, in an order.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        withdrawable = inspect(connection).has_table(trail.name)
        state = _state(withdrawable=withdrawable)
        rows = select(lots.c.lot_id).outerjoin(
            lot_decisions, lot_decisions.c.lot_id == lots.c.lot_id
        )
        fitting = rows
        for word in wanted.words:
            text = _words(state)
            fitting = fitting.where(text.contains(word.lower(), autoescape=True))
        page = fitting.order_by(*_order(wanted, state)).offset(wanted.first)
        if wanted.limit is not None:
            page = page.limit(wanted.limit)
        return LotsFound(
            lot_ids=tuple(connection.scalars(page)),
            matching=connection.scalar(_count(fitting)) or 0,
            on_record=connection.scalar(_count(rows)) or 0,
        )


def _count(query: Select[Any]) -> Select[Any]:
    return select(func.count()).select_from(query.subquery())


def _state(*, withdrawable: bool) -> ColumnElement[str]:
    """Return the state of a lot; earlier records, without a trail, withdraw none."""
    states: list[tuple[ColumnElement[bool], str]] = []
    if withdrawable:
        withdrawn = (
            select(trail.c.subject)
            .where(trail.c.kind == LOT, trail.c.action == WITHDRAWN)
            .scalar_subquery()
        )
        states.append((lots.c.lot_id.in_(withdrawn), LotState.WITHDRAWN.value))
    states += [
        (lot_decisions.c.accepted.is_(True), LotState.ACCEPTED.value),
        (lot_decisions.c.accepted.is_(False), LotState.REFUSED.value),
    ]
    return case(*states, else_=LotState.OPEN.value)


def _words(state: ColumnElement[str]) -> ColumnElement[str]:
    simulated = lots.c.lot_id.in_(
        select(lot_parts.c.lot_id).where(lot_parts.c.simulated.is_(True))
    )
    text: ColumnElement[str] = cast(lots.c.lot_id, String)
    for part in (
        *(lots.c.product, lots.c.supplier, lots.c.operator, state),
        func.substr(lots.c.begun_at, 1, 10),
        case((simulated, "simulated"), else_="real"),
    ):
        text = text + literal(" ") + part
    return func.lower(text)


def _order(wanted: LotsWanted, state: ColumnElement[str]) -> list[ColumnElement[Any]]:
    place = case(
        *((state == one.value, number) for number, one in enumerate(_BY_STATE))
    )
    key: ColumnElement[Any] = {
        LotsBy.BEGUN: lots.c.begun_at,
        LotsBy.PRODUCT: func.lower(lots.c.product),
        LotsBy.SUPPLIER: func.lower(lots.c.supplier),
        LotsBy.SIZE: lots.c.size,
        LotsBy.STATE: place,
    }[wanted.by]
    # Of those that are alike, the latest first
    return [
        key.desc() if wanted.falling else key.asc(),
        lots.c.begun_at.desc(),
        lots.c.lot_id.desc(),
    ]
