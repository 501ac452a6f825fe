"""Copies of records that are in use, and what is named as a copy without its log."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import InputError, RecordsError
from rig.records import Reader, Store, Writer, open_records
from rig.records.backup import back_up, put_in_place

NOW = datetime(2026, 11, 28, 9, 30, tzinfo=UTC)
SWEEPS = 60


def sweeps_in(path: Path, run_id: str) -> int:
    """Return the sweeps of a run in a records file."""
    with open_records(path, read_only=True) as store:
        return len(Reader(store).run(run_id).sweeps)


@pytest.fixture
def run_id(writer: Writer, samples: ModuleType) -> str:
    """A run of 60 sweeps that stands in the log alone; the records stay open."""
    header = samples.header()
    writer.begin_run(header)
    for index in range(SWEEPS):
        writer.add_sweep(header.run_id, samples.sweep(index))
    name: str = header.run_id
    return name


@pytest.mark.parametrize("create", [False, True])
@pytest.mark.parametrize("read_only", [False, True])
def test_a_file_copied_without_its_log_is_named_as_that(
    path: Path, tmp_path: Path, run_id: str, create: bool, read_only: bool
) -> None:
    copy = tmp_path / "copied.sqlite"
    shutil.copy(path, copy)

    with pytest.raises(RecordsError) as found:
        open_records(copy, create=create, read_only=read_only)

    assert f"{copy} holds nothing without its write-ahead log" in str(found.value)
    assert "was copied without it" in str(found.value)
    assert "copied.sqlite-wal" in found.value.hint


def test_a_file_copied_with_its_log_has_every_sweep(
    path: Path, tmp_path: Path, run_id: str
) -> None:
    copy = tmp_path / "copied.sqlite"
    shutil.copy(path, copy)
    shutil.copy(f"{path}-wal", f"{copy}-wal")

    assert sweeps_in(copy, run_id) == SWEEPS


def test_a_backup_of_open_records_is_one_file_with_every_sweep(
    store: Store, tmp_path: Path, run_id: str
) -> None:
    copy = tmp_path / "elsewhere" / "copy.sqlite"
    copy.parent.mkdir()

    back_up(store, copy)

    assert [one.name for one in copy.parent.iterdir()] == ["copy.sqlite"]
    assert sweeps_in(copy, run_id) == SWEEPS
    assert [one.name for one in copy.parent.iterdir()] == ["copy.sqlite"]


def test_a_backup_does_not_wait_for_another_program_nor_takes_half_of_its_work(
    path: Path, store: Store, tmp_path: Path, run_id: str
) -> None:
    copy = tmp_path / "copy.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("INSERT INTO records_schema VALUES (0, '')")
        back_up(store, copy)
        other.execute("ROLLBACK")

    assert sweeps_in(copy, run_id) == SWEEPS
    with closing(sqlite3.connect(copy)) as found:
        versions = found.execute("SELECT version FROM records_schema").fetchall()
    assert (0,) not in versions


@pytest.mark.parametrize("taken", ["copy.sqlite", "copy.sqlite-wal"])
def test_a_backup_never_overwrites(
    store: Store, tmp_path: Path, run_id: str, taken: str
) -> None:
    (tmp_path / taken).write_bytes(b"somebody's")

    with pytest.raises(InputError, match="already exists and is not overwritten"):
        back_up(store, tmp_path / "copy.sqlite")

    assert (tmp_path / taken).read_bytes() == b"somebody's"
    assert not list(tmp_path.glob(".*"))


def test_a_backup_of_damaged_records_is_refused_and_leaves_no_file(
    path: Path, tmp_path: Path, run_id: str, store: Store
) -> None:
    store.close()
    content = bytearray(path.read_bytes())
    content[-4096 * 2 :] = b"\xff" * (4096 * 2)
    path.write_bytes(bytes(content))

    with (
        open_records(path, read_only=True) as damaged,
        pytest.raises(RecordsError, match="damaged"),
    ):
        back_up(damaged, tmp_path / "copy.sqlite")

    assert [one.name for one in tmp_path.iterdir() if "copy" in one.name] == []


def test_a_restore_keeps_what_it_replaces_with_its_log(
    path: Path, store: Store, tmp_path: Path, run_id: str, samples: ModuleType
) -> None:
    copy = tmp_path / "copy.sqlite"
    back_up(store, copy)
    Writer(store).add_sweep(run_id, samples.sweep(SWEEPS))
    store.close()

    with open_records(copy, read_only=True) as found:
        kept = put_in_place(found, path, now=NOW)

    assert kept == tmp_path / "measured-until-20261128-093000.sqlite"
    assert sweeps_in(path, run_id) == SWEEPS
    assert sweeps_in(kept, run_id) == SWEEPS + 1


def test_a_killed_program_left_a_log_and_a_restore_keeps_what_stands_in_it(
    path: Path,
    store: Store,
    tmp_path: Path,
    run_id: str,
    samples: ModuleType,
) -> None:
    # As a killed program leaves them: the log beside the file, and nobody has it open
    dead = tmp_path / "dead.sqlite"
    copy = tmp_path / "copy.sqlite"
    back_up(store, copy)
    Writer(store).add_sweep(run_id, samples.sweep(SWEEPS))
    shutil.copy(path, dead)
    shutil.copy(f"{path}-wal", f"{dead}-wal")

    with open_records(copy, read_only=True) as found:
        kept = put_in_place(found, dead, now=NOW)

    assert kept is not None
    assert sweeps_in(kept, run_id) == SWEEPS + 1
    assert sweeps_in(dead, run_id) == SWEEPS


def test_records_that_somebody_has_open_are_not_replaced(
    path: Path, store: Store, tmp_path: Path, run_id: str
) -> None:
    copy = tmp_path / "copy.sqlite"
    back_up(store, copy)

    with (
        open_records(copy, read_only=True) as found,
        pytest.raises(RecordsError, match="another program has the records"),
    ):
        put_in_place(found, path, now=NOW)

    assert sweeps_in(path, run_id) == SWEEPS
    assert not list(tmp_path.glob("measured-until-*"))


def test_damaged_records_are_kept_as_they_are(
    store: Store, tmp_path: Path, run_id: str
) -> None:
    copy, damaged = tmp_path / "copy.sqlite", tmp_path / "damaged.sqlite"
    back_up(store, copy)
    damaged.write_bytes(b"no database any more" * 500)
    Path(f"{damaged}-wal").write_bytes(b"nor a log")

    with open_records(copy, read_only=True) as found:
        kept = put_in_place(found, damaged, now=NOW)

    assert kept is not None
    assert kept.read_bytes() == b"no database any more" * 500
    assert Path(f"{kept}-wal").read_bytes() == b"nor a log"
    assert sweeps_in(damaged, run_id) == SWEEPS


def test_two_restores_in_one_second_keep_both(
    store: Store, tmp_path: Path, run_id: str
) -> None:
    copy, place = tmp_path / "copy.sqlite", tmp_path / "new folder" / "place.sqlite"
    back_up(store, copy)

    with open_records(copy, read_only=True) as found:
        kept = [put_in_place(found, place, now=NOW) for _ in range(3)]

    assert kept[0] is None
    assert len({*kept}) == 3
    assert all(sweeps_in(one, run_id) == SWEEPS for one in kept[1:] if one)


def test_records_are_not_restored_from_themselves(
    path: Path, store: Store, run_id: str
) -> None:
    with pytest.raises(InputError, match="is the records themselves"):
        put_in_place(store, path, now=NOW)
