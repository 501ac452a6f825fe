"""Writes the tables and example lines of SPEC.md from the table. Knows no file."""

from __future__ import annotations

import re

from firmware_protocol.checksum import check_digits
from firmware_protocol.table import Field, MessageRow, NumberRow, Table

_LONGEST_TOKEN = 16


def spec_text(table: Table, text: str) -> str:
    """Return SPEC.md with the tables between its markers written anew.

    Raises:
        ValueError: A marker is missing.
    """
    blocks = {"words": _word_tables(table), "messages": _message_sections(table)}
    for section, rows in table.numbers.items():
        blocks[section] = _number_table(rows)
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


def _number_table(rows: tuple[NumberRow, ...]) -> str:
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
        if field.optional and field.name not in values:
            break
        value = values[field.name]
        out.append(str(int(value)) if isinstance(value, bool) else str(value))
    return out


def _field_table(fields: tuple[Field, ...]) -> str:
    if not fields:
        return " none\n"
    text = "\n\n| # | field | type | unit | meaning |\n|---|---|---|---|---|\n"
    for index, field in enumerate(fields, start=1):
        kind = f"{field.low} .. {field.high}" if field.type == "int" else field.type
        kind += f", at most {field.longest}" if field.longest < _LONGEST_TOKEN else ""
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
        text += f"Arguments:{_field_table(row.fields)}\n"
        text += f"Answer:{_field_table(answer)}\n```\n{asked}\n{got}\n```\n\n"
    for row in table.notices:
        text += _notice_section(row)
    return text


def _notice_section(row: MessageRow) -> str:
    values = [str(row.example["lost"]), *_values(row.fields, row.example)]
    line = example_line("n", int(row.example["number"]), [row.word, *values])
    return (
        f"### Notice `{row.word}`\n\n{row.doc}\n\n"
        f"Fields after `lost`:{_field_table(row.fields)}\n```\n{line}\n```\n\n"
    )
