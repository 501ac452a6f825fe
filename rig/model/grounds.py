"""Who changes something on record, under whose authority, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """Who changes something on record, under whose authority, and why.

    Attributes:
        person: Name of whoever makes the change; empty if nobody said so.
        authority: Name of whoever permits it; empty where nobody has to.
        reason: Why, in words; empty where nothing has to be said.
    """

    person: str = ""
    authority: str = ""
    reason: str = ""


NO_GROUNDS: Final = Grounds()
