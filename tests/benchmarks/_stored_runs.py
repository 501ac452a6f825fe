"""Fills records with very many runs of an invented sensor, quickly."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from rig.model.bench_declaration import NOTHING_DECLARED, knowledge_of
from rig.records import open_records
from rig.records.mapping import header_row, time_text
from tests import builders
from tests.builders import NOON

_KNOWN = knowledge_of(NOTHING_DECLARED, touch_speed_mm_s=0.25)
SWEEPS_PER_RUN = 10
SPEEDS_MM_S = (1.0, 4.0)
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
        steps = 20_000.0 + float(rng.uniform())
        header = builders.header(
            run_id=_run_id(run),
            conditions={"datum": {"position_steps": steps}, "bench": _KNOWN},
        )
        ending = {"ended_at": ended_at, "home_repeatability_mm": None}
        yield tuple((header_row(header) | ending).values())


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
