"""The C side of table.toml: the text of firmware/core/table.h."""

from __future__ import annotations

from firmware_protocol.table import Field, Table

_HEAD = """\
// Words and numbers of the protocol, from table.toml
//
// Written by `python -m firmware_protocol.generate`: change the table, not this.
#ifndef RIG_TABLE_H
#define RIG_TABLE_H

"""

_SECTIONS = {
    "errors": "Why a request was refused",
    "faults": "What failed",
    "traits": "Numbers of the traits",
    "abilities": "What a controller can do; a sum",
    "inputs": "Inputs in the answer to `look`; a sum",
    "quantities": "What `read` tells",
    "controls": "What `put` sets",
}


def c_header_text(table: Table) -> str:
    """Return the text of table.h."""
    parts = [_HEAD, "/// Constants ///\n\n"]
    for name, value in table.protocol.items():
        shown = f"0x{value:04X}" if name.startswith("check") else str(value)
        parts.append(f"#define RIG_{name.upper()} {shown}u\n")
    parts.append("\n/// Numbers ///\n")
    for section, doc in _SECTIONS.items():
        irregular = {"abilities": "ABILITY", "quantities": "QUANTITY"}
        prefix = irregular.get(section, section.upper().rstrip("S"))
        rows = [
            f"    RIG_{prefix}_{r.name} = {r.number}" for r in table.numbers[section]
        ]
        parts.append(_enum(doc, f"rig_{prefix.lower()}", rows))
    parts.append("\n/// Words ///\n")
    for name, words in table.words.items():
        parts.append(_words(name, [word for word in words if word != "doc"]))
    parts.append(_words("Verb", [row.word for row in table.requests]))
    parts.append(_words("NoticeKind", [row.word for row in table.notices]))
    parts.append(_verbs(table))
    parts.append("\n#endif\n")
    return "".join(parts)


def _enum(doc: str, name: str, rows: list[str]) -> str:
    body = ",\n".join(rows)
    return f"\n// {doc}\nenum {name} {{\n{body}\n}};\n"


def _snake(name: str) -> str:
    return "".join(f"_{c}" if c.isupper() else c.upper() for c in name).lstrip("_")


def _words(name: str, words: list[str]) -> str:
    prefix = _snake(name)
    rows = [f"    RIG_{prefix}_{word.upper()}" for word in words]
    rows.append(f"    RIG_{prefix}_COUNT")
    longest = max(len(word) for word in words)
    quoted = ", ".join(f'"{word}"' for word in words)
    return (
        _enum(
            f"{name}; the words in the same order below", f"rig_{prefix.lower()}", rows
        )
        + f"#define RIG_{prefix}_WORDS {{{quoted}}}\n"
        + f"#define RIG_{prefix}_SIZE {longest + 1} // longest word and its end\n"
    )


def _number(value: int) -> str:
    if value == -(2**31):
        return "INT32_MIN"  # its digits alone do not fit the type that C gives them
    return f"INT32_C({value})"


def _range(verb: str, field: Field) -> str:
    low, high = _number(field.low), _number(field.high)
    return f"    {{{low}, {high}}}, /* {verb}: {field.name} */ \\\n"


def _verbs(table: Table) -> str:
    text = "\n/// Requests ///\n\n"
    text += (
        "// For each verb: may carry number 0; is an order, whose last argument is\n"
        "// its session; arguments; row of the first one below\n"
    )
    text += "#define RIG_VERB_ROWS { \\\n"
    first = 0
    for row in table.requests:
        flags = f"{int(row.hand)}u, {int(row.is_order)}u"
        cells = f"{flags}, {len(row.fields)}u, {first}u"
        text += f"    {{{cells}}}, /* {row.word} */ \\\n"
        first += len(row.fields)
    text += "}\n\n// Lowest and highest value of each argument\n"
    text += "#define RIG_ARGUMENT_ROWS { \\\n"
    for row in table.requests:
        text += "".join(_range(row.word, field) for field in row.fields)
    longest = max(len(row.fields) for row in table.requests)
    return f"{text}}}\n\n#define RIG_MOST_ARGUMENTS {longest}u\n"
