"""Writes the text of messages.py from the table. Knows no file."""

from __future__ import annotations

import re

from firmware_protocol.table import Field, NumberRow, Table

HEAD = '''"""Messages of the protocol, one class each.

Written by generate.py from table.toml: change the table, not this.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, IntFlag, StrEnum
from typing import ClassVar

from firmware_protocol.fields import (
    FieldRule,
    Message,
    flag_field,
    int_field,
    token_field,
    word_field,
)

'''

ENUMS = {
    "errors": ("ErrorCode", "IntEnum", "Why a request was refused."),
    "faults": ("Fault", "IntEnum", "What failed."),
    "traits": ("Trait", "IntEnum", "Numbers of the traits."),
    "abilities": ("Ability", "IntFlag", "What a controller can do."),
    "inputs": ("Input", "IntFlag", "Inputs of the controller."),
    "quantities": ("Quantity", "IntEnum", "What `read` tells."),
    "controls": ("Control", "IntEnum", "What `put` sets."),
}


def messages_source(table: Table) -> str:
    """Return the text of messages.py."""
    parts = [HEAD]
    for name, value in table.protocol.items():
        if name == "check_polynomial":
            continue  # that of the standard library
        shown = f"0x{value:04X}" if name == "check_start" else str(value)
        parts.append(f"{name.upper()} = {shown}\n")
    for word_list, words in table.words.items():
        parts.append(_word_enum(word_list, words))
    for section, (name, base, doc) in ENUMS.items():
        parts.append(_number_enum(name, base, doc, table.numbers[section]))
    parts.append(_marker_classes())
    for row in table.requests:
        cls, doc = row.word.capitalize(), f"Answer to `{row.word}`."
        base = "Order" if row.is_order else "Request"
        parts += [
            _message_class(f"{cls}Request", base, row.word, row.doc, row.fields),
            _message_class(f"{cls}Answer", "Answer", row.word, doc, row.answer or ()),
        ]
    for row in table.notices:
        cls = f"{row.word.capitalize()}Notice"
        parts.append(_message_class(cls, "Notice", row.word, row.doc, row.fields))
    return "".join([*parts, "\n", *_registries(table)])


def _registries(table: Table) -> list[str]:
    verbs = [row.word.capitalize() for row in table.requests]
    notices = [row.word.capitalize() for row in table.notices]
    hand = "".join(
        f"    {row.word.capitalize()}Request,\n" for row in table.requests if row.hand
    )
    return [
        _registry("REQUESTS", "Request", verbs),
        _registry("ANSWERS", "Answer", verbs),
        _registry("NOTICES", "Notice", notices),
        "\n# Requests that may carry number 0\n"
        f"HAND_REQUESTS: tuple[type[Request], ...] = (\n{hand})\n",
    ]


def _doc(text: str, indent: str = "    ") -> str:
    first, *rest = re.split(r"(?<=[.;]) ", text)
    if not rest and len(first) < 76:
        return f'{indent}"""{first.rstrip(".")}."""\n'
    lines = [f'{indent}"""{first.rstrip(".;")}.']
    if rest:
        lines += ["", *_wrap(" ".join(rest), indent)]
    return "\n".join([*lines, f'{indent}"""']) + "\n"


def _wrap(text: str, indent: str) -> list[str]:
    lines, line = [], indent
    for word in text.split():
        if len(line) + len(word) > 86 and line.strip():
            lines.append(line.rstrip())
            line = indent
        line += f"{word} "
    return [*lines, line.rstrip()]


def _word_enum(name: str, words: dict[str, str]) -> str:
    text = f"\n\nclass {name}(StrEnum):\n{_doc(words['doc'])}\n"
    for word in words:
        if word != "doc":
            text += f'    {word.upper()} = "{word}"\n'
    return text


def _number_enum(name: str, base: str, doc: str, rows: tuple[NumberRow, ...]) -> str:
    body = "".join(f"    {row.name} = {row.number}\n" for row in rows)
    return f"\n\nclass {name}({base}):\n{_doc(doc)}\n{body}"


def _marker_classes() -> str:
    return '''

@dataclass(frozen=True, slots=True, kw_only=True)
class Request(Message):
    """From the host: `&q<number> <verb> ...`."""

    MARK: ClassVar[str] = "q"
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Order(Request):
    """A request that moves or changes something, within a session."""

    session: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer(Message):
    """From the controller: `&a<number of the request> <verb> ...`."""

    MARK: ClassVar[str] = "a"
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal(Message):
    """From the controller: `&x<number of the request> no <error> <argument>`."""

    MARK: ClassVar[str] = "x"
    WORD: ClassVar[str] = "no"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("error", 1, 255),
        int_field("argument", 0, 9),
    )
    number: int
    error: int
    argument: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice(Message):
    """Unasked, from the controller: `&n<own number> <word> <lost> ...`."""

    MARK: ClassVar[str] = "n"
    number: int
    lost: int
'''


def _rule(field: Field) -> str:
    if field.type == "int":
        may_lack = ", optional=True" if field.optional else ""
        return f'int_field("{field.name}", {field.low}, {field.high}{may_lack})'
    if field.type == "flag":
        return f'flag_field("{field.name}")'
    if field.type == "token":
        return f'token_field("{field.name}", {field.longest})'
    return f'word_field("{field.name}", {field.type})'


def _message_class(
    cls: str, base: str, word: str, doc: str, fields: tuple[Field, ...]
) -> str:
    rules = [_rule(field) for field in fields]
    if base == "Notice":
        rules.insert(0, 'int_field("lost", 0, 65535)')
    text = "\n\n@dataclass(frozen=True, slots=True, kw_only=True)\n"
    text += f"class {cls}({base}):\n{_doc(doc)}\n"
    text += f'    WORD: ClassVar[str] = "{word}"\n'
    if len(rules) == 1:
        text += f"    RULES: ClassVar[tuple[FieldRule, ...]] = ({rules[0]},)\n"
    elif rules:
        text += "    RULES: ClassVar[tuple[FieldRule, ...]] = (\n"
        text += "".join(f"        {rule},\n" for rule in rules)
        text += "    )\n"
    types = {"int": "int", "flag": "bool", "token": "str"}
    for field in fields:
        if base == "Order" and field.name == "session":
            continue
        may_lack = " | None = None" if field.optional else ""
        text += f"    {field.name}: {types.get(field.type, field.type)}{may_lack}\n"
    return text


def _registry(name: str, base: str, words: list[str]) -> str:
    body = "".join(f"    {word}{base}.WORD: {word}{base},\n" for word in words)
    return f"\n{name}: dict[str, type[{base}]] = {{\n{body}}}\n"
