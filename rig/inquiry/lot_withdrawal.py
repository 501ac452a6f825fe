"""A lot that was begun by mistake: withdrawn with a reason, and kept."""

from __future__ import annotations

from datetime import datetime

from rig.errors import InputError
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.operators import answering_operator, authorising_operator
from rig.model.grounds import Grounds
from rig.records.lot_book import LotBook


def check_stands(standing: LotStanding) -> None:
    """Refuse a lot that was withdrawn.

    Raises:
        InputError: It was.
    """
    found = standing.withdrawal
    if found is not None:
        raise InputError(
            f"the lot {standing.lot.lot_id} was withdrawn: {found.reason}",
            hint="begin the lot that is meant",
        )


def withdraw_lot(
    book: LotBook, lot_id: str, *, grounds: Grounds, now: datetime
) -> LotStanding:
    """Withdraw a lot that was begun by mistake; all of it stays on record.

    It counts in no switching rules, and its runs may stand in another lot. As soon as a
    part of it was inspected, that needs a named authority, lest results that do not
    suit vanish by a withdrawal.

    Args:
        book: Lots on record.
        lot_id: Identity of the lot.
        grounds: Who withdraws it, why, and under whose authority.
        now: The time, UTC.

    Raises:
        InputError: No reason is given, nobody authorises it who may, or the lot is
            decided about or withdrawn already.
        RecordsError: It is not there, or the withdrawal cannot be kept.
    """
    standing = standing_of(book, lot_id)
    check_stands(standing)
    if standing.decision is not None:
        raise InputError(
            f"the lot {lot_id} is decided about and stays so",
            hint="inspect it again as a lot of its own, --resubmitted",
        )
    reason, authority = grounds.reason.strip(), ""
    if not reason:
        raise InputError("the reason is empty", hint="say why the lot is withdrawn")
    if standing.readings:
        if not grounds.authority:
            raise InputError(
                f"parts of the lot {lot_id} were inspected: it is withdrawn only under"
                " a named authority",
                hint="give --authority NAME; its results stay on record",
            )
        authority = authorising_operator(book.store, grounds.authority)
    person = answering_operator(book.store, grounds.person or standing.lot.operator)
    book.withdraw(
        lot_id,
        grounds=Grounds(person=person, authority=authority, reason=reason),
        now=now,
    )
    return standing_of(book, lot_id)
