"""What `gapsweep study` does: lays a study out, fills it, and works it out."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import click

from rig.analysis.numbers.given import one_unit
from rig.analysis.study.study_layout import (
    FilledRow,
    SheetRow,
    readings_of_sheet,
    study_sheet,
)
from rig.catalogue.csv_input import read_csv
from rig.cli.documents import emit
from rig.cli.measuring import Measurement, measure_part
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.text.study_text import study_document, study_text, work_out_study
from rig.cli.text.table import SIMULATED
from rig.errors import InputError
from rig.model.figure_kinds import KIND_OF_OPTION, figure_of
from rig.model.plain import plain
from rig.records import Store, make_run_id
from rig.records.studies import StudyBook, StudyEntry, StudyReading, StudyRow
from rig.report.files import write_whole

_SHEET = ("order", "trial", "appraiser", "part", "reading", "unit")


def lay_out(
    *,
    parts: Sequence[str],
    appraisers: Sequence[str],
    trials: int,
    title: str,
    figure: str,
    seed: int,
    out: Path,
    records: str | None,
    as_json: bool,
) -> None:
    """Put a study on record and write its sheet.

    Raises:
        RigError: The study cannot be laid out, or not be kept.
    """
    rows = tuple(
        StudyRow(
            order=row.order, trial=row.trial, appraiser=row.appraiser, part=row.part
        )
        for row in study_sheet(parts, appraisers, trials, seed=seed)
    )
    now = datetime.now(UTC)
    study = StudyEntry(
        study_id=make_run_id(now, random.SystemRandom()),
        title=title,
        figure=figure,
        unit=KIND_OF_OPTION[figure].unit,
        seed=seed,
        rows=rows,
        begun_at=now,
    )
    with open_store(records) as store:
        StudyBook(store).begin(study)
    write_whole(out, _sheet_text(study))
    if as_json:
        emit({"study_id": study.study_id, "sheet": str(out), "rows": plain(study.rows)})
        return
    say(f"study {study.study_id}: {len(rows)} readings, sheet in {out}")
    say(f"fill it:     gapsweep study fill {study.study_id} {out}")
    say(f"or measure:  gapsweep study measure {study.study_id} --rig PORT")


def _sheet_text(study: StudyEntry) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    text.write(f"# study {study.study_id}: {study.figure}, read in this order\n")
    writer.writerow(_SHEET)
    for row in study.rows:
        writer.writerow([row.order, row.trial, row.appraiser, row.part, "", study.unit])
    return text.getvalue()


def fill(study_id: str, path: Path, *, records: str | None, as_json: bool) -> None:
    """Put the readings of a filled sheet on record.

    Raises:
        RigError: The sheet is not that of the study, or a cell is not right.
    """
    rows = read_csv(path, required=_SHEET)
    now = datetime.now(UTC)
    with open_store(records) as store:
        book = StudyBook(store)
        study = book.study(study_id)
        sheet = {row.order: row for row in study.rows}
        readings: dict[int, StudyReading] = {}
        for row in rows:
            order = row.whole_number("order")
            given = (row.whole_number("trial"), row.text("appraiser"), row.text("part"))
            wanted = sheet.get(order)
            if wanted is None or given != (
                wanted.trial,
                wanted.appraiser,
                wanted.part,
            ):
                raise InputError(
                    f"{row.where}: row {order} of the study is another one",
                    hint="fill in the readings only, and leave the rest as it is",
                )
            if order in readings:
                raise InputError(f"{row.where}: row {order} stands there twice")
            readings[order] = StudyReading(
                order=order,
                value=row.number("reading"),
                unit=row.text("unit"),
                run_id="",
                simulated=False,
                entered_at=now,
            )
        one_unit([study.unit, *(r.unit for r in readings.values())], str(path))
        book.add_readings(study_id, list(readings.values()))
        left = len(study.rows) - len(book.readings(study_id))
    _say_filled(study_id, len(readings), left, as_json=as_json)


def measure(
    study_id: str,
    wanted: Measurement,
    *,
    rows: int | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Fill the next rows of a study by runs of the rig.

    Raises:
        RigError: A part cannot be measured; what was measured is on record.
    """
    with open_store(records) as store:
        book = StudyBook(store)
        study = book.study(study_id)
        done = book.readings(study_id)
        due = [row for row in study.rows if row.order not in done][:rows]
        if not due:
            raise InputError(
                f"every row of the study {study_id} has its reading",
                hint=f"`gapsweep study results {study_id}` works it out",
            )
        for row in due:
            _measure_row(store, book, study, row, wanted)
        left = len(study.rows) - len(book.readings(study_id))
    _say_filled(study_id, len(due), left, as_json=as_json)


