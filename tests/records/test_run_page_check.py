"""What is read for figures anyway tells a run that was changed, as its rows do."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType
from unittest.mock import patch

import pytest

from rig.model.mounted import OutputKind
from rig.model.sweeps import DatumCheck
from rig.records import Reader, Store, Writer, open_records, run_page_check
from rig.records.run_pages import run_page
from tests import builders

RUNS = 3
OPENING = builders.sensor(output=OutputKind.NORMALLY_OPEN)
CHECK = DatumCheck(
    sweeps_before=4,
    position_steps=1203,
    standard_uncertainty_mm=0.002,
    degrees_of_freedom=2.0,
    n=3,
    touched_at=datetime(2026, 11, 25, 9, 40, tzinfo=UTC),
)


@pytest.fixture
def filled(path: Path, samples: ModuleType) -> Path:
    with open_records(path) as store:
        writer = Writer(store)
        for number in range(RUNS):
            header = samples.header(number, sensor=OPENING)
            writer.begin_run(header)
            for index in range(4):
                writer.add_sweep(header.run_id, samples.sweep(index))
            writer.add_datum_check(header.run_id, 0, CHECK)
            writer.end_run(header.run_id, ended_at=samples.NOON, home_shift_steps=0)
    return path


def others(store: Store, samples: ModuleType) -> tuple[str, ...]:
    first, last = (samples.header(number).run_id for number in (0, RUNS - 1))
    return run_page(store, first, last).others


def change(path: Path, statement: str) -> None:
    """Alter the records as somebody does who takes the guards off first."""
    with closing(sqlite3.connect(path, isolation_level=None)) as tool:
        guards = tool.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in guards.fetchall():
            tool.execute(f"DROP TRIGGER {name}")
        assert tool.execute(statement).rowcount > 0


def test_runs_as_they_were_written_are_told_from_the_arrays_alone(
    filled: Path, samples: ModuleType
) -> None:
    looked_at: list[str] = []

    def remember(_: object, run_ids: list[str]) -> dict[str, object]:
        looked_at.extend(run_ids)
        return {}

    with (
        open_records(filled) as store,
        patch.object(run_page_check, "checks_of_runs", remember),
    ):
        assert others(store, samples) == ()
    assert looked_at == []


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE edges SET position_steps = position_steps + 1 WHERE ordinal = 1",
        "UPDATE edges SET time_us = time_us + 1 WHERE sweep_index = 3",
        "UPDATE edges SET number = number + 1 WHERE sweep_index = 2",
        "UPDATE sweeps SET speed_mm_s = speed_mm_s * 1.0000001 WHERE sweep_index = 1",
        "UPDATE sweeps SET ended_at = '2026-11-25T09:34:13.512345Z'",
        "UPDATE datum_checks SET position_steps = position_steps + 0.5",
        "UPDATE runs SET conditions = replace(conditions, '\"simulated\": true',"
        " '\"simulated\": false')",
        "UPDATE runs SET part = 'X'",
        "UPDATE runs SET ended_at = '2026-11-25T09:34:13.512345Z'",
        "UPDATE runs SET home_shift_steps = 4",
        "DELETE FROM edges WHERE sweep_index = 3",
        "DELETE FROM datum_checks",
        "DELETE FROM chain WHERE kind = 'run ended'",
    ],
)
def test_every_change_is_told(
    filled: Path, samples: ModuleType, statement: str
) -> None:
    change(filled, statement)
    run_ids = tuple(samples.header(number).run_id for number in range(RUNS))

    with open_records(filled) as store:
        checks = Reader(store).checks(run_ids)
        assert others(store, samples) == run_ids

    assert all(check.intact is False for check in checks.values())


def test_the_sentence_says_what_was_changed(filled: Path, samples: ModuleType) -> None:
    run_id = samples.header(1).run_id
    change(filled, f"DELETE FROM edges WHERE sweep_index = 2 AND run_id = '{run_id}'")
    change(filled, f"UPDATE runs SET part = 'X' WHERE run_id = '{run_id}'")

    with open_records(filled) as store:
        check = Reader(store).verify(run_id)

    assert check.changes == (
        "what was known of it before its first sweep was altered",
        "sweep 2 was altered",
    )
    assert check.sentence == (
        f"run {run_id} was changed after it was recorded: what was known of it before"
        " its first sweep was altered, and 1 more"
    )
