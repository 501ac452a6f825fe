"""What was measured cannot be altered, neither by us nor by another SQLite tool."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.records import Reader, Writer
from rig.records.schema import figures
from rig.records.store import Store


@pytest.fixture
def ended_run(store: Store, writer: Writer, samples: ModuleType) -> str:
    plan = samples.plan()
    writer.begin_plan(plan)
    header = samples.header(plan_id=plan.plan_id, plan_item=0)
    writer.begin_run(header)
    writer.add_sweep(header.run_id, samples.sweep(0))
    writer.add_figures(header.run_id, samples.figures(), computed_at=samples.NOON)
    writer.end_run(header.run_id, ended_at=samples.NOON)
    # Figures as earlier versions kept them are guarded like today's
    row = {"computation_id": 1, "name": "operate", "value": 7.9, "unit": "mm", "n": 9}
    with store.writing() as connection:
        connection.execute(figures.insert(), row | {"budget": "[]", "why_none": ""})
    return str(header.run_id)


@pytest.fixture
def other_tool(path: Path, ended_run: str) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        yield connection


@pytest.mark.parametrize(
    "table",
    [
        "edges",
        "sweeps",
        "runs",
        "computations",
        "figures",
        "figure_numbers",
        "figure_forms",
        "plans",
        "plan_items",
    ],
)
def test_nothing_is_deleted(other_tool: sqlite3.Connection, table: str) -> None:
    count = f"SELECT count(*) FROM {table}"
    before = other_tool.execute(count).fetchone()

    with pytest.raises(sqlite3.IntegrityError, match="kept for ever"):
        other_tool.execute(f"DELETE FROM {table}")

    assert before[0] > 0
    assert other_tool.execute(count).fetchone() == before


@pytest.mark.parametrize(
    "change",
    [
        "edges SET position_steps = position_steps + 1",
        "edges SET level = NOT level",
        "sweeps SET void = 'not wanted'",
        "runs SET sensor = '{}'",
        "runs SET conditions = '{}'",
        "runs SET simulated = 0",
        "figures SET value = 8.0",
        "figure_numbers SET numbers = x'00'",
        "figure_forms SET form = '[]'",
        "computations SET analysis_version = '2'",
        "plans SET toml_text = ''",
        "plan_items SET sweeps_wanted = 1",
    ],
)
def test_nothing_is_altered(other_tool: sqlite3.Connection, change: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="never altered"):
        other_tool.execute(f"UPDATE {change}")


@pytest.mark.parametrize(
    "table", ["edges", "sweeps", "runs", "figures", "figure_numbers", "figure_forms"]
)
def test_nothing_is_replaced(other_tool: sqlite3.Connection, table: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match=r"already|has ended"):
        other_tool.execute(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")


def test_the_end_of_a_run_is_written_once(
    writer: Writer, ended_run: str, samples: ModuleType
) -> None:
    with pytest.raises(RecordsError, match="the run has ended"):
        writer.end_run(ended_run, ended_at=samples.NOON, void="second thoughts")


def test_an_ended_run_takes_no_further_sweep(
    writer: Writer, reader: Reader, ended_run: str, samples: ModuleType
) -> None:
    before = reader.run(ended_run)

    with pytest.raises(RecordsError, match="the run has ended"):
        writer.add_sweep(ended_run, samples.sweep(1))

    assert reader.run(ended_run) == before


@pytest.mark.parametrize("edges", [0, 2, 3])
def test_a_sweep_is_not_written_twice(
    writer: Writer, reader: Reader, samples: ModuleType, edges: int
) -> None:
    header = samples.header()
    writer.begin_run(header)
    writer.add_sweep(header.run_id, samples.sweep(0))

    # Only a second program can come to that
    with pytest.raises(RecordsError, match="another program has gone on with run"):
        writer.add_sweep(header.run_id, samples.sweep(0, edges=edges))

    assert reader.run(header.run_id).sweeps == (samples.sweep(0),)


def test_a_run_is_not_begun_twice(writer: Writer, samples: ModuleType) -> None:
    writer.begin_run(samples.header())

    with pytest.raises(RecordsError, match="in runs already"):
        writer.begin_run(samples.header())


def test_a_sweep_or_a_figure_of_no_run_is_refused(
    writer: Writer, samples: ModuleType
) -> None:
    with pytest.raises(RecordsError, match="not on record"):
        writer.add_sweep("no such run", samples.sweep(0))
    with pytest.raises(RecordsError, match="not on record"):
        writer.add_figures("no such run", samples.figures(), computed_at=samples.NOON)
    with pytest.raises(RecordsError, match="not on record"):
        writer.begin_run(samples.header(plan_id="no such plan", plan_item=0))


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE edges SET position_steps = position_steps + 1 WHERE ordinal = 0",
        "UPDATE edges SET time_us = 7 WHERE ordinal = 1",
        "DELETE FROM edges WHERE ordinal = 1",
    ],
)
def test_the_checksum_shows_what_gets_past_the_guards(
    other_tool: sqlite3.Connection, reader: Reader, ended_run: str, change: str
) -> None:
    assert reader.verify(ended_run).intact is True
    guards = other_tool.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    for (name,) in guards.fetchall():
        other_tool.execute(f"DROP TRIGGER {name}")

    assert other_tool.execute(change).rowcount == 1

    assert reader.verify(ended_run).intact is False
