"""Operators: named once, then chosen; who may permit what; their PINs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from rig.catalogue.toml_input import nearest
from rig.errors import InputError
from rig.model.grounds import Grounds
from rig.model.plain_text import plain_text
from rig.records import Store
from rig.records.operator_book import Operator, OperatorBook

_SHORTEST_PIN: Final = 6
_LONGEST_PIN: Final = 64
_LONGEST_NAME: Final = 60
_DIGITS: Final = "0123456789"


@dataclass(frozen=True, slots=True, kw_only=True)
class Operators:
    """Operators on record.

    Attributes:
        operators: Every operator by name, those retired among them.
    """

    operators: tuple[Operator, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names that can be chosen."""
        return tuple(one.name for one in self.operators if one.active)

    @property
    def authorities(self) -> tuple[str, ...]:
        """Names of those who may permit that a failed part is inspected again."""
        return tuple(
            one.name for one in self.operators if one.active and one.authorises
        )

    def of_name(self, name: str) -> Operator:
        """Return the active operator of a name, however it is capitalised.

        Raises:
            InputError: There is none.
        """
        wanted = plain_text(name, "the name of the operator").casefold()
        for one in self.operators:
            if one.active and one.name.casefold() == wanted:
                return one
        raise InputError(
            f"no operator is named {name!r}",
            hint=nearest(name, self.names)
            if self.names
            else "`gapsweep operator add` names the first",
        )


def operators_on_record(store: Store) -> Operators:
    """Return the operators on record.

    Raises:
        RecordsError: The records cannot be read.
    """
    return Operators(operators=tuple(OperatorBook(store).every()))


def chosen_operator(store: Store, name: str) -> str:
    """Return the name of an operator as it was named once.

    As long as nobody is named, every name will do, and none.

    Raises:
        InputError: Operators are named, and this is none of them.
        RecordsError: The records cannot be read.
    """
    known = operators_on_record(store)
    if not name or not known.names:
        return name
    return known.of_name(name).name


def answering_operator(store: Store, name: str) -> str:
    """Return the name of the operator who answers for a change.

    As long as nobody is named, every name will do, and none.

    Raises:
        InputError: Operators are named, and nobody is chosen or this is none of them.
        RecordsError: The records cannot be read.
    """
    known = operators_on_record(store)
    if not known.names:
        return name
    if not name:
        raise InputError(
            "nobody is chosen who answers for it",
            hint=f"choose one of: {', '.join(known.names)}",
        )
    return known.of_name(name).name


def answered(store: Store, grounds: Grounds, *, replaces: bool) -> Grounds:
    """Return the grounds of a change with the operator who answers for it.

    Args:
        store: Open records.
        grounds: Who makes the change, and why.
        replaces: Whether something on record is in force no more by the change.

    Raises:
        InputError: Operators are named, and nobody is chosen or this is none of them,
            or nobody says why what is on record is replaced.
        RecordsError: The records cannot be read.
    """
    known = operators_on_record(store)
    if known.names and replaces and not grounds.reason.strip():
        raise InputError(
            "the reason is empty", hint="say why what is on record is replaced"
        )
    return replace(grounds, person=answering_operator(store, grounds.person))


def name_operator(
    store: Store,
    name: str,
    *,
    authorises: bool,
    grounds: Grounds,
    pin: str = "",
    now: datetime,
) -> Operators:
    """Name an operator, or change what one may do.

    The first one may authorise in any case; from then on somebody who may authorise
    names the others, and gives a PIN for it if that somebody has one.

    Args:
        store: Open records.
        name: Name to choose the operator by.
        authorises: Whether the operator may permit that a failed part is inspected
            again, and name operators.
        grounds: Who names the operator, and why; nobody for the first one.
        pin: PIN of whoever names the operator; empty without one.
        now: The time, UTC.

    Raises:
        InputError: The name is empty or too long, or whoever names may not.
        RecordsError: It cannot be kept.
    """
    given = plain_text(name, "the name of the operator")
    if not given or len(given) > _LONGEST_NAME:
        raise InputError(
            f"the name of the operator has {len(given)} characters",
            hint=f"give 1 to {_LONGEST_NAME}",
        )
    known = operators_on_record(store)
    if known.names:
        grounds = _permitted(store, known, grounds, pin, now)
    same = [o.name for o in known.operators if o.name.casefold() == given.casefold()]
    OperatorBook(store).enter(
        same[0] if same else given,
        authorises=authorises or not known.names,
        active=True,
        grounds=grounds,
        now=now,
    )
    return operators_on_record(store)


