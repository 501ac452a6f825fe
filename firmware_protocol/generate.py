"""Writes messages.py, the tables of SPEC.md and the C header from table.toml.

Run `python -m firmware_protocol.generate` after a change of the table; a test fails
while what lies on disk differs from what this writes.
"""

from __future__ import annotations

import re
from pathlib import Path

from firmware_protocol.c_header import c_header_text
from firmware_protocol.checksum import check_digits
from firmware_protocol.table import Field, MessageRow, NumberRow, Table, load_table

HERE = Path(__file__).parent

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
}


def messages_source(table: Table) -> str:
    """Return the text of messages.py."""
    parts = [HEAD]
    for name, value in table.protocol.items():
        shown = f"0x{value:04X}" if name.startswith("check") else str(value)
        parts.append(f"{name.upper()} = {shown}\n")
    for word_list, words in table.words.items():
        parts.append(_word_enum(word_list, words))
    for section, (name, base, doc) in ENUMS.items():
        parts.append(_number_enum(name, base, doc, table.numbers[section]))
    parts.append(_marker_classes())
    requests, answers, notices = [], [], []
    for row in table.requests:
        cls = row.word.capitalize()
        requests.append(f"{cls}Request")
        answers.append(f"{cls}Answer")
        parts.append(
            _message_class(requests[-1], "Request", row.word, row.doc, row.fields)
        )
        answer = row.answer or ()
        doc = f"Answer to `{row.word}`."
        parts.append(_message_class(answers[-1], "Answer", row.word, doc, answer))
    for row in table.notices:
        cls = f"{row.word.capitalize()}Notice"
        notices.append(cls)
        parts.append(_message_class(cls, "Notice", row.word, row.doc, row.fields))
    hand = "".join(
        f"    {row.word.capitalize()}Request,\n" for row in table.requests if row.hand
    )
    parts.append("\n")
    parts.append(_registry("REQUESTS", "Request", requests))
    parts.append(_registry("ANSWERS", "Answer", answers))
    parts.append(_registry("NOTICES", "Notice", notices))
    parts.append(
        "\n# Requests that may carry number 0\n"
        f"HAND_REQUESTS: tuple[type[Request], ...] = (\n{hand})\n"
    )
    return "".join(parts)


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
        return f'int_field("{field.name}", {field.low}, {field.high})'
    if field.type in ("flag", "token"):
        return f'{field.type}_field("{field.name}")'
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
        text += f"    {field.name}: {types.get(field.type, field.type)}\n"
    return text


def _registry(name: str, base: str, classes: list[str]) -> str:
    body = "".join(f"    {cls}.WORD: {cls},\n" for cls in classes)
    return f"\n{name}: dict[str, type[{base}]] = {{\n{body}}}\n"


# ------------------------------------------------------------------- SPEC.md


def spec_text(table: Table, text: str) -> str:
    """Return SPEC.md with the tables between its markers written anew.

    Raises:
        ValueError: A marker is missing.
    """
    blocks = {"words": _word_tables(table), "messages": _message_sections(table)}
    for section in ENUMS:
        blocks[section] = _number_table(table.numbers[section], section)
    for name, block in blocks.items():
        begin, end = f"<!-- table: {name} -->", "<!-- end of table -->"
        pattern = re.compile(re.escape(begin) + ".*?" + re.escape(end), re.DOTALL)
        found = pattern.search(text)
        if found is None:
            raise ValueError(f"SPEC.md has no marker {begin}")
        text = f"{text[: found.start()]}{begin}\n{block}{end}{text[found.end() :]}"
    return text


def example_line(mark: str, number: int, words: list[str]) -> str:
    """Return a whole line with its check, without the newline."""
    body = f"{mark}{number} {' '.join(words)}"
    return f"&{body} {check_digits(body.encode()).decode()}"


def _word_tables(table: Table) -> str:
    text = ""
    for name, words in table.words.items():
        text += f"\n**{name}.** {words['doc']}\n\n| word | meaning |\n|---|---|\n"
        text += "".join(
            f"| `{word}` | {doc} |\n" for word, doc in words.items() if word != "doc"
        )
    return text + "\n"


def _number_table(rows: tuple[NumberRow, ...], section: str) -> str:
    with_unit = any(row.unit for row in rows)
    text = f"\n| number | name |{' unit |' if with_unit else ''} meaning |\n|---|---|"
    text += "---|---|\n" if with_unit else "---|\n"
    for row in rows:
        unit = f" {row.unit} |" if with_unit else ""
        text += f"| {row.number} | `{row.name}` |{unit} {row.doc} |\n"
    return text + "\n"


def _values(fields: tuple[Field, ...], values: dict[str, object]) -> list[str]:
    out = []
    for field in fields:
        value = values[field.name]
        out.append(str(int(value)) if isinstance(value, bool) else str(value))
    return out


def _field_table(fields: tuple[Field, ...]) -> str:
    if not fields:
        return "none\n"
    text = "\n\n| # | field | type | unit | meaning |\n|---|---|---|---|---|\n"
    for index, field in enumerate(fields, start=1):
        kind = f"{field.low} .. {field.high}" if field.type == "int" else field.type
        text += f"| {index} | `{field.name}` | {kind} | {field.unit} | {field.doc} |\n"
    return text


def _message_sections(table: Table) -> str:
    text = "\n"
    for row in table.requests:
        hand = " May carry request number 0." if row.hand else ""
        asked = example_line("q", 17, [row.word, *_values(row.fields, row.example)])
        answer = row.answer or ()
        got = example_line("a", 17, [row.word, *_values(answer, row.example_answer)])
        text += f"### Request `{row.word}`\n\n{row.doc}{hand}\n\n"
        text += f"Arguments: {_field_table(row.fields)}\n"
        text += f"Answer: {_field_table(answer)}\n```\n{asked}\n{got}\n```\n\n"
    for row in table.notices:
        text += _notice_section(row)
    return text


def _notice_section(row: MessageRow) -> str:
    values = [str(row.example["lost"]), *_values(row.fields, row.example)]
    line = example_line("n", int(row.example["number"]), [row.word, *values])
    return (
        f"### Notice `{row.word}`\n\n{row.doc}\n\n"
        f"Fields after `lost`: {_field_table(row.fields)}\n```\n{line}\n```\n\n"
    )


def main() -> None:
    """Write all three files."""
    table = load_table()
    (HERE / "messages.py").write_text(messages_source(table), "utf-8")
    spec = HERE / "SPEC.md"
    spec.write_text(spec_text(table, spec.read_text("utf-8")), "utf-8")
    header = HERE / "firmware" / "core" / "table.h"
    header.write_text(c_header_text(table), "utf-8")


if __name__ == "__main__":
    main()
