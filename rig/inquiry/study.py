"""A measurement-system study: laid out, filled and worked out."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from rig.analysis.numbers.readout import assumed_step
from rig.analysis.study.measurement_system import CrossedStudy, crossed_study
from rig.analysis.study.study_layout import (
    FilledRow,
    SheetRow,
    StudyReadings,
    layout_rows,
    readings_of_sheet,
)
from rig.analysis.study.study_results import (
    AverageRange,
    StudyIntervals,
    StudyPlots,
    average_and_range,
    study_intervals,
    study_plots,
)
from rig.analysis.study.tolerance_share import (
    ToleranceShare,
    checked_tolerance,
    tolerance_share,
)
from rig.errors import InputError
from rig.inquiry.plausibility import check_study_readings
from rig.inquiry.runs_behind import RunBehind, runs_behind
from rig.inquiry.study_table import filled_table, readings_of_study
from rig.inquiry.study_without import RowWithout, rows_without, words_of_rows
from rig.model.figure_kinds import KIND_OF_OPTION, figure_of
from rig.model.figures import RunFigures
from rig.model.part_number import part_number
from rig.model.sweeps import Run
from rig.records import Reader, Store, make_run_id
from rig.records.studies import StudyBook, StudyEntry, StudyReading, StudyRow


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyOrder:
    """What a study is to be laid out of.

    Attributes:
        parts: Names of the parts, at least 2.
        appraisers: Persons or set-ups, at least 2.
        trials: How often each appraiser measures each part, at least 2.
        title: Title of the study.
        figure: Option name of the figure that is read.
        seed: Seed of the random order.
        tolerance: Upper minus lower limit of the figure, in its unit; None for none.
    """

    parts: tuple[str, ...]
    appraisers: tuple[str, ...]
    trials: int
    title: str
    figure: str
    seed: int
    tolerance: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyProgress:
    """How far a study is filled.

    Attributes:
        study_id: Identity of the study.
        filled: How many readings were entered now.
        left: How many rows have no reading yet.
        without: Those of them whose part was tried and gave no figures.
    """

    study_id: str
    filled: int
    left: int
    without: tuple[RowWithout, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyResult:
    """A study worked out by both methods.

    Attributes:
        title: Title of the study, or the name of its file.
        entry: The study as it was laid out; None for a file.
        readings: The reading of each row that has one, by the row's number; empty for
            a file.
        study: All readings as a block.
        crossed: Figures by analysis of variance.
        ranges: Figures by average and range.
        intervals: Intervals of the figures by analysis of variance.
        plots: Data of the plots.
        runs: The runs behind the readings; empty where they were entered by hand.
        tolerance: Share of the tolerance; None if nobody gave one.
    """

    title: str
    entry: StudyEntry | None
    readings: Mapping[int, StudyReading]
    study: StudyReadings
    crossed: CrossedStudy
    ranges: AverageRange
    intervals: StudyIntervals
    plots: StudyPlots
    runs: tuple[RunBehind, ...]
    tolerance: ToleranceShare | None = None

    @property
    def simulated(self) -> int:
        """Number of readings that a simulated rig made."""
        return sum(reading.simulated for reading in self.readings.values())


def begin_study(store: Store, order: StudyOrder, now: datetime) -> StudyEntry:
    """Lay a study out and put it on record.

    Args:
        store: Open records.
        order: What it is of.
        now: Time that it begins, UTC.

    Raises:
        InputError: There are too few of anything, a name comes twice, or the tolerance
            is not above 0.
        RecordsError: It cannot be kept.
    """
    if order.tolerance is not None:
        checked_tolerance(order.tolerance)
    parts = tuple(part_number(part, "a part") for part in order.parts)
    rows = tuple(
        StudyRow(
            order=row.order, trial=row.trial, appraiser=row.appraiser, part=row.part
        )
        for row in layout_rows(parts, order.appraisers, order.trials, seed=order.seed)
    )
    study = StudyEntry(
        study_id=make_run_id(now, random.SystemRandom()),
        title=order.title,
        figure=order.figure,
        unit=KIND_OF_OPTION[order.figure].unit,
        seed=order.seed,
        rows=rows,
        begun_at=now,
        tolerance=order.tolerance,
    )
    StudyBook(store).begin(study)
    return study


def fill_study(
    store: Store, study_id: str, path: Path, now: datetime, *, sure: bool = False
) -> StudyProgress:
    """Put the readings of a filled table on record, all or none.

    Args:
        store: Open records.
        study_id: Identity of the study.
        path: The table, filled in.
        now: Time of entry, UTC.
        sure: Whether readings are taken even if they are hardly meant so.

    Raises:
        Implausible: A reading is hardly meant so, and nobody is sure.
        InputError: The table is not that of the study, or a cell is not right.
        RecordsError: The study is not on record, or they cannot be kept.
    """
    book = StudyBook(store)
    study = book.study(study_id)
    readings = readings_of_study(path, study, now)
    if not sure:
        check_study_readings(readings, book.readings(study_id))
    book.add_readings(study_id, readings)
    return study_progress(store, study_id, filled=len(readings))


def fill_row_from_run(
    store: Store,
    study: StudyEntry,
    row: StudyRow,
    run: Run,
    figures: RunFigures,
    now: datetime,
) -> None:
    """Put the figure of a run on record as the reading of a row.

    Raises:
        InputError: The run does not give the figure of the study.
        RecordsError: It cannot be kept.
    """
    found = figure_of(figures, study.figure)
    reading = StudyReading(
        order=row.order,
        value=found.value,
        unit=found.unit,
        run_id=run.header.run_id,
        simulated=run.header.conditions.simulated,
        entered_at=now,
    )
    StudyBook(store).add_readings(study.study_id, [reading])


def rows_due(store: Store, study: StudyEntry) -> tuple[StudyRow, ...]:
    """Return the rows of a study that have no reading yet, in order.

    Rows whose part was tried and gave no figures come last.

    Raises:
        InputError: Every row has its reading.
        RecordsError: The records cannot be read.
    """
    done = StudyBook(store).readings(study.study_id)
    due = tuple(row for row in study.rows if row.order not in done)
    if not due:
        raise InputError(
            f"every row of the study {study.study_id} has its reading",
            hint=f"`gapsweep study results {study.study_id}` works it out",
        )
    tried = {one.order for one in rows_without(store, study, done)}
    return tuple(sorted(due, key=lambda row: row.order in tried))


def study_progress(store: Store, study_id: str, *, filled: int) -> StudyProgress:
    """Return how far a study is filled.

    Args:
        store: Open records.
        study_id: Identity of the study.
        filled: How many readings were entered now.

    Raises:
        RecordsError: The study is not on record.
    """
    with store.snapshot() as moment:
        book = StudyBook(moment)
        study, read = book.study(study_id), book.readings(study_id)
        without = rows_without(moment, study, read)
    left = len(study.rows) - len(read)
    return StudyProgress(study_id=study_id, filled=filled, left=left, without=without)


def study_on_record(
    store: Store,
    study_id: str,
    *,
    confidence: float = 0.95,
    tolerance: float | None = None,
) -> StudyResult:
    """Work a study out from the records, all read at one moment.

    Args:
        store: Open records.
        study_id: Identity of the study.
        confidence: Confidence of the intervals, 0 to 1.
        tolerance: Upper minus lower limit, in the unit of the study; None for the one
            that it was laid out with.

    Raises:
        InputError: It has no readings, is not complete or not balanced, a part of it
            gave no figures, or nothing scatters within its cells.
        RecordsError: It is not on record.
    """
    with store.snapshot() as moment:
        book = StudyBook(moment)
        entry, readings = book.study(study_id), book.readings(study_id)
        runs = runs_behind(Reader(moment), [one.run_id for one in readings.values()])
        without = rows_without(moment, entry, readings)
    if without:
        raise InputError(
            f"no figure of the study {study_id}: {words_of_rows(without)}",
            hint="measure the part again, or take what there is with"
            " `gapsweep study components`",
        )
    filled = _filled_rows(entry, readings)
    width = entry.tolerance if tolerance is None else tolerance
    found = _worked_out(entry.title, filled, confidence, width)
    return replace(found, entry=entry, readings=readings, runs=runs)


def study_of_table(
    path: Path, *, confidence: float = 0.95, tolerance: float | None = None
) -> StudyResult:
    """Work a study out from a filled table.

    Args:
        path: CSV file; see `filled_table`.
        confidence: Confidence of the intervals, 0 to 1.
        tolerance: Upper minus lower limit, in the unit of the readings; None for none.

    Raises:
        InputError: A cell is not right, the study is not balanced, or nothing
            scatters within its cells.
    """
    return _worked_out(str(path), filled_table(path), confidence, tolerance)


def _worked_out(
    title: str,
    filled: Sequence[FilledRow],
    confidence: float,
    tolerance: float | None,
) -> StudyResult:
    study = readings_of_sheet(filled)
    crossed = crossed_study(study.readings)
    step = assumed_step(study.readings.ravel())
    intervals = study_intervals(crossed, confidence, step=step)
    share = None
    if tolerance is not None:
        share = tolerance_share(
            crossed.spreads.measurement, intervals.measurement, tolerance
        )
    return StudyResult(
        title=title,
        entry=None,
        readings={},
        study=study,
        crossed=crossed,
        ranges=average_and_range(study.readings),
        intervals=intervals,
        plots=study_plots(study.readings, crossed.spreads),
        runs=(),
        tolerance=share,
    )


def _filled_rows(
    study: StudyEntry, readings: Mapping[int, StudyReading]
) -> list[FilledRow]:
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
