"""The chain over every row that decides. SHA-256: FIPS 180-4, by hashlib."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from types import ModuleType

from rig.records import Store, Writer, open_records
from rig.records.attempt_book import AttemptBook
from rig.records.chained_tables import BY_ROWS, links_of_rows, links_of_sweeps
from rig.records.run_content import digests_of_runs
from rig.records.schema import metadata

# Version, PINs, and what is linked in ways of its own
NOT_CHAINED = {
    "records_schema",
    "chain",
    "operator_pins",
    "pin_trials",
    "figure_forms",
    "figure_numbers",
    "computations",
    "figures",
    "sweeps",
    "edges",
}


def fill(store: Store, samples: ModuleType) -> str:
    """Put a whole run on record, with its attempt and figures."""
    writer, header, attempt = Writer(store), samples.header(), samples.attempt()
    AttemptBook(store).begin(attempt)
    writer.begin_run(header)
    for index in range(3):
        writer.add_sweep(header.run_id, samples.sweep(index))
    writer.end_run(header.run_id, ended_at=samples.NOON, home_shift_steps=0)
    writer.add_figures(header.run_id, samples.figures(), computed_at=samples.NOON)
    AttemptBook(store).end(attempt, samples.ATTEMPT_END)
    return str(header.run_id)


def links(path: Path) -> list[tuple[int, str, str, int, bytes, bytes]]:
    with closing(sqlite3.connect(path)) as tool:
        return tool.execute("SELECT * FROM chain ORDER BY link").fetchall()


def test_every_table_is_chained_by_rows_or_said_not_to_be() -> None:
    by_rows = {table.name for table in BY_ROWS}

    assert by_rows | NOT_CHAINED == set(metadata.tables)
    assert not by_rows & NOT_CHAINED


def test_each_write_adds_its_links(
    store: Store, path: Path, samples: ModuleType
) -> None:
    run_id = fill(store, samples)

    assert [(kind, subject, place) for _, kind, subject, place, *_ in links(path)] == [
        ("attempts", samples.attempt().run_id, 0),
        ("runs", run_id, 0),
        *(("sweeps", run_id, index) for index in range(3)),
        ("run ended", run_id, 0),
        ("figures added", "1", 1),
        ("outcomes", samples.attempt().run_id, 0),
    ]


def test_each_link_has_the_hash_before_it_in_its_own(
    store: Store, path: Path, samples: ModuleType
) -> None:
    fill(store, samples)

    before = b""
    for number, kind, subject, place, digest, found in links(path):
        words = json.dumps([number, kind, subject, place], separators=(",", ":"))
        under = b"chain 1\n" + before + words.encode("ascii") + digest
        assert found == hashlib.sha256(under).digest()
        before = found
    assert before


def test_what_is_read_back_has_the_digests_that_were_written(
    store: Store, path: Path, samples: ModuleType
) -> None:
    run_id = fill(store, samples)
    written = {
        (kind, subject, place): digest
        for _, kind, subject, place, digest, _ in links(path)
    }

    with store.reading() as connection:
        found = [
            *(one for table in BY_ROWS for one in links_of_rows(connection, table)),
            *links_of_sweeps(connection),
        ]
        whole = digests_of_runs(connection, [run_id])

    assert {(o.kind, o.subject, o.place): o.digest for o in found} == {
        key: digest
        for key, digest in written.items()
        if key[0] not in ("run ended", "figures added")
    }
    assert whole == {run_id: written["run ended", run_id, 0]}


def test_runs_and_attempts_keep_the_order_in_which_they_were_put_on_record(
    path: Path, samples: ModuleType
) -> None:
    with open_records(path) as store:
        for number in (5, 2, 9):
            Writer(store).begin_run(samples.header(number))
        AttemptBook(store).begin(samples.attempt())

    with closing(sqlite3.connect(path)) as tool:
        runs = tool.execute("SELECT run_id FROM runs ORDER BY sequence").fetchall()
        (attempt,) = tool.execute("SELECT sequence FROM attempts").fetchone()
    assert [run_id for (run_id,) in runs] == [
        samples.header(number).run_id for number in (5, 2, 9)
    ]
    assert attempt == 4
