"""What people typed and nobody has put on record yet; the last can be withdrawn."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace

from rig.errors import InputError
from rig.inquiry.lesson import Subject

_FARTHEST_MM = 100.0  # no sensor of this kind sees so far
_LONGEST_NAME = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """Entries in order: person and value in mm."""

    entries: tuple[tuple[str, float], ...] = ()

    def with_more(self, person: str, value: str) -> Typed:
        """Return these and one more.

        Raises:
            InputError: Name or value is not usable.
        """
        name = person.strip()
        if not name or len(name) > _LONGEST_NAME:
            raise InputError(
                f"the name is {name!r}", hint=f"1 to {_LONGEST_NAME} letters"
            )
        try:
            value_mm = float(value.strip().replace(",", "."))
        except ValueError:
            value_mm = math.nan
        if not 0.0 <= value_mm <= _FARTHEST_MM:
            raise InputError(
                f"the gap is {value!r}: give mm from 0 to {_FARTHEST_MM:g}, such as 7.9"
            )
        return replace(self, entries=(*self.entries, (name, value_mm)))

    def without_last(self) -> Typed:
        """Return these without the last one."""
        return replace(self, entries=self.entries[:-1])

    def as_draft(self, subject: Subject) -> str:
        """Return these as a text to keep; empty if there are none."""
        return json.dumps([_names(subject), self.entries]) if self.entries else ""

    def of(self, kept: dict[str, tuple[float, ...]]) -> dict[str, tuple[float, ...]]:
        """Return what is kept and what is typed together, by person."""
        people = dict(kept)
        for person, value_mm in self.entries:
            people[person] = (*people.get(person, ()), value_mm)
        return people


def from_draft(text: str, subject: Subject) -> Typed:
    """Return what was kept of a subject; nothing if it is of another or broken."""
    try:
        names, entries = json.loads(text)
        if names != _names(subject):
            return Typed()
        return Typed(entries=tuple((str(who), float(value)) for who, value in entries))
    except (TypeError, ValueError):
        return Typed()


def _names(subject: Subject) -> list[str]:
    return [
        subject.sensor.name,
        subject.target.name,
        subject.part,
        subject.setting,
    ]
