"""Fills records with very many runs of an invented sensor, quickly."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from datetime import timedelta
from itertools import chain
from pathlib import Path

import numpy as np

from rig.model.bench_declaration import NOTHING_DECLARED, knowledge_of
from rig.records import PlanEntry, PlanItem, PlanState, Writer, open_records
from rig.records.chain_takeover import chain_what_is_there
from rig.records.checksum import checksum_of_lines
from rig.records.mapping import header_row, json_text, time_text
from rig.records.schema import edges
from tests import builders
from tests.builders import NOON

_KNOWN = knowledge_of(NOTHING_DECLARED, touch_speed_mm_s=0.25)
SWEEPS_PER_RUN = 10
EDGES_PER_RUN = 2 * SWEEPS_PER_RUN
SPEEDS_MM_S = (1.0, 4.0)
PLAN_ID = "20261125-115900-000-0000"

Row = Mapping[str, object]
Steps = list[list[list[int]]]  # of the edges, by run and sweep


def fill(path: Path, runs: int, *, plan: bool = False) -> None:
    """Make records of so many runs of ten sweeps, one a minute, each of its own part.

    Each has a datum of its own, and an attempt that ended with figures; the figures
    themselves are left to `gapsweep recompute`.

    Args:
        path: File that is not there yet.
        runs: How many.
        plan: Whether they are the pairs of one plan.
    """
    with open_records(path) as store:
        if plan:
            Writer(store).begin_plan(_plan(runs))
    rng = np.random.default_rng(runs)
    steps = rng.integers(-10, 10, (runs, SWEEPS_PER_RUN, 2)).tolist()
    tables = {
        "runs": _runs(steps, rng, PLAN_ID if plan else ""),
        "attempts": _attempts(runs, PLAN_ID if plan else ""),
        "outcomes": _outcomes(runs),
        "sweeps": _sweeps(runs),
        "edges": _edges(steps),
    }
    with sqlite3.connect(path) as database:
        database.execute("PRAGMA synchronous = OFF")
        guards = database.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        # The guards look every row up; without them this takes a third of the time
        for name, _ in guards:
            database.execute(f"DROP TRIGGER {name}")
        for table, rows in tables.items():
            _insert(database, table, rows)
        for _, guard in guards:
            database.execute(guard)
    database.close()
    with open_records(path) as store, store.writing() as connection:
        chain_what_is_there(connection)


def _insert(database: sqlite3.Connection, table: str, rows: Iterator[Row]) -> None:
    first = next(rows)
    marks = ", ".join(f":{name}" for name in first)
    database.executemany(
        f"INSERT INTO {table} ({', '.join(first)}) VALUES ({marks})",
        chain([first], rows),
    )


def _run_id(run: int) -> str:
    return f"20261125-{run:08d}-512-7f3a"


def _part(run: int) -> str:
    return f"P{run:06d}"


def _plan(runs: int) -> PlanEntry:
    header = builders.header()
    items = tuple(
        PlanItem(
            index=run,
            sensor=header.sensor,
            target=header.target,
            sweeps_wanted=SWEEPS_PER_RUN,
            speeds_mm_s=SPEEDS_MM_S,
            part=_part(run),
        )
        for run in range(runs)
    )
    return PlanEntry(
        plan_id=PLAN_ID,
        title="Every part of a day",
        toml_text='title = "Every part of a day"\n',
        created_at=NOON,
        simulated=True,
        state=PlanState.DONE,
        items=items,
    )


def _runs(steps: Steps, rng: np.random.Generator, plan_id: str) -> Iterator[Row]:
    for run, own in enumerate(steps):
        begun = NOON + timedelta(minutes=run)
        datum = 20_000.0 + float(rng.uniform())
        header = builders.header(
            run_id=_run_id(run),
            part=_part(run),
            plan_id=plan_id,
            plan_item=run if plan_id else -1,
            started_at=begun,
            conditions={"datum": {"position_steps": datum}, "bench": _KNOWN},
        )
        ended_at = time_text(begun + timedelta(seconds=50))
        yield header_row(header) | {
            "ended_at": ended_at,
            "home_shift_steps": 0,
            "edges_checksum": checksum_of_lines(map(_line, _of_run(own))),
            "sequence": 2 * run + 2,
        }


def _attempts(runs: int, plan_id: str) -> Iterator[Row]:
    header = builders.header()
    sensor, target = json_text(asdict(header.sensor)), json_text(asdict(header.target))
    for run in range(runs):
        yield {
            "run_id": _run_id(run),
            "attempt_index": 0,
            "sensor_name": header.sensor.name,
            "target_name": header.target.name,
            "sensor": sensor,
            "target": target,
            "sweeps_wanted": SWEEPS_PER_RUN,
            "simulated": True,
            "rig_id": header.conditions.rig_id,
            "plan_id": plan_id or None,
            "plan_item": run if plan_id else -1,
            "part": _part(run),
            "operator": "",
            "note": "",
            "started_at": time_text(NOON + timedelta(minutes=run)),
            "software_version": header.software_version,
            "product": None,
            "sequence": 2 * run + 1,
        }


def _outcomes(runs: int) -> Iterator[Row]:
    for run in range(runs):
        yield {
            "run_id": _run_id(run),
            "attempt_index": 0,
            "outcome": "figures",
            "sentence": "",
            "causes": "",
            "ended_at": time_text(NOON + timedelta(minutes=run, seconds=50)),
        }


def _sweeps(runs: int) -> Iterator[Row]:
    ended_at = time_text(NOON)
    for run in range(runs):
        name = _run_id(run)
        for index in range(SWEEPS_PER_RUN):
            yield {
                "run_id": name,
                "sweep_index": index,
                "conditions_index": 0,
                "speed_mm_s": SPEEDS_MM_S[index % len(SPEEDS_MM_S)],
                "operate_ordinal": 0,
                "release_ordinal": 1,
                "void": "",
                "ended_at": ended_at,
            }


def _edges(steps: Steps) -> Iterator[Row]:
    names = [column.name for column in edges.columns]
    for run, own in enumerate(steps):
        for values in _of_run(own):
            # Without a scale
            yield dict(zip(names, (_run_id(run), *values, None), strict=True))


def _of_run(own: list[list[int]]) -> Iterator[tuple[int, ...]]:
    """Yield the columns of each edge of a run, but for the run."""
    for index, (on, off) in enumerate(own):
        yield (index, 0, 2 * index, 1, 13600 + on, 2000 * index, 1)
        yield (index, 1, 2 * index + 1, 0, 12736 + off, 2000 * index + 9, 0)


def _line(values: tuple[int, ...]) -> str:
    return " ".join(map(str, values)) + "\n"