def _measure_row(
    store: Store, book: StudyBook, study: StudyEntry, row: StudyRow, wanted: Measurement
) -> None:
    note = (
        f"study {study.study_id}, row {row.order}: appraiser {row.appraiser}, trial"
        f" {row.trial}"
    )
    click.echo(f"part {row.part}, {note}", err=True)
    who = replace(wanted, operator=row.appraiser)
    run, figures = measure_part(who, store, row.part, note)
    found = figure_of(figures, study.figure)
    reading = StudyReading(
        order=row.order,
        value=found.value,
        unit=found.unit,
        run_id=run.header.run_id,
        simulated=run.header.conditions.simulated,
        entered_at=datetime.now(UTC),
    )
    book.add_readings(study.study_id, [reading])


def _say_filled(study_id: str, filled: int, left: int, *, as_json: bool) -> None:
    if as_json:
        emit({"study_id": study_id, "filled": filled, "left": left})
    else:
        say(f"study {study_id}: {filled} readings entered, {left} to go")


def results(
    study_id: str | None,
    path: Path | None,
    *,
    confidence: float,
    records: str | None,
    as_json: bool,
) -> None:
    """Work a study out, from the records or from a filled sheet.

    Raises:
        RigError: It is not complete, not balanced, or a cell is not right.
    """
    if (study_id is None) is (path is None):
        raise InputError("give a STUDY on record or a filled sheet with --from")
    if path is not None:
        filled, simulated, title = _from_sheet(path), False, str(path)
    else:
        filled, simulated, title = _from_records(str(study_id), records)
    worked_out = work_out_study(readings_of_sheet(filled), title, confidence)
    if as_json:
        document = study_document(worked_out)
        emit({"simulated": simulated, "study_id": study_id, **document})
        return
    if simulated:
        say(SIMULATED)
    say(study_text(worked_out))


def _from_sheet(path: Path) -> list[FilledRow]:
    rows = read_csv(
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
                part=row.text("part"),
            ),
            reading=row.number("reading"),
            unit=row.text("unit"),
        )
        for index, row in enumerate(rows, start=1)
    ]


def _from_records(
    study_id: str, records: str | None
) -> tuple[list[FilledRow], bool, str]:
    with open_store(records, read_only=True) as store:
        book = StudyBook(store)
        study, readings = book.study(study_id), book.readings(study_id)
    filled = filled_rows(study, readings)
    simulated = any(reading.simulated for reading in readings.values())
    return filled, simulated, study.title


def filled_rows(
    study: StudyEntry, readings: Mapping[int, StudyReading]
) -> list[FilledRow]:
    """Return the rows of a study's sheet that have a reading.

    Raises:
        InputError: None has.
    """
    if not readings:
        raise InputError(
            f"the study {study.study_id} has no readings",
            hint="`gapsweep study fill` or `gapsweep study measure` enters them",
        )
    return [
        FilledRow(
            row=SheetRow(
                order=row.order,
                trial=row.trial,
                appraiser=row.appraiser,
                part=row.part,
            ),
            reading=readings[row.order].value,
            unit=readings[row.order].unit,
        )
        for row in study.rows
        if row.order in readings
    ]
