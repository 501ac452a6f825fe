"""Fills records with very many runs of an invented sensor, quickly."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from rig.model.bench_declaration import NOTHING_DECLARED, knowledge_of
from rig.records import open_records, schema
from rig.records.chain_takeover import chain_what_is_there
from rig.records.checksum import checksum_of_lines
from rig.records.mapping import header_row, time_text
from tests import builders
from tests.builders import NOON

_KNOWN = knowledge_of(NOTHING_DECLARED, touch_speed_mm_s=0.25)
SWEEPS_PER_RUN = 10
SPEEDS_MM_S = (1.0, 4.0)
_TABLES = (schema.runs, schema.sweeps, schema.edges)
Steps = list[list[list[int]]]  # of the edges, by run, by sweep


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
        steps = rng.integers(-10, 10, (runs, SWEEPS_PER_RUN, 2)).tolist()
        for table, rows in zip(
            _TABLES, (_runs(steps, rng), _sweeps(runs), _edges(steps)), strict=True
        ):
            names = [column.name for column in table.columns]
            marks = ", ".join("?" * len(names))
            into = f"{table.name} ({', '.join(names)})"
            database.executemany(f"INSERT INTO {into} VALUES ({marks})", rows)
        for _, guard in guards:
            database.execute(guard)
    database.close()
    with open_records(path) as store, store.writing() as connection:
        chain_what_is_there(connection)


def _run_id(run: int) -> str:
    return f"20261125-{run:08d}-512-7f3a"


def _runs(steps: Steps, rng: np.random.Generator) -> Iterator[tuple[object, ...]]:
    ended_at = time_text(NOON)
    for run, own in enumerate(steps):
        datum = 20_000.0 + float(rng.uniform())
        header = builders.header(
            run_id=_run_id(run),
            conditions={"datum": {"position_steps": datum}, "bench": _KNOWN},
        )
        row = header_row(header) | {
            "ended_at": ended_at,
            "edges_checksum": checksum_of_lines(_lines(own)),
            "sequence": run + 1,
        }
        yield tuple(row.get(column.name) for column in schema.runs.columns)


def _sweeps(runs: int) -> Iterator[tuple[object, ...]]:
    ended_at = time_text(NOON)
    for run in range(runs):
        name = _run_id(run)
        for index in range(SWEEPS_PER_RUN):
            speed = SPEEDS_MM_S[index % len(SPEEDS_MM_S)]
            yield (name, index, 0, speed, 0, 1, "", ended_at)


def _edges(steps: Steps) -> Iterator[tuple[object, ...]]:
    for run, own in enumerate(steps):
        for values in _of_run(own):
            yield (_run_id(run), *values)


def _of_run(own: list[list[int]]) -> Iterator[tuple[int, ...]]:
    """Yield the columns of each edge of a run, but for the run."""
    for index, (on, off) in enumerate(own):
        yield (index, 0, 2 * index, 1, 13600 + on, 2000 * index, 1)
        yield (index, 1, 2 * index + 1, 0, 12736 + off, 2000 * index + 9, 0)


def _lines(own: list[list[int]]) -> Iterator[str]:
    for values in _of_run(own):
        yield " ".join(map(str, values)) + "\n"
