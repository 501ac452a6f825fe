"""A lot signed: who, what the signature means, under what, and by whose PIN.

A signature names its signer, time and meaning, as 21 CFR 11.50 asks of electronic ones
(from memory), and is tied to what it is under by its place in the chain of the trail.
"""

from __future__ import annotations

from datetime import datetime
from typing import Final

from rig.errors import InputError
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.lot_trail import lot_trail
from rig.inquiry.operators import operators_on_record
from rig.records.lot_book import LotBook
from rig.records.operator_book import Operator, OperatorBook

INSPECTED: Final = "inspected"
REVIEWED: Final = "reviewed"
APPROVED: Final = "approved"
MEANINGS: Final = {
    INSPECTED: "I inspected this lot and answer for its results",
    REVIEWED: "I looked through results, changes and decision and found them in order",
    APPROVED: "I approve what was decided about this lot",
}


def statement_to_sign(standing: LotStanding, meaning: str) -> str:
    """Return what a signature under a lot says.

    Raises:
        InputError: There is no such meaning, or the lot is neither decided about nor
            withdrawn.
    """
    if meaning not in MEANINGS:
        raise InputError(
            f"a signature does not mean {meaning!r}",
            hint=f"choose one of: {', '.join(MEANINGS)}",
        )
    if standing.decision is not None:
        return f"{MEANINGS[meaning]}: {standing.decision.sentence}"
    if standing.withdrawal is not None:
        return f"{MEANINGS[meaning]}: withdrawn, {standing.withdrawal.reason}"
    raise InputError(
        f"the lot {standing.lot.lot_id} is not decided about, so there is nothing to"
        " sign",
        hint="decide first",
    )


def check_signer(book: LotBook, lot_id: str, name: str, meaning: str) -> Operator:
    """Return who signs a lot, before a PIN is asked for.

    Raises:
        InputError: There is nothing to sign, the operator is not named, has no PIN, has
            signed it already or may not approve it, or the lot or the trail is not as
            it was written.
        RecordsError: The lot is not there, or the records cannot be read.
    """
    standing = standing_of(book, lot_id)
    statement_to_sign(standing, meaning)
    signer = operators_on_record(book.store).of_name(name)
    if not signer.has_pin:
        raise InputError(
            f"{signer.name} has no PIN to sign with",
            hint=f"`gapsweep operator pin {signer.name!r}` sets one",
        )
    if any(
        (one.person, one.meaning) == (signer.name, meaning)
        for one in standing.signatures
    ):
        raise InputError(f"{signer.name} has signed it as {meaning} already")
    if meaning == APPROVED:
        _check_may_approve(standing, signer)
    trail = lot_trail(book.store, lot_id)
    if trail.fault or trail.check.faults:
        fault = trail.fault or trail.check.faults[0].sentence
        raise InputError(
            f"the lot {lot_id} is not signed: {fault}",
            hint="`gapsweep verify` names all that is not as it was written",
        )
    return signer


def sign_lot(
    book: LotBook, lot_id: str, name: str, *, pin: str, meaning: str, now: datetime
) -> LotStanding:
    """Sign a lot that is decided about or withdrawn.

    Args:
        book: Lots on record.
        lot_id: Identity of the lot.
        name: Name of the operator who signs.
        pin: PIN of the operator, typed for this signature.
        meaning: Meaning of the signature, one of `MEANINGS`.
        now: The time, UTC.

    Raises:
        InputError: It cannot be signed so, see `check_signer`, or the PIN is not right.
        RecordsError: The lot is not there, or the signature cannot be kept.
    """
    signer = check_signer(book, lot_id, name, meaning)
    OperatorBook(book.store).check_pin(signer.name, pin, now=now)
    statement = statement_to_sign(standing_of(book, lot_id), meaning)
    book.sign(lot_id, meaning, statement, person=signer.name, now=now)
    return standing_of(book, lot_id)


def _check_may_approve(standing: LotStanding, signer: Operator) -> None:
    if not signer.authorises:
        raise InputError(
            f"{signer.name} may not approve a lot",
            hint="somebody does who may authorise",
        )
    by = {one.person for one in standing.readings}
    if standing.decision is not None:
        by.add(standing.decision.person)
    if signer.name in by:
        raise InputError(
            f"{signer.name} inspected this lot or decided about it, and so does not"
            " approve it",
            hint="somebody else who may authorise does",
        )
