"""A rig is known by its traits; one that changed measures nothing until confirmed.

A wrong scale makes every figure wrong by as much, and nothing else in a run shows it.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any

from rig.errors import RigChanged
from rig.link.traits import RigTraits
from rig.records.rig_book import RigBook, Traits

# Changes with every start, and says nothing of the machine
_PASSING = ("boot_number", "rig_id")


def traits_to_keep(traits: RigTraits) -> Traits:
    """Return what a rig is known by."""
    known: dict[str, Any] = asdict(traits)
    for name in ("fail_safe", "abilities"):
        known[name] = int(known[name])
    return {name: value for name, value in known.items() if name not in _PASSING}


def check_known(book: RigBook, traits: RigTraits, *, now: datetime) -> None:
    """Put a rig that is new on record, and refuse one that changed.

    A simulated rig is what its options say, and is left out.

    Raises:
        RigChanged: It is not what it is known as.
        RecordsError: The records cannot be read or written.
    """
    if traits.simulated:
        return
    known, here = book.known(traits.rig_id), traits_to_keep(traits)
    if known is None:
        book.enter(traits.rig_id, here, now=now)
        return
    changes = changed_traits(known.traits, here)
    if not changes and here.keys() - known.traits.keys():
        # An earlier version of this software did not ask for these
        book.enter(traits.rig_id, here, now=now)
    if changes:
        raise RigChanged(
            f"the rig {traits.rig_id} is not as it was on"
            f" {known.entered_at:%Y-%m-%d}: {'; '.join(changes)}",
            hint="find out why; if it is meant so, confirm it on the screen Bench or by"
            " `gapsweep bench confirm --rig PORT --by NAME`; calibrate the axis again"
            " if its scale changed",
        )


def unconfirmed_changes(book: RigBook, traits: RigTraits) -> tuple[str, ...]:
    """Return in words what of a rig is not as it is known, and keep nothing.

    Raises:
        RecordsError: The records cannot be read.
    """
    known = None if traits.simulated else book.known(traits.rig_id)
    if known is None:
        return ()
    return changed_traits(known.traits, traits_to_keep(traits))


def confirm_seen(
    book: RigBook,
    traits: RigTraits,
    *,
    rig_id: str,
    seen: tuple[str, ...],
    person: str,
    now: datetime,
) -> None:
    """Confirm a change if it is the one that a person was shown.

    Args:
        book: Register of rigs.
        traits: What the controller says now.
        rig_id: Identity of the rig that was shown.
        seen: What was shown of it.
        person: Name of whoever confirms it.
        now: Time, UTC.

    Raises:
        RigChanged: It is another rig by now, or it changed once more.
        RecordsError: The records cannot be read or written.
    """
    if traits.rig_id != rig_id or unconfirmed_changes(book, traits) != seen:
        raise RigChanged(
            f"the rig {rig_id} is not what was shown any more",
            hint="look at it again on the screen Bench",
        )
    confirm_change(book, traits, person=person, now=now)


def confirm_change(
    book: RigBook, traits: RigTraits, *, person: str, now: datetime
) -> tuple[str, ...]:
    """Put on record that a rig is meant to be as it is; return what is otherwise.

    Nothing is put on record of a rig that is as it is known, new or simulated.

    Args:
        book: Register of rigs.
        traits: What the controller says.
        person: Name of whoever confirms it.
        now: Time, UTC.

    Raises:
        RecordsError: The records cannot be read or written.
    """
    known, here = book.known(traits.rig_id), traits_to_keep(traits)
    changes = () if known is None else changed_traits(known.traits, here)
    if changes:
        book.enter(traits.rig_id, here, confirmed_by=person, now=now)
    return changes


def changed_traits(before: Traits, here: Traits) -> tuple[str, ...]:
    """Return in words what is otherwise; what was not asked for then is no change."""
    return tuple(
        f"{name.replace('_', ' ')} {here.get(name, 'not stated')}, was {was}"
        for name, was in before.items()
        if was != here.get(name)
    )
