"""Rows of a table as checked entries: every fault names its row and column.

Knows no file: cells come in as text, by the name of their column.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from rig.catalogue.toml_input import Strict, sentence_of
from rig.errors import InputError
from rig.model.number_input import DecimalMark, number

_Entry = TypeVar("_Entry", bound=Strict)
_TRUTHS = {
    **dict.fromkeys(("yes", "true", "1"), True),
    **dict.fromkeys(("no", "false", "0"), False),
}


class CellKind(StrEnum):
    """What a cell holds."""

    TEXT = "text"
    NUMBER = "number"
    WHOLE = "whole number"
    TRUTH = "truth"
    NUMBERS = "numbers"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table.

    Attributes:
        kind: What its cells hold.
        place: Keys that lead to the value in the entry.
    """

    kind: CellKind
    place: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong in one cell.

    Attributes:
        line: Number of the line in the file, from 1.
        column: Name of the column.
        sentence: What is there and what would be right.
    """

    line: int
    column: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked(Generic[_Entry]):
    """What the rows of a table give.

    Attributes:
        entries: Line and entry of every row that is right.
        faults: Faults of all other rows, in order.
    """

    entries: tuple[tuple[int, _Entry], ...]
    faults: tuple[Fault, ...]


def check_rows(
    rows: Sequence[tuple[int, Mapping[str, str]]],
    columns: Mapping[str, Column],
    entry: type[_Entry],
    mark: DecimalMark = DecimalMark.POINT,
) -> Checked[_Entry]:
    """Check every row of a table and go on after a fault.

    Args:
        rows: Line and cells of each row; an empty cell counts as left out.
        columns: Columns that the table may have.
        entry: What each row must be.
        mark: Decimal mark of the numbers.
    """
    entries: list[tuple[int, _Entry]] = []
    faults: list[Fault] = []
    for line, cells in rows:
        values, wrong = _values(line, cells, columns, mark)
        faults += wrong
        if wrong:
            continue
        try:
            # By way of JSON, where strict takes words for what they stand for
            entries.append((line, entry.model_validate_json(json.dumps(values))))
        except ValidationError as exc:
            found = exc.errors(include_url=False)
            faults += [_fault(line, cells, columns, dict(error)) for error in found]
    return Checked(entries=tuple(entries), faults=tuple(faults))


def named_twice(entries: Sequence[tuple[int, str]], column: str) -> tuple[Fault, ...]:
    """Return a fault for every name that an earlier row has already.

    Args:
        entries: Line and name of each row.
        column: Where the name stands.
    """
    first: dict[str, int] = {}
    faults = []
    for line, name in entries:
        before = first.setdefault(name, line)
        if before != line:
            sentence = f"is {name!r}: line {before} has this name already"
            faults.append(Fault(line=line, column=column, sentence=sentence))
    return tuple(faults)


def refuse_faults(path: Path, faults: Sequence[Fault]) -> None:
    """Complain of all faults at once, each by its row.

    Raises:
        InputError: There is one.
    """
    if not faults:
        return
    told = [
        f"{path}, line {fault.line}, column {fault.column!r} {fault.sentence}"
        for fault in sorted(faults, key=lambda fault: fault.line)
    ]
    if len(told) == 1:
        raise InputError(told[0], hint="nothing was imported")
    head = f"{len(told)} cells of {path} are not right; nothing was imported"
    raise InputError("\n  ".join([head, *told]))


def _values(
    line: int,
    cells: Mapping[str, str],
    columns: Mapping[str, Column],
    mark: DecimalMark,
) -> tuple[dict[str, Any], list[Fault]]:
    values: dict[str, Any] = {}
    faults = []
    for name, cell in cells.items():
        if not cell:
            continue
        column = columns[name]
        try:
            value = _converted(cell, column.kind, mark)
        except InputError as exc:
            sentence = f"{str(exc).strip()}; {exc.hint}"
            faults.append(Fault(line=line, column=name, sentence=sentence))
            continue
        except ValueError as exc:
            sentence = f"is {cell!r}: {exc}"
            faults.append(Fault(line=line, column=name, sentence=sentence))
            continue
        table = values
        for key in column.place[:-1]:
            table = table.setdefault(key, {})
        table[column.place[-1]] = value
    return values, faults


def _converted(cell: str, kind: CellKind, mark: DecimalMark) -> Any:
    match kind:
        case CellKind.TEXT:
            return cell
        case CellKind.TRUTH:
            if cell.lower() not in _TRUTHS:
                raise ValueError("it must be yes or no")
            return _TRUTHS[cell.lower()]
        case CellKind.NUMBERS:
            between = r"[\s;]+" if mark is DecimalMark.COMMA else r"[\s,;]+"
            return [number(part, "", mark) for part in re.split(between, cell.strip())]
        case CellKind.WHOLE:
            value = number(cell, "", mark)
            if value != int(value):
                raise ValueError("it must be a whole number")
            return int(value)
        case CellKind.NUMBER:
            return number(cell, "", mark)


def _fault(
    line: int,
    cells: Mapping[str, str],
    columns: Mapping[str, Column],
    error: dict[str, Any],
) -> Fault:
    place = tuple(part for part in error["loc"] if isinstance(part, str))
    name = _column_at(place, cells, columns)
    if error["type"] == "missing":
        return Fault(line=line, column=name, sentence="is empty, and is needed")
    cell = cells.get(name, "")
    shown = f"is {cell!r}" if cell else "is empty"
    return Fault(line=line, column=name, sentence=f"{shown}: {sentence_of(error)}")


def _column_at(
    place: tuple[str, ...], cells: Mapping[str, str], columns: Mapping[str, Column]
) -> str:
    """Return the column that a place is filled from; of a whole table, the first."""
    fitting = [
        name for name, column in columns.items() if column.place[: len(place)] == place
    ]
    filled = [name for name in fitting if cells.get(name)]
    return (filled or fitting)[0]
