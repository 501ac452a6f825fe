"""Power cuts at random points of writing: torn and reordered sectors on the disk.

SQLite manual, "Write-Ahead Logging" and "Atomic Commit In SQLite": what was synced
is on the disk; of what was written after that any sectors may be, in any order, and a
checkpoint writes to the file only what its log holds already. The disk after a cut is
put together from that: what was there at the last commit, and a random choice of the
sectors that came next. A log that begins anew has its header synced before anything
behind it is written (`sqlite3WalFrames` in SQLite's wal.c, from memory).
"""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest

from rig.records import Reader, Store, Writer, open_records
from rig.records.chain_check import check_records_chain
from rig.records.file_damage import damage_to_file

pytestmark = pytest.mark.long

SECTOR = 512  # bytes that a disk writes whole
LOG_HEADER = 32  # bytes
FEW, MANY = 60, 1000
SWEEPS = 24
CHECKPOINT_EVERY = 5  # sweeps
_MANY_MARKS = (pytest.mark.long, pytest.mark.whole_campaign)


@dataclass(frozen=True, slots=True, kw_only=True)
class Disk:
    """What is on the disk at one moment: the file, its log, and the sweeps in them."""

    file: bytes
    log: bytes
    sweeps: int


def on_disk(path: Path, sweeps: int) -> Disk:
    log = path.with_name(f"{path.name}-wal")
    return Disk(file=path.read_bytes(), log=log.read_bytes(), sweeps=sweeps)


def written(path: Path, samples: ModuleType) -> list[Disk]:
    """Return the disk after every commit and every checkpoint of a run."""
    header = samples.header()
    with open_records(path) as store:
        writer = Writer(store)
        writer.begin_run(header)
        found = [on_disk(path, 0)]
        for index in range(SWEEPS):
            writer.add_sweep(header.run_id, samples.sweep(index, edges=25))
            found.append(on_disk(path, index + 1))
            if index % CHECKPOINT_EVERY == CHECKPOINT_EVERY - 1:
                with closing(sqlite3.connect(path)) as tool:
                    tool.execute("PRAGMA wal_checkpoint(PASSIVE)")
                found.append(on_disk(path, index + 1))
    return found


def torn(before: bytes, after: bytes, chance: random.Random) -> bytes:
    """Return what was there with a random choice of the sectors that came next."""
    share = chance.random()
    length = max(len(before), len(after))
    old, new = before.ljust(length, b"\0"), after.ljust(length, b"\0")
    sectors = [
        (new if chance.random() < share else old)[at : at + SECTOR]
        for at in range(0, length, SECTOR)
    ]
    end = chance.choice((len(before), len(after), chance.randrange(length + 1)))
    return b"".join(sectors)[: max(end, len(before))]


def cut(before: Disk, after: Disk, chance: random.Random) -> Disk:
    """Return the disk after a cut between two moments.

    A commit writes to the log alone, a checkpoint to the file alone.
    """
    log = before.log
    if log[:LOG_HEADER] != after.log[:LOG_HEADER]:
        begun = after.log[:SECTOR] + log[SECTOR:]
        log = chance.choice((log, begun))
    if log[:LOG_HEADER] == after.log[:LOG_HEADER]:
        log = torn(log, after.log, chance)
    return Disk(
        file=torn(before.file, after.file, chance), log=log, sweeps=before.sweeps
    )


def whole(store: Store, run_id: str) -> bool:
    with store.reading() as connection:
        sound = damage_to_file(connection) == ()
        chain = check_records_chain(connection)
    return sound and not chain.faults and not Reader(store).verify(run_id).changes


@pytest.mark.parametrize("cuts", [FEW, pytest.param(MANY, marks=_MANY_MARKS)])
def test_a_power_cut_loses_no_sweep_that_was_kept_and_doubles_none(
    tmp_path: Path, samples: ModuleType, cuts: int
) -> None:
    (tmp_path / "whole").mkdir()
    moments = written(tmp_path / "whole" / "measured.sqlite", samples)
    run_id = samples.header().run_id
    chance = random.Random(cuts)
    sweeps = tuple(samples.sweep(index, edges=25) for index in range(SWEEPS))
    gone_on = 0

    for number in range(cuts):
        at = chance.randrange(len(moments) - 1)
        disk = cut(moments[at], moments[at + 1], chance)
        folder = tmp_path / str(number)
        folder.mkdir()
        path = folder / "measured.sqlite"
        path.write_bytes(disk.file)
        path.with_name(f"{path.name}-wal").write_bytes(disk.log)
        with open_records(path) as store:
            kept = len(Reader(store).run(run_id).sweeps)
            assert kept in (disk.sweeps, moments[at + 1].sweeps)
            assert whole(store, run_id)
            if kept < SWEEPS:
                Writer(store).add_sweep(run_id, sweeps[kept])
                gone_on += 1
            found = Reader(store).run(run_id).sweeps
            assert found == sweeps[: len(found)]
            assert whole(store, run_id)

    assert gone_on > cuts // 2