def retire_operator(
    store: Store, name: str, *, grounds: Grounds, pin: str = "", now: datetime
) -> Operators:
    """Let an operator be chosen no more; what is on record stays.

    Args:
        store: Open records.
        name: Name of the operator.
        grounds: Who retires the operator, and why.
        pin: PIN of whoever does it; empty without one.
        now: The time, UTC.

    Raises:
        InputError: There is no such operator, no reason is given, whoever retires may
            not, or nobody who may authorise would be left.
        RecordsError: It cannot be kept.
    """
    known = operators_on_record(store)
    found = known.of_name(name)
    if not grounds.reason.strip():
        raise InputError(
            "the reason is empty", hint=f"say why {found.name} is chosen no more"
        )
    grounds = _permitted(store, known, grounds, pin, now)
    if known.authorities == (found.name,):
        raise InputError(
            f"{found.name} is the only one who may authorise",
            hint="name another one with --authorises first",
        )
    OperatorBook(store).enter(
        found.name, authorises=found.authorises, active=False, grounds=grounds, now=now
    )
    return operators_on_record(store)


def set_operator_pin(
    store: Store, name: str, pin: str, *, by: str = "", by_pin: str = "", now: datetime
) -> Operator:
    """Set the PIN of an operator.

    The first one needs nobody else. In place of another it needs that one, or somebody
    who may authorise and has a PIN.

    Args:
        store: Open records.
        name: Name of the operator.
        pin: The new PIN.
        by: Name of whoever sets it; empty for the operator.
        by_pin: PIN of whoever sets it until now; empty without one.
        now: The time, UTC.

    Raises:
        InputError: There is no such operator, the PIN is too short or easily guessed,
            or whoever sets it may not.
        RecordsError: It cannot be kept.
    """
    known = operators_on_record(store)
    found = known.of_name(name)
    who = known.of_name(by) if by else found
    if found.has_pin or who != found:
        if who != found and not (who.authorises and who.has_pin):
            raise InputError(
                f"{who.name} may not set the PIN of {found.name}",
                hint="somebody does who may authorise and has a PIN",
            )
        OperatorBook(store).check_pin(who.name, by_pin, now=now)
    _check_pin_is_fit(pin)
    OperatorBook(store).set_pin(
        found.name, pin, grounds=Grounds(person=who.name), now=now
    )
    return operators_on_record(store).of_name(found.name)


def authorising_operator(store: Store, name: str) -> str:
    """Return the name of an operator who may authorise.

    Raises:
        InputError: Nobody is named, there is no such operator, or the operator may not.
        RecordsError: The records cannot be read.
    """
    known = operators_on_record(store)
    if not name:
        choices = ", ".join(known.authorities)
        raise InputError(
            "nobody is named who authorises it",
            hint=f"choose one of: {choices}"
            if choices
            else "`gapsweep operator add` names the first operator, who may",
        )
    found = known.of_name(name)
    if not found.authorises:
        raise InputError(
            f"{found.name} may not authorise it",
            hint=f"choose one of: {', '.join(known.authorities)}",
        )
    return found.name


def _permitted(
    store: Store, known: Operators, grounds: Grounds, pin: str, now: datetime
) -> Grounds:
    """Return the grounds with the name of somebody who may authorise, checked."""
    name = authorising_operator(store, grounds.person)
    if known.of_name(name).has_pin:
        OperatorBook(store).check_pin(name, pin, now=now)
    return Grounds(person=name, reason=grounds.reason)


def _check_pin_is_fit(pin: str) -> None:
    if not _SHORTEST_PIN <= len(pin) <= _LONGEST_PIN:
        raise InputError(
            f"the PIN has {len(pin)} characters",
            hint=f"give {_SHORTEST_PIN} to {_LONGEST_PIN}: digits, letters or signs",
        )
    run = pin in _DIGITS * 8 or pin in _DIGITS[::-1] * 8
    if run or len(set(pin)) < 3:
        raise InputError(
            "the PIN is one of those that are tried first",
            hint="give one with three different characters and no digits in a row",
        )
