"""The rows of a measurement-system study, filled one after the other by runs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from rig.inquiry.study import (
    StudyProgress,
    fill_row_from_run,
    rows_due,
    study_progress,
)
from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.records import Store
from rig.records.studies import StudyBook, StudyRow

# Measures the part of a row; the text is a note for the run
MeasureRow = Callable[[StudyRow, str], tuple[Run, RunFigures]]


def measure_rows(
    store: Store, study_id: str, rows: int | None, measure: MeasureRow
) -> StudyProgress:
    """Fill the rows that are due; each one that was measured is on record.

    Args:
        store: Open records.
        study_id: Identity of the study.
        rows: How many of the rows that are due; None for all of them.
        measure: Measures the part of one row.

    Raises:
        InputError: Every row has its reading.
        RigError: A part cannot be measured.
    """
    study = StudyBook(store).study(study_id)
    due = rows_due(store, study)[:rows]
    for row in due:
        note = (
            f"study {study_id}, row {row.order}: appraiser {row.appraiser}, trial"
            f" {row.trial}"
        )
        run, figures = measure(row, note)
        fill_row_from_run(store, study, row, run, figures, datetime.now(UTC))
    return study_progress(store, study_id, filled=len(due))
