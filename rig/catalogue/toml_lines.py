"""Where something stands in a TOML file. Knows no meaning, only keys and lines."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator
from typing import Any

# What ends a value of several lines
_CLOSING = ("]", '"""', "'''")
_MOST_READ = 20_000_000  # characters, in reading the beginnings of statements again

Place = tuple[str | int, ...]
"""Keys and indices (from 0) that lead to a value, such as ``("run", 0, "sweeps")``."""


def line_of(text: str, place: Place) -> int | None:
    """Return the line where the statement begins that a place belongs to.

    Args:
        text: Valid TOML.
        place: A value; one that is missing has the line of its table.

    Returns:
        The line counted from 1; None for a field that is missing at the top.
    """
    table: Place = ()
    tables: Counter[Place] = Counter()
    found: int | None = None
    for line, is_head, content in _statements(text):
        path, is_array = _path(content)
        if is_head:
            table = _in_arrays(path, tables)
            if is_array:
                table = (*path, tables[path])
                tables[path] += 1
            if place[: len(table)] == table:
                found = line
        elif path and place[: len(table) + 1] == (*table, path[0]):
            return line
    return found


def _in_arrays(path: Place, tables: Counter[Place]) -> Place:
    """Return a path with the index of the entry that `[array.table]` belongs to."""
    for length in range(1, len(path)):
        count = tables[path[:length]]
        if count:
            return (*path[:length], count - 1, *path[length:])
    return path


def _statements(text: str) -> Iterator[tuple[int, bool, dict[str, Any]]]:
    """Yield line, whether it is the head of a table, and content of each statement.

    A statement of TOML is valid TOML by itself, so lines are gathered until they are.
    A line of a longer one can be its last only if it closes something. Where that takes
    too much reading, the rest has no line.
    """
    gathered, began, read = "", 1, 0
    for number, line in enumerate(text.split("\n"), start=1):
        goes_on = gathered != ""
        gathered += f"{line}\n"
        if goes_on and not any(sign in line for sign in _CLOSING):
            continue
        read += len(gathered)
        if read > _MOST_READ:
            return
        try:
            content = tomllib.loads(gathered)
        except tomllib.TOMLDecodeError:
            continue
        yield began, gathered.lstrip().startswith("["), content
        gathered, began = "", number + 1


def _path(content: dict[str, Any]) -> tuple[Place, bool]:
    """Return the keys of a statement from the outside in, and whether it is `[[...]]`.

    For a key with a value, what stands in the value is of no interest.
    """
    keys: list[str | int] = []
    value: Any = content
    while isinstance(value, dict) and len(value) == 1:
        key, value = next(iter(value.items()))
        keys.append(key)
    return tuple(keys), isinstance(value, list)
