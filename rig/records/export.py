"""The records as CSV, JSON or Parquet files.

Works through the records run by run, so that memory does not grow with them, and
puts a file in its place only when it is complete. pyarrow is loaded when it is needed.
"""

from __future__ import annotations

import csv
import io
import json
import math
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from enum import StrEnum
from itertools import islice
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from rig.errors import RecordsError
from rig.model.plain_text import shown
from rig.model.spreadsheet import guarded
from rig.model.sweeps import Run
from rig.records.entries import RunFilter
from rig.records.lot_book import LotBook
from rig.records.lot_rows import lot_result_rows, lot_rows
from rig.records.mapping import Row, time_text
from rig.records.reader import EVERY_RUN, Reader
from rig.records.tables import (
    COLUMNS,
    ExportTable,
    Kind,
    Points,
    Source,
    attempt_row,
    rows_of,
    rows_of_readings,
)

if TYPE_CHECKING:
    import pyarrow as pa  # type: ignore[import-untyped]  # it ships no types

ROWS_AT_ONCE = 20_000
_RUNS_AT_ONCE = 20
_OF_LOTS = {
    ExportTable.LOTS: lot_rows,
    ExportTable.LOT_RESULTS: lot_result_rows,
}
# Without it a spreadsheet takes UTF-8 for the signs of another alphabet
_BYTE_ORDER_MARK = "\ufeff"


# Gives the gaps of a run's sweeps; how a gap comes from steps is not known here
PointsOf = Callable[[Run], Points]


class ExportFormat(StrEnum):
    """A kind of file to export to; also the ending of its name."""

    CSV = "csv"
    JSON = "json"
    PARQUET = "parquet"


def export_table(
    reader: Reader,
    table: ExportTable,
    path: Path,
    *,
    file_format: ExportFormat,
    points: PointsOf,
    wanted: RunFilter = EVERY_RUN,
    rows_at_once: int = ROWS_AT_ONCE,
) -> int:
    """Write a table to a file, which takes its place only when it is complete.

    CSV has a byte order mark, one header line, times in ISO 8601 UTC, empty cells
    for what is missing, SIMULATED or "no" in the column `simulated`, and an apostrophe
    before a text that a spreadsheet would take for a formula, a number or a day; signs
    that are no text are replaced (`rig.model.plain_text`). JSON is one array of
    objects, an infinite number the text "inf". Parquet has typed columns. The latter
    two keep every text as it is. A block of rows is held in memory at a time; in
    Parquet it is a row group.

    Returns:
        The number of rows.

    Raises:
        RecordsError: The records cannot be read or the file cannot be written.
    """
    write = {
        ExportFormat.CSV: _write_csv,
        ExportFormat.JSON: _write_json,
        ExportFormat.PARQUET: _write_parquet,
    }[file_format]
    blocks = _row_blocks(reader, table, wanted, points, rows_at_once)
    with _told_plainly(path), _placed_when_complete(path) as file:
        return write(file, table, blocks)


def export_all(
    reader: Reader,
    folder: Path,
    *,
    file_format: ExportFormat,
    points: PointsOf,
    wanted: RunFilter = EVERY_RUN,
) -> dict[ExportTable, Path]:
    """Write every table to a file of its own name in a folder, made if missing.

    Raises:
        RecordsError: The records cannot be read or a file cannot be written.
    """
    with _told_plainly(folder):
        folder.mkdir(parents=True, exist_ok=True)
    paths = {table: folder / f"{table}.{file_format}" for table in ExportTable}
    for table, path in paths.items():
        export_table(
            reader, table, path, file_format=file_format, points=points, wanted=wanted
        )
    return paths


def _row_blocks(
    reader: Reader,
    table: ExportTable,
    wanted: RunFilter,
    points: PointsOf,
    rows_at_once: int,
) -> Iterator[list[Row]]:
    """Yield the table's rows in blocks; one empty block if there are none."""
    block: list[Row] = []
    yielded = False
    for row in _rows(reader, table, wanted, points):
        block.append(row)
        if len(block) == rows_at_once:
            yield block
            block, yielded = [], True
    if block or not yielded:
        yield block


def _rows(
    reader: Reader, table: ExportTable, wanted: RunFilter, points: PointsOf
) -> Iterator[Row]:
    if table is ExportTable.ATTEMPTS:
        yield from map(attempt_row, reader.attempts(wanted))
        return
    if table is ExportTable.HAND_READINGS:
        yield from rows_of_readings(reader.hand_readings(wanted))
        return
    if table in _OF_LOTS:
        yield from _OF_LOTS[table](LotBook(reader.store), wanted)
        return
    for source in _sources(reader, table, wanted, points):
        yield from rows_of(table, source)


def _sources(
    reader: Reader, table: ExportTable, wanted: RunFilter, points: PointsOf
) -> Iterator[Source]:
    places = reader.places_of_runs() if table is ExportTable.PLACES else {}
    runs = reader.iter_runs(wanted, runs_at_once=_RUNS_AT_ONCE)
    while handful := list(islice(runs, _RUNS_AT_ONCE)):
        ids = [run.header.run_id for run in handful]
        of_figures = table is ExportTable.FIGURES
        computed = reader.latest_computations(ids) if of_figures else {}
        for run_id, run in zip(ids, handful, strict=True):
            yield Source(
                run=run,
                computation=computed.get(run_id),
                points_mm=points(run) if table is ExportTable.SWEEPS else (),
                place=places.get(run_id),
            )


@contextmanager
def _told_plainly(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as exc:
        reason = (exc.strerror or str(exc)).lower()
        raise RecordsError(
            f"cannot export to {path}: {reason}",
            hint="name a folder that exists, has room and that you may write to",
        ) from exc


@contextmanager
def _placed_when_complete(path: Path) -> Iterator[IO[bytes]]:
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _csv_cell(value: Any, kind: Kind, name: str) -> Any:
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
            return shown(guarded(value))
        case Kind.NUMBER:
            return "" if math.isnan(value) else repr(value)
        case Kind.INTEGER:
            return value


def _write_csv(file: IO[bytes], table: ExportTable, blocks: Iterator[list[Row]]) -> int:
    columns = COLUMNS[table]
    count = 0
    head = _BYTE_ORDER_MARK + ",".join(columns) + "\r\n"
    file.write(head.encode("utf-8"))
    for block in blocks:
        text = io.StringIO(newline="")
        csv.writer(text).writerows(
            [_csv_cell(row[name], kind, name) for name, kind in columns.items()]
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
