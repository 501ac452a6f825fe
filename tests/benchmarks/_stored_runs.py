"""Fills records with very many runs of an invented sensor, quickly."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from rig.model.mounted import (
    Axis,
    Backlash,
    BacklashSource,
    Datum,
    Principle,
    Sensor,
    Target,
)
from rig.model.sweeps import Conditions, RunHeader
from rig.records import open_records
from rig.records.mapping import header_row, time_text

SWEEPS_PER_RUN = 10
SPEEDS_MM_S = (1.0, 4.0)
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
_TABLES = ("runs", "sweeps", "edges")


def fill(path: Path, runs: int) -> None:
    """Make records of so many runs of ten sweeps; each has a datum of its own."""
    open_records(path).close()
    rng = np.random.default_rng(runs)
    with sqlite3.connect(path) as database:
        database.execute("PRAGMA synchronous = OFF")
        guards = database.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        # The guards look every row up; without them this takes a third of the time
        for name, _ in guards:
            database.execute(f"DROP TRIGGER {name}")
        for table, rows in zip(
            _TABLES, (_runs(runs, rng), _sweeps(runs), _edges(runs, rng)), strict=True
        ):
            width = len(database.execute(f"PRAGMA table_info({table})").fetchall())
            marks = ", ".join("?" * width)
            database.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)
        for _, guard in guards:
            database.execute(guard)
    database.close()


def _run_id(run: int) -> str:
    return f"20261125-{run:08d}-512-7f3a"


def _runs(runs: int, rng: np.random.Generator) -> Iterator[tuple[object, ...]]:
    ended_at = time_text(NOON)
    for run in range(runs):
        header = RunHeader(
            run_id=_run_id(run),
            sensor=Sensor(
                name="level 18",
                principle=Principle.CAPACITIVE,
                size_mm=18.0,
                rated_distance_mm=8.0,
            ),
            target=Target(
                name="reference plate", material="steel", thickness_mm=1.0, earthed=True
            ),
            sweeps_wanted=SWEEPS_PER_RUN,
            speeds_mm_s=SPEEDS_MM_S,
            conditions=_conditions(20000.0 + float(rng.uniform())),
            software_version="0",
            started_at=NOON,
        )
        yield tuple((header_row(header) | {"ended_at": ended_at}).values())


def _conditions(datum_steps: float) -> Conditions:
    return Conditions(
        simulated=True,
        rig_id="bench-1",
        firmware_version="1.0",
        protocol_version="1.0",
        boot_number=1,
        axis=Axis(steps_per_mm=1600.0, standard_uncertainty_mm=0.001),
        datum=Datum(
            position_steps=datum_steps,
            standard_uncertainty_mm=0.0005,
            degrees_of_freedom=9.0,
            n=10,
            probe_uncertainty_mm=0.002,
            found_at=NOON,
        ),
        backlash=Backlash(
            value_mm=0.04,
            standard_uncertainty_mm=0.0008,
            degrees_of_freedom=4.0,
            n=5,
            source=BacklashSource.PROBE,
        ),
    )


def _sweeps(runs: int) -> Iterator[tuple[object, ...]]:
    ended_at = time_text(NOON)
    for run in range(runs):
        name = _run_id(run)
        for index in range(SWEEPS_PER_RUN):
            speed = SPEEDS_MM_S[index % len(SPEEDS_MM_S)]
            yield (name, index, 0, speed, 0, 1, "", ended_at)


def _edges(runs: int, rng: np.random.Generator) -> Iterator[tuple[object, ...]]:
    for run in range(runs):
        name = _run_id(run)
        places = rng.integers(-10, 10, (SWEEPS_PER_RUN, 2)).tolist()
        for index, (on, off) in enumerate(places):
            yield (name, index, 0, 2 * index, 1, 13600 + on, 2000 * index, 1)
            yield (name, index, 1, 2 * index + 1, 0, 12736 + off, 2000 * index + 9, 0)
