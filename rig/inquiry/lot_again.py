"""Whether a part of a lot may be inspected again, by whom, and why."""

from __future__ import annotations

from typing import Final

from rig.analysis.limits.verdict import Decision
from rig.errors import InputError
from rig.inquiry.lot import LotStanding
from rig.inquiry.operators import answering_operator, authorising_operator
from rig.model.grounds import Grounds
from rig.records import Store

_UNDECIDED_BEFORE: Final = "undecided before"


def grounds_of_reading(
    store: Store, standing: LotStanding, part: str, grounds: Grounds
) -> Grounds:
    """Return the grounds of a reading as they go on record.

    A part that does not conform is inspected again only under a named authority and for
    a reason, one that conforms for a reason, an undecided one freely; none of them more
    often than the terms of the lot allow.

    Args:
        store: Open records.
        standing: Where the lot stands.
        part: Number of the part.
        grounds: Who inspects it, and for one that was inspected before under whose
            authority and why.

    Raises:
        InputError: It may not be inspected again on these grounds, or whoever inspects
            or authorises it is not named.
        RecordsError: The records cannot be read.
    """
    person = answering_operator(store, grounds.person or standing.lot.operator)
    before = standing.readings_of(part)
    if not before:
        if grounds.authority or grounds.reason:
            raise InputError(
                f"part {part} was not inspected before, so it is not inspected again",
                hint="check its number; --authority and --again go with later results",
            )
        return Grounds(person=person)
    _check_bound(standing, part, len(before))
    reason, authority = grounds.reason.strip(), ""
    last = before[-1].decision
    if last == Decision.DOES_NOT_CONFORM:
        if not (grounds.authority and reason):
            raise InputError(
                f"part {part} does not conform: it is inspected again only under a"
                " named authority, and for a reason",
                hint="give --authority NAME and --again REASON; both results stay",
            )
        authority = authorising_operator(store, grounds.authority)
    elif last == Decision.CONFORMS and not reason:
        raise InputError(
            f"part {part} conforms: it is inspected again only for a reason",
            hint="give --again REASON; both results stay",
        )
    return Grounds(
        person=person, authority=authority, reason=reason or _UNDECIDED_BEFORE
    )


def _check_bound(standing: LotStanding, part: str, times: int) -> None:
    bound = standing.terms.repeats
    if standing.may_repeat(part):
        return
    often = "once" if times == 1 else f"{times} times"
    raise InputError(
        f"part {part} was inspected {often}, and its lot allows"
        f" {'no repeat' if bound == 0 else f'{bound} repeats of a part'}",
        hint="its last result counts; undecided parts count as nonconforming where"
        " that was agreed: --count-undecided",
    )
