"""The rows of every exported table, of all that is on record or of what is chosen.

Works through runs a few at a time, so that memory does not grow with the records.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Final

from rig.model.sweeps import Run
from rig.records.entry_rows import (
    bench_rows,
    calibration_reading_rows,
    calibration_rows,
    document_rows,
    hand_rows,
    note_rows,
    operator_rows,
    plan_item_rows,
    plan_rows,
    product_rows,
    study_rows,
    trail_rows,
)
from rig.records.export_choice import ExportChoice
from rig.records.export_columns import ExportTable
from rig.records.lot_rows import lot_result_rows, lot_rows
from rig.records.mapping import Row
from rig.records.reader import Reader
from rig.records.tables import Points, Source, attempt_row, rows_of

_RUNS_AT_ONCE = 20

# Gives the rows of one table
RowsOf = Callable[[Reader, ExportChoice], Iterator[Row]]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """What is not known here: how a gap comes from steps, and a verdict from a gap.

    Attributes:
        points: Gives the gaps of a run's sweeps.
        tables: Gives the rows of tables that rest on figures and limits.
    """

    points: Callable[[Run], Points]
    tables: Mapping[ExportTable, RowsOf]


def _attempt_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    yield from map(attempt_row, reader.attempts(chosen.wanted))


_OF_ENTRIES: Final[Mapping[ExportTable, RowsOf]] = {
    ExportTable.ATTEMPTS: _attempt_rows,
    ExportTable.NOTES: note_rows,
    ExportTable.HAND_READINGS: hand_rows,
    ExportTable.LOTS: lot_rows,
    ExportTable.LOT_RESULTS: lot_result_rows,
    ExportTable.STUDIES: study_rows,
    ExportTable.PLANS: plan_rows,
    ExportTable.PLAN_ITEMS: plan_item_rows,
    ExportTable.PRODUCTS: product_rows,
    ExportTable.BENCH: bench_rows,
    ExportTable.CALIBRATIONS: calibration_rows,
    ExportTable.CALIBRATION_READINGS: calibration_reading_rows,
    ExportTable.DOCUMENTS: document_rows,
    ExportTable.OPERATORS: operator_rows,
    ExportTable.TRAIL: trail_rows,
}
_WITH_FIGURES: Final = (ExportTable.FIGURES, ExportTable.BUDGETS)


def export_rows(
    reader: Reader, table: ExportTable, chosen: ExportChoice, worked_out: WorkedOut
) -> Iterator[Row]:
    """Yield the rows of a table, with its columns and perhaps others.

    Raises:
        RecordsError: The records cannot be read.
    """
    rows = {**_OF_ENTRIES, **worked_out.tables}.get(table)
    if rows is not None:
        yield from rows(reader, chosen)
        return
    for source in _sources(reader, table, chosen, worked_out):
        yield from rows_of(table, source)


def _sources(
    reader: Reader, table: ExportTable, chosen: ExportChoice, worked_out: WorkedOut
) -> Iterator[Source]:
    places = reader.places_of_runs() if table is ExportTable.PLACES else {}
    runs = reader.iter_runs(chosen.wanted, runs_at_once=_RUNS_AT_ONCE)
    while handful := list(islice(runs, _RUNS_AT_ONCE)):
        ids = [run.header.run_id for run in handful]
        computed = reader.latest_computations(ids) if table in _WITH_FIGURES else {}
        checks = reader.checks(ids) if table is ExportTable.RUNS else {}
        for run_id, run in zip(ids, handful, strict=True):
            yield Source(
                run=run,
                computation=computed.get(run_id),
                points_mm=worked_out.points(run) if table is ExportTable.SWEEPS else (),
                place=places.get(run_id),
                changed=checks[run_id].sentence if run_id in checks else "",
            )
