"""What people typed and nobody has put on record yet; the last can be withdrawn."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace

from rig.errors import InputError
from rig.inquiry.lesson import Subject, TypedReading
from rig.model.number_input import number
from rig.tui.state.typed_numbers import typed_number

_FARTHEST_MM = 100.0  # no sensor of this kind sees so far
_LONGEST_NAME = 40
_COARSEST_MM = 10.0  # no ruler is marked more coarsely


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """Entries in order."""

    entries: tuple[TypedReading, ...] = ()

    def with_more(self, person: str, value: str, step_mm: float | None = None) -> Typed:
        """Return these and one more.

        Args:
            person: Name as typed.
            value: Gap as typed.
            step_mm: Step of the readout; None if nobody said.

        Raises:
            InputError: Name or value is not usable.
        """
        name = person.strip()
        if not name or len(name) > _LONGEST_NAME:
            raise InputError(
                f"the name is {name!r}", hint=f"1 to {_LONGEST_NAME} letters"
            )
        value_mm = number(value, "the gap")
        if not 0.0 <= value_mm <= _FARTHEST_MM:
            raise InputError(
                f"the gap is {value!r}: give mm from 0 to {_FARTHEST_MM:g}, such as 7.9"
            )
        more = TypedReading(name, value_mm, step_mm)
        return replace(self, entries=(*self.entries, more))

    def without_last(self) -> Typed:
        """Return these without the last one."""
        return replace(self, entries=self.entries[:-1])

    def as_draft(self, subject: Subject) -> str:
        """Return these as a text to keep; empty if there are none."""
        return json.dumps([_names(subject), self.entries]) if self.entries else ""

    def of(self, kept: dict[str, tuple[float, ...]]) -> dict[str, tuple[float, ...]]:
        """Return what is kept and what is typed together, by person."""
        people = dict(kept)
        for one in self.entries:
            people[one.person] = (*people.get(one.person, ()), one.value_mm)
        return people

    def steps_of(self, kept: dict[str, float]) -> dict[str, float]:
        """Return the step of each person's readout, mm, as stated last."""
        typed = {e.person: e.step_mm for e in self.entries if e.step_mm is not None}
        return {**kept, **typed}


def from_draft(text: str, subject: Subject) -> Typed:
    """Return what was kept of a subject; nothing if it is of another or broken."""
    try:
        names, entries = json.loads(text)
        if names != _names(subject):
            return Typed()
        return Typed(entries=tuple(_reading(*entry) for entry in entries))
    except (TypeError, ValueError):
        return Typed()


def _reading(who: str, value_mm: float, step_mm: float | None = None) -> TypedReading:
    step = None if step_mm is None else float(step_mm)
    return TypedReading(str(who), float(value_mm), step)


def typed_step(text: str) -> float | None:
    """Return the step of a readout in mm; None for an empty field.

    Raises:
        InputError: It is none.
    """
    step_mm = typed_number(text.strip(), "The step")
    if step_mm is not None and not 0.0 < step_mm <= _COARSEST_MM:
        raise InputError(
            f"the step is {text.strip()!r}: give mm above 0 to {_COARSEST_MM:g}, such"
            " as 0.5 for a ruler or 0.05 for a caliper"
        )
    return step_mm


def _names(subject: Subject) -> list[str]:
    return [
        subject.sensor.name,
        subject.target.name,
        subject.part,
        subject.setting,
    ]
