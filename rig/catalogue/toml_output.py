"""Plain values as TOML. Knows no catalogue and no plan."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any


def toml_text(text: str) -> str:
    """Return a text in quotes."""
    # A JSON text is a TOML one, but for the one sign that JSON leaves as it is
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_value(value: Any) -> str:
    """Return a text, a number, a truth, a list or a table as it stands after a key."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return toml_text(value)
        case int() | float():
            return repr(value)
        case Mapping():
            inside = ", ".join(f"{k} = {toml_value(v)}" for k, v in value.items())
            return f"{{ {inside} }}"
        case list() | tuple():
            return f"[{', '.join(toml_value(item) for item in value)}]"
        case _:
            raise TypeError(f"{type(value).__name__} has no form in TOML here")


def toml_table(head: str, values: Mapping[str, Any]) -> str:
    """Return an entry of an array of tables, such as `[[sensor]]`."""
    lines = [f"{key} = {toml_value(value)}" for key, value in values.items()]
    return "\n".join([f"[[{head}]]", *lines, ""])
