"""The records as one .xlsx workbook, a sheet a table.

Heads have the units, numbers a format, columns a filter; text is text whatever it looks
like, and times are text in ISO 8601, so that no program makes a day of anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Final

from rig.errors import InputError
from rig.model.figure_kinds import FIGURE_KINDS
from rig.model.new_file import refuse_existing
from rig.model.plain_text import shown
from rig.records.export_choice import EVERYTHING, ExportChoice
from rig.records.export_columns import COLUMNS, ExportTable, Kind
from rig.records.export_rows import WorkedOut, export_rows
from rig.records.mapping import Row, time_text
from rig.records.placed_file import placed_when_complete, told_plainly
from rig.records.reader import Reader

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.cell import Cell
    from openpyxl.worksheet._write_only import WriteOnlyWorksheet

# Edges go to CSV, JSON or Parquet: a sheet would not hold those of many runs
WORKBOOK_TABLES: Final = tuple(
    table for table in ExportTable if table is not ExportTable.EDGES
)
# ECMA-376, part 1, 18.3.1.73 and the common programs' own bounds (from memory)
_MOST_ROWS: Final = 1_048_576
_MOST_SIGNS: Final = 32_767
_TEXT_FORMAT: Final = "@"
# Endings of the names of columns, the longer first: unit, and format of its numbers
_UNITS: Final = {
    "_mm_per_h": ("mm/h", "0.0000"),
    "_per_mm": ("", "General"),
    "_mm_s": ("mm/s", "0.00"),
    "_mm2": ("mm²", "General"),
    "_mm": ("mm", "0.0000"),
    "_ms": ("ms", "0.000"),
    "_us": ("µs", "0"),
    "_hz": ("Hz", "General"),
    "_c": ("°C", "0.0"),
    "_v": ("V", "0.0"),
    "_percent": ("%", "0.00"),
    "_steps": ("steps", "0"),
    "_at": ("UTC", _TEXT_FORMAT),
    "_h": ("h", "General"),
    "_s": ("s", "General"),
}
_UNCERTAINTY_FORMAT: Final = "0.00000"
_WIDEST: Final = 40
_HEADS: Final = {
    head: words
    for kind in FIGURE_KINDS
    for head, words in (
        (kind.key, f"{kind.name} ({kind.unit})"),
        (kind.uncertainty_key, f"{kind.name}, ± ({kind.unit})"),
        (f"{kind.field}_n", f"{kind.name}, n"),
    )
}


def export_workbook(
    reader: Reader,
    path: Path,
    *,
    worked_out: WorkedOut,
    chosen: ExportChoice = EVERYTHING,
) -> int:
    """Write the tables to the sheets of a workbook, which is whole or not there.

    Returns:
        The number of rows of all sheets, heads left out.

    Raises:
        InputError: The file exists already, or a table has more rows than a sheet.
        RecordsError: The records cannot be read or the file cannot be written.
    """
    refuse_existing(path)
    with told_plainly(path), placed_when_complete(path) as file:
        return write_workbook(file, reader, worked_out=worked_out, chosen=chosen)


def write_workbook(
    file: IO[bytes], reader: Reader, *, worked_out: WorkedOut, chosen: ExportChoice
) -> int:
    """Write the workbook to an open file.

    Returns:
        The number of rows of all sheets, heads left out.

    Raises:
        InputError: A table has more rows than a sheet.
        RecordsError: The records cannot be read.
        OSError: The file cannot be written.
    """
    # Deferred: only a workbook needs it
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    book.properties.creator = "Gapsweep"
    count = 0
    try:
        for table in WORKBOOK_TABLES:
            rows = export_rows(reader, table, chosen, worked_out)
            count += _write_sheet(book, table, rows)
    except BaseException:
        for sheet in book.worksheets:
            sheet.close()  # it holds a file open that it writes to
        raise
    book.save(file)
    return count


def head_of(table: ExportTable, name: str) -> str:
    """Return the head of a column: words, and the unit in brackets."""
    if table is ExportTable.PARTS and name in _HEADS:
        return _HEADS[name]
    ending, unit, _ = _unit_of(name)
    words = name.removesuffix(ending) if unit else name
    return words.replace("_", " ") + (f" ({unit})" if unit else "")


def _unit_of(name: str) -> tuple[str, str, str]:
    for ending, (unit, form) in _UNITS.items():
        if name.endswith(ending):
            return ending, unit, form
    return "", "", "General"


def _format_of(table: ExportTable, name: str, kind: Kind) -> str:
    if kind in (Kind.TEXT, Kind.TIME, Kind.TRUTH):
        return _TEXT_FORMAT
    if kind is Kind.INTEGER:
        return "0"
    if "uncertainty" in name and name.endswith("_mm"):
        return _UNCERTAINTY_FORMAT
    if table is ExportTable.PARTS and name in _PERCENT_KEYS:
        return "0.00"
    return _unit_of(name)[2]


_PERCENT_KEYS: Final = frozenset(kind.key for kind in FIGURE_KINDS if kind.unit == "%")


def _write_sheet(book: Workbook, table: ExportTable, rows: Iterable[Row]) -> int:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    columns = COLUMNS[table]
    sheet = book.create_sheet(table.value.replace("_", " "))
    heads = [head_of(table, name) for name in columns]
    for place, head in enumerate(heads, start=1):
        width = min(_WIDEST, max(10, len(head) + 4))
        sheet.column_dimensions[get_column_letter(place)].width = width
    sheet.freeze_panes = "A2"
    bold = Font(bold=True)
    sheet.append([_cell(sheet, head, _TEXT_FORMAT, font=bold) for head in heads])
    count = 0
    for count, cells in enumerate(_cells(sheet, table, rows), start=1):
        if count == _MOST_ROWS:
            raise InputError(
                f"the table {table} has more rows than a sheet holds"
                f" ({_MOST_ROWS - 1:,})",
                hint="choose fewer runs, or export to CSV or Parquet",
            )
        sheet.append(cells)
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(columns))}{count + 1}"
    return count


def _cells(
    sheet: WriteOnlyWorksheet, table: ExportTable, rows: Iterable[Row]
) -> Iterator[list[Cell | None]]:
    formats = {
        name: _format_of(table, name, kind) for name, kind in COLUMNS[table].items()
    }
    for row in rows:
        yield [
            _cell(sheet, _plain(row[name], name), form)
            for name, form in formats.items()
        ]


def _plain(value: Any, name: str) -> str | float | None:
    """Return what a cell holds: a number, text, or nothing."""
    if value is None or value == "":
        return None
    if name == "simulated":
        return "SIMULATED" if value else "no"
    if isinstance(value, bool):
        return "yes" if value else "no"  # a truth would read otherwise by language
    if isinstance(value, datetime):
        return time_text(value)
    if isinstance(value, float) and not math.isfinite(value):
        return None if math.isnan(value) else str(value)
    if isinstance(value, str):
        return _fitting(shown(value))
    number: float = value
    return number


def _fitting(text: str) -> str:
    """Cut a text that no cell holds, and say so."""
    if len(text) <= _MOST_SIGNS:
        return text
    told = f"… (cut: {len(text)} characters; whole in CSV)"
    return text[: _MOST_SIGNS - len(told)] + told


def _cell(
    sheet: WriteOnlyWorksheet, value: str | float | None, form: str, **style: Any
) -> Cell | None:
    from openpyxl.cell import WriteOnlyCell

    if value is None:
        return None
    cell = WriteOnlyCell(sheet, value)
    if isinstance(value, str):
        cell.data_type = "s"  # whatever it looks like: no formula, no error
    cell.number_format = form
    for name, look in style.items():
        setattr(cell, name, look)
    return cell
