"""The first sheet of an .xlsx workbook as rows of text, within bounds."""

from __future__ import annotations

import io
import struct
import warnings
import zipfile
import zlib
from datetime import date, time, timedelta
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import ParseError

from rig.catalogue.input_file import read_bytes
from rig.errors import InputError

_MOST_BYTES: Final = 20_000_000
_MOST_UNPACKED_BYTES: Final = 200_000_000
# What the library raises for a file that is no workbook, or a damaged one
_DAMAGED: Final = (
    ArithmeticError,
    AttributeError,
    EOFError,
    IndexError,
    KeyError,
    NotImplementedError,
    OSError,
    ParseError,
    RuntimeError,
    TypeError,
    ValueError,
    struct.error,
    zipfile.BadZipFile,
    zlib.error,
)


# ECMA-376, part 1, 18.17.3 (from memory)
_ERRORS: Final = frozenset(
    {"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"}
)


def rows_of_workbook(
    path: Path, *, most_rows: int, most_cells: int
) -> list[tuple[int, list[str]]]:
    """Return the rows of the first sheet, each with its number from 1.

    A number reads as it is shown in full, a truth as yes or no; of a formula the value
    that was saved with it counts. Rows are as wide as the widest.

    Args:
        path: Path of the file.
        most_rows: Rows that are read at most.
        most_cells: Cells in a row that are read at most.

    Raises:
        InputError: It cannot be read, is no workbook, is too large, or a cell holds a
            day or an error.
    """
    data = read_bytes(path, most_bytes=_MOST_BYTES)
    try:
        _check_unpacked(path, data)
        values = _values(data, most_rows, most_cells)
    except _DAMAGED as exc:
        raise InputError(
            f"{path} cannot be read as a workbook: {str(exc) or type(exc).__name__}",
            hint="save it anew as .xlsx, or as CSV",
        ) from exc
    return [
        (
            number,
            [
                _text(cell, f"{path}, line {number}, cell {place}")
                for place, cell in enumerate(row, start=1)
            ],
        )
        for number, row in enumerate(values, start=1)
    ]


def _check_unpacked(path: Path, data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        size = sum(part.file_size for part in packed.infolist())
    if size > _MOST_UNPACKED_BYTES:
        raise InputError(
            f"{path} unpacks to {size / 1e6:.0f} MB, more than"
            f" {_MOST_UNPACKED_BYTES / 1e6:.0f} MB",
            hint="split the table",
        )


def _values(data: bytes, most_rows: int, most_cells: int) -> list[tuple[object, ...]]:
    # Deferred: only a workbook needs it
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        # What it leaves out, such as rules for input, is no part of the cells
        warnings.simplefilter("ignore")
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        try:
            sheet = book.worksheets[0]
            # What a file says of its size is not what counts
            sheet.reset_dimensions()
            # One more of each, so that too many are noticed by whoever counts
            rows = sheet.iter_rows(
                max_row=most_rows + 1, max_col=most_cells + 1, values_only=True
            )
            found = [tuple(row) for row in rows]
        finally:
            book.close()
    width = max((_used(row) for row in found), default=0)
    return [(*row, *(None,) * width)[:width] for row in found]


def _used(row: tuple[object, ...]) -> int:
    """Return how many cells there are up to the last that holds something."""
    used = [place for place, cell in enumerate(row, start=1) if cell is not None]
    return used[-1] if used else 0


def _text(cell: object, where: str) -> str:
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case float() if cell.is_integer() and abs(cell) < 1e15:
            return str(int(cell))
        case int() | float():
            return str(cell)
        case date() | time() | timedelta():
            raise InputError(
                f"{where} is a day or a time ({cell})",
                hint="a spreadsheet makes a day of what looks like one: format the cell"
                " as text and type it again",
            )
        case str() if cell in _ERRORS:
            raise InputError(
                f"{where} holds the error {cell} of a formula", hint="mend the formula"
            )
        case _:
            return str(cell)
