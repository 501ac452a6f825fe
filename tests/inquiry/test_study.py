"""A study is read from the records at one moment, and so is how far it is filled."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rig.errors import InputError
from rig.inquiry import study as inquiry
from rig.inquiry.study import (
    StudyOrder,
    begin_study,
    fill_study,
    rows_due,
    study_of_table,
    study_on_record,
    study_progress,
)
from rig.inquiry.study_table import study_table
from rig.records import Store, open_records
from rig.records.studies import StudyBook, StudyEntry, StudyReading

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "measured.sqlite"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with open_records(path) as found:
        yield found


def begun(store: Store) -> StudyEntry:
    order = StudyOrder(
        parts=("P1", "P2", "P3"),
        appraisers=("A", "B"),
        trials=2,
        title="Bench 1",
        figure="release",
        seed=4,
    )
    return begin_study(store, order, NOW)


def filled_in(study: StudyEntry, path: Path, rows: int = 12) -> Path:
    head, columns, *lines = study_table(study).splitlines()
    filled = [head, columns]
    for line in lines[:rows]:
        cells = line.split(",")
        cells[4] = str(8.0 + 0.1 * int(cells[3][1:]) + 0.001 * (len(filled) ** 2 % 5))
        filled.append(",".join(cells))
    path.write_text("\n".join(filled), "utf-8")
    return path


def test_a_study_is_filled_from_its_table_row_by_row(
    store: Store, tmp_path: Path
) -> None:
    study = begun(store)
    first = fill_study(
        store, study.study_id, filled_in(study, tmp_path / "a.csv", 5), NOW
    )
    due = rows_due(store, study)
    rest = fill_study(store, study.study_id, filled_in(study, tmp_path / "b.csv"), NOW)

    assert (first.filled, first.left) == (5, 7)
    assert [row.order for row in due] == list(range(6, 13))
    assert (rest.filled, rest.left) == (12, 0)
    with pytest.raises(InputError, match="every row"):
        rows_due(store, study)


def test_records_and_table_give_the_same_figures(store: Store, tmp_path: Path) -> None:
    study = begun(store)
    table = filled_in(study, tmp_path / "filled.csv")
    fill_study(store, study.study_id, table, NOW)

    kept = study_on_record(store, study.study_id, confidence=0.9)
    read = study_of_table(table, confidence=0.9)

    assert kept.crossed.spreads == read.crossed.spreads
    assert kept.intervals == read.intervals
    assert kept.intervals.measurement.confidence == 0.9
    assert (kept.entry, read.entry) == (study, None)
    assert kept.simulated == 0


def test_readings_and_the_runs_behind_them_are_of_one_moment(
    store: Store, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = begun(store)
    fill_study(store, study.study_id, filled_in(study, tmp_path / "a.csv"), NOW)
    read = inquiry.runs_behind
    asked = []

    def meanwhile(reader, run_ids):
        # Between the readings and their runs, somebody enters another reading
        with open_records(path) as other:
            later = StudyReading(
                order=1,
                value=99.0,
                unit="mm",
                run_id="",
                simulated=True,
                entered_at=NOW,
            )
            StudyBook(other).add_readings(study.study_id, [later])
        asked.append(StudyBook(reader._store).readings(study.study_id)[1].value)
        return read(reader, run_ids)

    monkeypatch.setattr(inquiry, "runs_behind", meanwhile)

    result = study_on_record(store, study.study_id)

    assert asked == [result.readings[1].value]
    assert result.readings[1].value < 10.0
    assert study_on_record(store, study.study_id).readings[1].value == 99.0


def test_progress_is_counted_at_one_moment(store: Store) -> None:
    study = begun(store)

    assert study_progress(store, study.study_id, filled=0).left == 12
