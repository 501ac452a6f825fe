"""What a rig is built like, as its controller keeps it: read, and changed.

Knows no screen. The axis never moves; the controller changes nothing while it is homed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from firmware_protocol.messages import (
    ErrorCode,
    LookAnswer,
    LookRequest,
    SetAnswer,
    SetRequest,
    State,
    Trait,
    TraitAnswer,
    TraitRequest,
)
from rig.errors import InputError, RequestRefused
from rig.link.link import Link

SETTINGS = (
    Trait.STEPS_PER_M,
    Trait.TRAVEL_LOW,
    Trait.TRAVEL_HIGH,
    Trait.SPEED_LIMIT,
    Trait.ACCELERATION_LIMIT,
    Trait.START_SPEED,
    Trait.HOME_CLEAR,
    Trait.HOME_SEARCH,
    Trait.ABILITIES,
    Trait.HIGH_INPUTS,
    Trait.SERIAL,
)
_NAME = (Trait.NAME_1, Trait.NAME_2, Trait.NAME_3, Trait.NAME_4)
_LETTERS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class RigSettings:
    """Settings of a rig as they are kept now.

    Attributes:
        name: Name of the rig.
        settings: Value of each by its name in SPEC.md 7, in lower case, in its unit.
    """

    name: str
    settings: dict[str, int]


def name_of(text: str) -> dict[Trait, int]:
    """Return the settings of a name.

    Raises:
        InputError: A controller could not tell it.
    """
    plain = all(c.isascii() and (c.isalnum() or c in ".-") for c in text)
    if not plain or not 1 <= len(text) <= _LETTERS * len(_NAME):
        raise InputError(
            f"{text!r} is no name for a rig: 1 to 16 of A-Z a-z 0-9 . - are"
        )
    data = text.encode("ascii").ljust(_LETTERS * len(_NAME), b"\0")
    return {
        trait: int.from_bytes(data[at : at + _LETTERS], "little")
        for trait, at in zip(_NAME, range(0, len(data), _LETTERS), strict=True)
    }


def read_settings(link: Link) -> RigSettings:
    """Ask for all settings.

    Raises:
        LinkError: The controller does not answer.
    """
    values = {trait.name.lower(): _value(link, trait) for trait in SETTINGS}
    data = b"".join(_value(link, trait).to_bytes(_LETTERS, "little") for trait in _NAME)
    return RigSettings(name=data.rstrip(b"\0").decode("ascii"), settings=values)


def change_settings(link: Link, wanted: Mapping[Trait, int]) -> None:
    """Change settings; those that have to wait for another one are tried again.

    Raises:
        InputError: The axis is homed or held, or a value fits no other.
        LinkError: The controller does not answer, or keeps no such setting.
    """
    state = link.request(LookRequest, LookAnswer).state
    if state is not State.RAW:
        raise InputError(
            f"the rig is `{state.value}`: settings are changed while it is not homed",
            hint="switch its supply off and on again, then change them first",
        )
    left = dict(wanted)
    while left:
        refused = {
            trait: value
            for trait, value in left.items()
            if not _set(link, trait, value)
        }
        if len(refused) == len(left):
            words = ", ".join(f"{t.name.lower()}={v}" for t, v in refused.items())
            raise InputError(
                f"the controller refuses {words}: out of range, or at odds with the"
                " other settings",
                hint="SPEC.md section 7 says what fits",
            )
        left = refused


def _value(link: Link, trait: Trait) -> int:
    return link.request(TraitRequest, TraitAnswer, index=int(trait)).value


def _set(link: Link, trait: Trait, value: int) -> bool:
    try:
        link.request(SetRequest, SetAnswer, index=int(trait), value=value)
    except RequestRefused as exc:
        if exc.code != ErrorCode.BAD_ARGUMENT:
            raise
        return False
    return True
