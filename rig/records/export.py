"""The records as CSV, JSON or Parquet files, or as one workbook.

Works through the records run by run, so that memory does not grow with them, and
puts a file in its place only when it is complete. Libraries for Parquet and workbooks
are loaded when they are needed.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from rig.model.new_file import refuse_existing
from rig.model.number_input import DecimalMark
from rig.model.plain_text import shown
from rig.model.spreadsheet import guarded
from rig.records.export_choice import EVERYTHING, ExportChoice
from rig.records.export_columns import COLUMNS, ExportTable, Kind
from rig.records.export_rows import WorkedOut, export_rows
from rig.records.mapping import Row, time_text
from rig.records.placed_file import placed_when_complete, told_plainly
from rig.records.reader import Reader

if TYPE_CHECKING:
    import pyarrow as pa  # type: ignore[import-untyped]  # it ships no types

ROWS_AT_ONCE = 20_000
# Without it a spreadsheet takes UTF-8 for the signs of another alphabet
_BYTE_ORDER_MARK = "\ufeff"


_Write = Callable[[IO[bytes], ExportTable, Iterator[list[Row]]], int]


class ExportFormat(StrEnum):
    """A kind of file to export to; also the ending of its name."""

    CSV = "csv"
    JSON = "json"
    PARQUET = "parquet"
    XLSX = "xlsx"

    @property
    def is_workbook(self) -> bool:
        """Whether all tables go to one file."""
        return self is ExportFormat.XLSX


def export_table(
    reader: Reader,
    table: ExportTable,
    path: Path,
    *,
    file_format: ExportFormat,
    worked_out: WorkedOut,
    chosen: ExportChoice = EVERYTHING,
    decimal: DecimalMark = DecimalMark.POINT,
    rows_at_once: int = ROWS_AT_ONCE,
) -> int:
    """Write a table to a file, which takes its place only when it is complete.

    CSV has a byte order mark, one header line, times in ISO 8601 UTC, empty cells
    for what is missing, SIMULATED or "no" in the column `simulated`, and an apostrophe
    before a text that a spreadsheet would take for a formula, a number or a day; signs
    that are no text are replaced (`rig.model.plain_text`). With a decimal comma, a
    semicolon stands between cells. JSON is one array of objects, an infinite number the
    text "inf". Parquet has typed columns. The latter two keep every text as it is. A
    block of rows is held in memory at a time; in Parquet it is a row group.

    Returns:
        The number of rows.

    Raises:
        RecordsError: The records cannot be read or the file cannot be written.
        ValueError: The format has all tables in one file.
    """
    writers: dict[ExportFormat, _Write] = {
        ExportFormat.CSV: partial(_write_csv, decimal=decimal),
        ExportFormat.JSON: _write_json,
        ExportFormat.PARQUET: _write_parquet,
    }
    write = writers.get(file_format)
    if write is None:
        raise ValueError(f"{file_format} has all tables in one file")
    rows = export_rows(reader, table, chosen, worked_out)
    with told_plainly(path), placed_when_complete(path) as file:
        return write(file, table, _row_blocks(rows, rows_at_once))


def export_all(
    reader: Reader,
    folder: Path,
    *,
    file_format: ExportFormat,
    worked_out: WorkedOut,
    chosen: ExportChoice = EVERYTHING,
    decimal: DecimalMark = DecimalMark.POINT,
) -> dict[ExportTable, Path]:
    """Write every table to a file of its own name in a folder, made if missing.

    Raises:
        InputError: One of the files exists already.
        RecordsError: The records cannot be read or a file cannot be written.
        ValueError: The format has all tables in one file.
    """
    paths = {table: folder / f"{table}.{file_format}" for table in ExportTable}
    refuse_existing(*paths.values())
    with told_plainly(folder):
        folder.mkdir(parents=True, exist_ok=True)
    for table, path in paths.items():
        export_table(
            reader,
            table,
            path,
            file_format=file_format,
            worked_out=worked_out,
            chosen=chosen,
            decimal=decimal,
        )
    return paths


def _row_blocks(rows: Iterable[Row], rows_at_once: int) -> Iterator[list[Row]]:
    """Yield rows in blocks; one empty block if there are none."""
    block: list[Row] = []
    yielded = False
    for row in rows:
        block.append(row)
        if len(block) == rows_at_once:
            yield block
            block, yielded = [], True
    if block or not yielded:
        yield block


def _csv_cell(value: Any, kind: Kind, name: str, decimal: DecimalMark) -> Any:
    if value is None:
        return ""
    if name == "simulated":
        return "SIMULATED" if value else "no"
    match kind:
        case Kind.TIME:
            return time_text(value)
        case Kind.TRUTH:
            return "true" if value else "false"
        case Kind.TEXT:
            return shown(guarded(value, decimal=decimal))
        case Kind.NUMBER:
            return "" if math.isnan(value) else repr(value).replace(".", decimal)
        case Kind.INTEGER:
            return value


def _write_csv(
    file: IO[bytes],
    table: ExportTable,
    blocks: Iterator[list[Row]],
    *,
    decimal: DecimalMark,
) -> int:
    columns = COLUMNS[table]
    count = 0
    between = decimal.between_cells
    head = _BYTE_ORDER_MARK + between.join(columns) + "\r\n"
    file.write(head.encode("utf-8"))
    for block in blocks:
        text = io.StringIO(newline="")
        csv.writer(text, delimiter=between).writerows(
            [
                _csv_cell(row[name], kind, name, decimal)
                for name, kind in columns.items()
            ]
            for row in block
        )
        file.write(text.getvalue().encode("utf-8"))
        count += len(block)
    return count


def _json_value(value: Any) -> Any:
    if isinstance(value, datetime):
        return time_text(value)
    if isinstance(value, float) and not math.isfinite(value):
        return None if math.isnan(value) else str(value)
    return value


def _write_json(
    file: IO[bytes], table: ExportTable, blocks: Iterator[list[Row]]
) -> int:
    columns = COLUMNS[table]
    count = 0
    file.write(b"[")
    for block in blocks:
        for row in block:
            record = {name: _json_value(row[name]) for name in columns}
            line = json.dumps(record, ensure_ascii=False, allow_nan=False)
            file.write((",\n" if count else "\n").encode() + line.encode("utf-8"))
            count += 1
    file.write(b"\n]\n")
    return count


def _parquet_schema(table: ExportTable) -> pa.Schema:
    import pyarrow as pa

    types = {
        Kind.TEXT: pa.string(),
        Kind.INTEGER: pa.int64(),
        Kind.NUMBER: pa.float64(),
        Kind.TRUTH: pa.bool_(),
        Kind.TIME: pa.timestamp("us", tz="UTC"),
    }
    return pa.schema([(name, types[kind]) for name, kind in COLUMNS[table].items()])


def _write_parquet(
    file: IO[bytes], table: ExportTable, blocks: Iterator[list[Row]]
) -> int:
    import pyarrow as pa
    import pyarrow.parquet as pq  # type: ignore[import-untyped]

    schema = _parquet_schema(table)
    count = 0
    with pq.ParquetWriter(file, schema) as writer:
        for block in blocks:
            writer.write_table(pa.Table.from_pylist(block, schema=schema))
            count += len(block)
    return count
