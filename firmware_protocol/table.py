"""Reads table.toml, the one source of words, numbers and messages."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a message.

    Attributes:
        name: Name of the field.
        type: "int", "flag", "token", or the name of a word list.
        low: Smallest value of an int.
        high: Largest value of an int.
        unit: Unit, or empty.
        doc: What it says.
        longest: Characters of a token, at most.
        optional: Whether a controller without that ability leaves it out, and all
            fields after it.
    """

    name: str
    type: str
    doc: str
    low: int = 0
    high: int = 1
    unit: str = ""
    longest: int = 16
    optional: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageRow:
    """One verb or notice of the table.

    Attributes:
        word: What stands on the wire.
        doc: What it does.
        fields: Fields of the request or notice.
        answer: Fields of the answer; None for a notice.
        example: Values for the example line.
        example_answer: Values for the answer's example line.
        hand: Whether request number 0 is allowed.
    """

    word: str
    doc: str
    fields: tuple[Field, ...]
    answer: tuple[Field, ...] | None
    example: dict[str, Any]
    example_answer: dict[str, Any]
    hand: bool

    @property
    def is_order(self) -> bool:
        """Whether it moves or changes something, and so belongs to a session."""
        return any(field.name == "session" for field in self.fields)


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberRow:
    """One numbered thing: an error, fault, trait, ability or input."""

    number: int
    name: str
    doc: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The whole table."""

    protocol: dict[str, int]
    words: dict[str, dict[str, str]]
    numbers: dict[str, tuple[NumberRow, ...]]
    requests: tuple[MessageRow, ...]
    notices: tuple[MessageRow, ...]


def load_table() -> Table:
    """Read the table that lies beside this module."""
    raw = tomllib.loads(
        files("firmware_protocol").joinpath("table.toml").read_text("utf-8")
    )
    sections = (
        "errors",
        "faults",
        "traits",
        "abilities",
        "inputs",
        "quantities",
        "controls",
    )
    return Table(
        protocol=raw["protocol"],
        words=raw["words"],
        numbers={section: _numbers(raw[section]) for section in sections},
        requests=tuple(_message(w, row) for w, row in raw["requests"].items()),
        notices=tuple(_message(w, row) for w, row in raw["notices"].items()),
    )


def _numbers(section: dict[str, dict[str, str]]) -> tuple[NumberRow, ...]:
    return tuple(
        NumberRow(
            number=int(number),
            name=row["name"],
            doc=row["doc"],
            unit=row.get("unit", ""),
        )
        for number, row in section.items()
    )


def _message(word: str, row: dict[str, Any]) -> MessageRow:
    answer = row.get("answer")
    return MessageRow(
        word=word,
        doc=row["doc"],
        fields=tuple(Field(**field) for field in row["fields"]),
        answer=None if answer is None else tuple(Field(**field) for field in answer),
        example=row["example"],
        example_answer=row.get("example_answer", {}),
        hand=row.get("hand", False),
    )
