"""The table of a measurement-system study, laid out to be filled in by hand."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from rig.analysis.numbers.given import one_unit
from rig.analysis.study.study_layout import FilledRow, SheetRow
from rig.catalogue.table_input import TableRow, read_table
from rig.errors import InputError
from rig.model.number_input import DecimalMark
from rig.records.studies import StudyEntry, StudyReading, StudyRow

_COLUMNS = ("order", "trial", "appraiser", "part", "reading", "unit")


def study_table(study: StudyEntry, decimal: DecimalMark = DecimalMark.POINT) -> str:
    """Return the table to be filled in: CSV, one row a reading, in their order.

    Args:
        study: The study.
        decimal: Decimal mark of those who fill it in; it decides what stands between
            the cells.
    """
    text = io.StringIO()
    writer = csv.writer(text, delimiter=decimal.between_cells, lineterminator="\n")
    text.write(f"# study {study.study_id}: {study.figure}, read in this order\n")
    writer.writerow(_COLUMNS)
    for row in study.rows:
        writer.writerow([row.order, row.trial, row.appraiser, row.part, "", study.unit])
    return text.getvalue()


def readings_of_study(
    path: Path, study: StudyEntry, entered_at: datetime
) -> list[StudyReading]:
    """Read the filled table of a study on record.

    Args:
        path: CSV file; rows without a reading are left out of it.
        study: The study that it must be the table of.
        entered_at: When, UTC.

    Raises:
        InputError: It is not the table of that study, or a cell is not right.
    """
    wanted = {row.order: row for row in study.rows}
    readings: dict[int, StudyReading] = {}
    for row in read_table(path, required=_COLUMNS):
        order = row.whole_number("order")
        _check_row(row, order, wanted)
        if order in readings:
            raise InputError(
                f"{row.where}: row {order} stands there twice",
                hint="keep the row with the reading that counts",
            )
        readings[order] = StudyReading(
            order=order,
            value=row.number("reading"),
            unit=row.text("unit"),
            run_id="",
            simulated=False,
            entered_at=entered_at,
        )
    one_unit([study.unit, *(r.unit for r in readings.values())], str(path))
    return list(readings.values())


def _check_row(row: TableRow, order: int, wanted: Mapping[int, StudyRow]) -> None:
    known = wanted.get(order)
    given = (row.whole_number("trial"), row.text("appraiser"), row.part("part"))
    if known is None or given != (known.trial, known.appraiser, known.part):
        raise InputError(
            f"{row.where}: row {order} of the study is another one",
            hint="fill in the readings only, and leave the rest as it is",
        )


def filled_table(path: Path) -> list[FilledRow]:
    """Read a filled table of a study that need not be on record.

    Args:
        path: CSV file with the columns trial, appraiser, part, reading and unit.

    Raises:
        InputError: A column is missing, or a cell is not right.
    """
    rows = read_table(
        path,
        required=("trial", "appraiser", "part", "reading", "unit"),
        optional=("order",),
    )
    return [
        FilledRow(
            row=SheetRow(
                order=index,
                trial=row.whole_number("trial"),
                appraiser=row.text("appraiser"),
                part=row.part("part"),
            ),
            reading=row.number("reading"),
            unit=row.text("unit"),
        )
        for index, row in enumerate(rows, start=1)
    ]
