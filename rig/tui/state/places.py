"""Where somebody worked last: a plan, a lot, a study; kept from one day to the next.

What is kept is a kind and an identity. How far the work is stands in the records alone.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path


class PlaceKind(StrEnum):
    """What somebody works through."""

    PLAN = "plan"
    LOT = "lot"
    STUDY = "study"


_KINDS = frozenset(map(str, PlaceKind))


@dataclass(frozen=True, slots=True)
class Place:
    """One plan, lot or study.

    Attributes:
        kind: Plan, lot or study.
        identity: Identity that the records have for it.
    """

    kind: PlaceKind
    identity: str


class Places:
    """The last place of each kind, the newest first, for one store of records.

    Args:
        records: Where the records are; each store has places of its own.
        kept: Returns what is kept under a name.
        keep: Keeps a text under a name.
    """

    def __init__(
        self,
        records: str,
        kept: Callable[[str], str],
        keep: Callable[[str, str], None],
    ) -> None:
        where = records
        if "://" not in records:
            where = str(Path(records).expanduser().absolute())
        # No more than a mark: a URL may hold a password
        self._name = f"places {zlib.crc32(where.encode()):08x}"
        self._kept, self._keep = kept, keep

    def newest_first(self) -> tuple[Place, ...]:
        """Return the places; a line that nobody understands is passed over."""
        found = []
        for line in self._kept(self._name).splitlines():
            kind, _, identity = line.partition(" ")
            if kind in _KINDS and identity:
                found.append(Place(PlaceKind(kind), identity))
        return tuple(found)

    def remember(self, place: Place) -> None:
        """Take this place for the newest; the one of its kind before is forgotten."""
        others = [one for one in self.newest_first() if one.kind is not place.kind]
        self._put([place, *others])

    def forget(self, place: Place) -> None:
        """Remember a place no longer."""
        self._put([one for one in self.newest_first() if one != place])

    def _put(self, places: list[Place]) -> None:
        text = "\n".join(f"{one.kind} {one.identity}" for one in places)
        if text != self._kept(self._name):
            self._keep(self._name, text)
