"""Rules for the fields of a message: check a value, write it, read it back."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from firmware_protocol.errors import LocalProtocolError

# One way to write each integer: no sign but minus, no leading zero, no "-0"
_INTEGER = re.compile(r"0|-?[1-9][0-9]{0,9}")
_TOKEN = re.compile(r"[A-Za-z0-9.-]+")

Value = int | bool | str


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldRule:
    """How one field is written and read.

    Attributes:
        name: Attribute of the message.
        write: Value to text; raises ValueError for a value that is not allowed.
        read: Text to value; raises ValueError likewise.
        optional: Whether the message may end before it; it is None then.
    """

    name: str
    write: Callable[[Value], str]
    read: Callable[[str], Value]
    optional: bool = False


def int_field(name: str, low: int, high: int, *, optional: bool = False) -> FieldRule:
    """Return the rule for a decimal integer from low to high."""

    def checked(value: Value) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValueError(f"{name} must be an integer, got {value!r}")
        if not low <= value <= high:
            raise ValueError(f"{name} must be {low} to {high}, got {value}")
        return value

    def read(text: str) -> Value:
        if not _INTEGER.fullmatch(text):
            raise ValueError(f"{name} must be a decimal integer, got {text!r}")
        return checked(int(text))

    return FieldRule(
        name=name,
        write=lambda value: str(checked(value)),
        read=read,
        optional=optional,
    )


def flag_field(name: str) -> FieldRule:
    """Return the rule for 0 or 1."""

    def write(value: Value) -> str:
        if not isinstance(value, bool):
            raise ValueError(f"{name} must be True or False, got {value!r}")
        return "1" if value else "0"

    def read(text: str) -> Value:
        if text not in ("0", "1"):
            raise ValueError(f"{name} must be 0 or 1, got {text!r}")
        return text == "1"

    return FieldRule(name=name, write=write, read=read)


def token_field(name: str, longest: int = 16) -> FieldRule:
    """Return the rule for a token: letters, digits, dots and hyphens."""

    def checked(value: Value) -> str:
        if (
            not isinstance(value, str)
            or not _TOKEN.fullmatch(value)
            or len(value) > longest
        ):
            raise ValueError(f"{name} must be 1 to {longest} of A-Z a-z 0-9 . -")
        return value

    return FieldRule(name=name, write=checked, read=checked)


def word_field(name: str, words: type[StrEnum]) -> FieldRule:
    """Return the rule for one word of a list."""
    return FieldRule(
        name=name,
        write=lambda value: words(str(value)).value,
        read=words,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """What a line says; the classes of messages.py say it for each kind."""

    MARK: ClassVar[str] = ""
    WORD: ClassVar[str] = ""
    RULES: ClassVar[tuple[FieldRule, ...]] = ()

    def texts(self) -> list[str]:
        """Return the fields as they stand on the wire, each checked.

        Raises:
            LocalProtocolError: A field holds what the protocol does not allow.
        """
        texts = []
        try:
            for rule in self.RULES:
                value = getattr(self, rule.name)
                if rule.optional and value is None:
                    break
                texts.append(rule.write(value))
        except ValueError as exc:
            raise LocalProtocolError(f"`{self.WORD}`: {exc}") from exc
        return texts
