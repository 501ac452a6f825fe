"""Changes of lots as the trail keeps them: whole rows, so that they can be replayed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from rig.model.grounds import Grounds
from rig.records.trail import (
    BEGUN,
    DECIDED,
    INSPECTED,
    INSPECTED_AGAIN,
    LOT,
    RESUMED,
    SIGNED,
    SWITCHING,
    WITHDRAWN,
    Change,
    unfolded,
)

Row = Mapping[str, Any]


def lot_begun(row: Row, *, at: datetime) -> Change:
    """Return the change that a row of `lots` makes."""
    return Change(
        kind=LOT,
        subject=row["lot_id"],
        action=BEGUN,
        grounds=Grounds(person=row["operator"]),
        before=None,
        after={"lot": unfolded(row, "terms")},
        at=at,
    )


def part_inspected(row: Row, *, before: Row | None, at: datetime) -> Change:
    """Return the change that a row of `lot_parts` makes.

    Args:
        row: The row.
        before: Row of the reading of the same part before it; None for the first one.
        at: When, UTC.
    """
    return Change(
        kind=LOT,
        subject=row["lot_id"],
        action=INSPECTED if before is None else INSPECTED_AGAIN,
        grounds=Grounds(
            person=row["person"],
            authority=row["authority"],
            reason=row["why_again"],
        ),
        before=None if before is None else {"part": before},
        after={"part": row},
        at=at,
    )


def lot_decided(row: Row, *, state: Row | None, at: datetime) -> Change:
    """Return the change that a row of `lot_decisions` makes.

    Args:
        row: The row.
        state: Switching state that it led to; None by variables.
        at: When, UTC.
    """
    return Change(
        kind=LOT,
        subject=row["lot_id"],
        action=DECIDED,
        grounds=Grounds(person=row["person"], reason=row["sentence"]),
        before=None,
        after={"decision": unfolded(row, "document"), "switching_state": state},
        at=at,
    )


def lot_withdrawn(lot_id: str, *, grounds: Grounds, at: datetime) -> Change:
    """Return the change of a lot that is withdrawn; the trail alone keeps it."""
    return Change(
        kind=LOT,
        subject=lot_id,
        action=WITHDRAWN,
        grounds=grounds,
        before=None,
        after={"withdrawn": True},
        at=at,
    )


def lot_signed(
    lot_id: str, meaning: str, statement: str, *, person: str, at: datetime
) -> Change:
    """Return the change of a lot that is signed; the trail alone keeps it."""
    return Change(
        kind=LOT,
        subject=lot_id,
        action=SIGNED,
        grounds=Grounds(person=person, reason=statement),
        before=None,
        after={"signature": {"meaning": meaning}},
        at=at,
    )


def inspection_resumed(
    whose: tuple[str, str],
    before: Row | None,
    after: Row,
    *,
    grounds: Grounds,
    at: datetime,
) -> Change:
    """Return the change of a switching state that no lot led to.

    Args:
        whose: Product and supplier.
        before: State in force until then; None without one.
        after: State in force from then on.
        grounds: Who resumed inspection, and why.
        at: When, UTC.
    """
    product, supplier = whose
    return Change(
        kind=SWITCHING,
        subject=product,
        action=RESUMED,
        grounds=grounds,
        before=None if before is None else switching_state(product, supplier, before),
        after=switching_state(product, supplier, after),
        at=at,
    )


def switching_state(product: str, supplier: str, state: Row) -> dict[str, Any]:
    """Return a switching state with what it is of."""
    return {"product": product, "supplier": supplier, "state": state}
