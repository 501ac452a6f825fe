"""The rows of a measurement-system study, filled one after the other by runs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from rig.errors import RigError
from rig.inquiry.study import (
    StudyProgress,
    fill_row_from_run,
    rows_due,
    study_progress,
)
from rig.inquiry.study_without import note_of_row
from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.procedures.attempt import outcome_of
from rig.records import Store
from rig.records.studies import StudyBook, StudyRow

# Measures the part of a row; the text is a note for the run
MeasureRow = Callable[[StudyRow, str], tuple[Run, RunFigures]]
TellOfRow = Callable[[StudyRow, RigError], None]


def measure_rows(
    store: Store,
    study_id: str,
    rows: int | None,
    measure: MeasureRow,
    tell: TellOfRow,
) -> StudyProgress:
    """Fill the rows that are due; each one that was measured is on record.

    Goes on past a part that gives no figures again and again: its attempt is on record
    with the outcome, and its row stays due.

    Args:
        store: Open records.
        study_id: Identity of the study.
        rows: How many of the rows that are due; None for all of them.
        measure: Measures the part of one row.
        tell: Told of a row whose part gave no figures, and why.

    Raises:
        InputError: Every row has its reading.
        RigError: A part cannot be measured, and another attempt may give figures.
    """
    study = StudyBook(store).study(study_id)
    due = rows_due(store, study)[:rows]
    filled = 0
    for row in due:
        try:
            run, figures = measure(row, note_of_row(study_id, row))
        except RigError as exc:
            if not outcome_of(exc).recurs:
                raise
            tell(row, exc)
            continue
        fill_row_from_run(store, study, row, run, figures, datetime.now(UTC))
        filled += 1
    return study_progress(store, study_id, filled=filled)
