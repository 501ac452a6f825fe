"""Tables that people fill in, with a header: CSV, or the first sheet of a workbook.

Complaints name file, line and column.
"""

from __future__ import annotations

import csv
import difflib
import io
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from rig.catalogue.input_file import MOST_TABLE_BYTES, read_text
from rig.catalogue.workbook_input import rows_of_workbook
from rig.errors import InputError
from rig.model.number_input import DecimalMark, number
from rig.model.part_number import part_number
from rig.model.plain_text import check_text, plain_text
from rig.model.spreadsheet import unguarded

_MOST_CELLS = 200
_WITH_COMMA = re.compile(r"[+-]?\d+,\d+")
_MOST_ROWS = 200_000


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRow:
    """One row of a table.

    Attributes:
        path: Path of the file.
        line: Number of the line in the file, from 1.
        cells: Cells by column, stripped.
        mark: Decimal mark of the numbers in the file.
    """

    path: Path
    line: int
    cells: Mapping[str, str]
    mark: DecimalMark = DecimalMark.POINT

    @property
    def where(self) -> str:
        """File and line, for complaints and for the records."""
        return f"{self.path}, line {self.line}"

    def text(self, column: str) -> str:
        """Return a cell that must not be empty.

        Raises:
            InputError: It is empty.
        """
        cell = self.optional_text(column)
        if not cell:
            raise InputError(
                f"{self.where}: the cell in column {column!r} is empty",
                hint="fill it in, or take the row out",
            )
        return cell

    def optional_text(self, column: str) -> str:
        """Return a cell; empty if it or the column is.

        Raises:
            InputError: It is too long.
        """
        return plain_text(self.lines(column), f"{self.where}, column {column!r}")

    def part(self, column: str) -> str:
        """Return the number of a part in its one spelling; it must not be empty.

        Raises:
            InputError: It is empty, too long, or holds a control character.
        """
        return part_number(self.text(column), f"{self.where}, column {column!r}")

    def lines(self, column: str) -> str:
        """Return a cell of several lines and any length; empty if it has none."""
        # As an export wrote it, for the sake of spreadsheets
        return unguarded(self.cells.get(column, ""))

    def number(self, column: str) -> float:
        """Return a cell as a number.

        Raises:
            InputError: It is empty or no finite number.
        """
        where = f"{self.where}, column {column!r}"
        return number(self.cells.get(column, ""), where, self.mark)

    def optional_number(self, column: str) -> float | None:
        """Return a cell as a number; None if it or the column is empty.

        Raises:
            InputError: It is no finite number.
        """
        return self.number(column) if self.cells.get(column, "") else None

    def whole_number(self, column: str) -> int:
        """Return a cell as a whole number.

        Raises:
            InputError: It is empty or no whole number.
        """
        value = self.number(column)
        if value != int(value):
            raise InputError(
                f"{self.where}, column {column!r} is {value:g}: it must be a whole"
                " number"
            )
        return int(value)


def read_table(
    path: Path,
    *,
    required: Collection[str],
    optional: Collection[str] = (),
    others_beside: Collection[str] = (),
) -> list[TableRow]:
    """Read a table; lines that begin with # are passed over.

    Args:
        path: Path of the file: .xlsx, or UTF-8 with comma or semicolon between cells.
        required: Columns that it must have.
        optional: Columns that it may have.
        others_beside: Columns with which it may have any others, which are passed over;
            none for a table that may not.

    Raises:
        InputError: It cannot be read, a column is missing or unknown, a row has too
            many or too few cells, or there is no row.
    """
    table, mark = _rows(path)
    if not table:
        raise InputError(
            f"{path} is empty", hint=f"begin with the header {','.join(required)}"
        )
    first_line, columns = table[0]
    others = bool(others_beside) and set(others_beside) <= set(columns)
    _check_columns(path, first_line, columns, required, optional, others=others)
    rows = []
    for line, cells in table[1:]:
        if len(cells) != len(columns):
            raise InputError(
                f"{path}, line {line}: {len(cells)} cells for {len(columns)} columns",
                hint="with decimal commas, put semicolons between cells",
            )
        named = dict(zip(columns, cells, strict=True))
        rows.append(TableRow(path=path, line=line, cells=named, mark=mark))
    if not rows:
        raise InputError(f"{path} has a header and no row", hint="add the readings")
    return rows


def _rows(path: Path) -> tuple[list[tuple[int, list[str]]], DecimalMark]:
    """Return the cells of each row with the line that it begins in, and their mark."""
    if path.suffix.lower() == ".xlsx":
        return _rows_of_workbook(path), DecimalMark.POINT
    text = read_text(path, most_bytes=MOST_TABLE_BYTES)
    heads = (line for line in text.splitlines() if _counts([line]))
    head = next(heads, "")
    delimiter = ";" if ";" in head and "," not in head else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows: list[tuple[int, list[str]]] = []
    begins = 1
    try:
        for cells in reader:
            if _counts(cells):
                where = f"{path}, line {begins}"
                _check_count(len(cells), len(rows), where)
                rows.append((begins, [_cell(cell, where) for cell in cells]))
            begins = reader.line_num + 1
    except csv.Error as exc:
        raise InputError(
            f"{path}, line {begins}: {exc}", hint="is a quotation mark left open?"
        ) from exc
    return rows, _mark_of(rows, delimiter)


def _mark_of(rows: list[tuple[int, list[str]]], delimiter: str) -> DecimalMark:
    """Tell the decimal mark: a comma only where a semicolon leaves it free."""
    commas = any(_WITH_COMMA.fullmatch(cell) for _, cells in rows for cell in cells)
    return DecimalMark.COMMA if delimiter == ";" and commas else DecimalMark.POINT


def _rows_of_workbook(path: Path) -> list[tuple[int, list[str]]]:
    sheet = rows_of_workbook(path, most_rows=_MOST_ROWS, most_cells=_MOST_CELLS)
    rows: list[tuple[int, list[str]]] = []
    for line, cells in sheet:
        if _counts(cells):
            where = f"{path}, line {line}"
            _check_count(len(cells), len(rows), where)
            rows.append((line, [_cell(cell, where) for cell in cells]))
    return rows


def _cell(cell: str, where: str) -> str:
    # An export has warnings, line by line, and whole budgets in its cells
    check_text(cell.strip(), f"{where}: a cell", lines=True)
    return cell.strip()


def _check_count(cells: int, rows: int, where: str) -> None:
    if cells > _MOST_CELLS:
        raise InputError(f"{where}: {cells} cells: a row has at most {_MOST_CELLS}")
    if rows > _MOST_ROWS:
        raise InputError(
            f"{where}: at most {_MOST_ROWS} rows are read", hint="split the table"
        )


def _counts(cells: list[str]) -> bool:
    return any(cell.strip() for cell in cells) and not cells[0].startswith("#")


def _check_columns(
    path: Path,
    line: int,
    columns: list[str],
    required: Collection[str],
    optional: Collection[str],
    *,
    others: bool,
) -> None:
    known = [*required, *optional]
    where = f"{path}, line {line}"
    for name in required:
        if name not in columns:
            raise InputError(
                f"{where}: the column {name!r} is missing",
                hint=f"the header of such a file is {','.join(known)}",
            )
    for name in columns:
        if columns.count(name) > 1:
            raise InputError(f"{where}: the column {name!r} stands there twice")
        if name not in known and not others:
            close = difflib.get_close_matches(name, known, n=1)
            offer = f"did you mean {close[0]!r}?" if close else ""
            raise InputError(
                f"{where}: unknown column {name!r}",
                hint=offer or f"known: {', '.join(known)}",
            )
