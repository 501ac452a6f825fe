"""Processes that are killed while writing, and several that write at once."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.records import Reader, RunFilter, Store, Writer, open_records, schema
from rig.records.mapping import header_row
from tests.patience import PATIENCE_S

KILLS = 40
EDGES = 25  # many to a sweep, so that a kill often falls among them


def kill_somewhere(nursery: subprocess.Popen[str], chance: random.Random) -> list[str]:
    """Have a child write and kill it at a random moment; return what it said.

    The moment is counted in sweeps and then a random part of one, so that it does
    not depend on how busy the machine is. None at all falls in its start.
    """
    assert nursery.stdin is not None
    assert nursery.stdout is not None
    nursery.stdin.write("go\n")
    nursery.stdin.flush()
    child = int(nursery.stdout.readline().split()[1])
    count = chance.choice((0, 1, 5, 20))
    lines = [nursery.stdout.readline() for _ in range(count)]
    time.sleep(chance.uniform(0.0, 0.003 if count else 0.03))
    os.kill(child, signal.SIGKILL)
    while (line := nursery.stdout.readline()) != f"dead {child}\n":
        assert line
        lines.append(line)
    return lines


def kept_before(lines: list[str]) -> int:
    """Return the number of sweeps that a killed process said are on disk."""
    said = [int(line.split()[1]) for line in lines if line.startswith("kept ")]
    return said[-1] + 1 if said else 0


@pytest.mark.long
def test_a_killed_process_leaves_whole_sweeps_none_lost_none_doubled(
    path: Path,
    samples: ModuleType,
    start_process: Callable[..., subprocess.Popen[str]],
) -> None:
    chance = random.Random(20261125)
    nursery = start_process("nursery", path, EDGES)
    run_id = samples.header().run_id
    on_disk = 0

    for _ in range(KILLS):
        said = max(kept_before(kill_somewhere(nursery, chance)), on_disk)
        with open_records(path) as store:
            found = Reader(store).runs(RunFilter(run_ids=(run_id,)))
            sweeps = Reader(store).run(run_id).sweeps if found else ()

        # One more than it said is right: killed between the commit and the word
        assert said <= len(sweeps) <= said + 1
        assert sweeps == tuple(
            samples.sweep(index, edges=EDGES) for index in range(len(sweeps))
        )
        on_disk = len(sweeps)

    assert on_disk > KILLS


@pytest.mark.long
def test_two_processes_write_to_one_file_at_once(
    path: Path,
    samples: ModuleType,
    start_process: Callable[..., subprocess.Popen[str]],
) -> None:
    writers = [start_process("write", path, first, 50) for first in (0, 1000)]

    for writer in writers:
        writer.communicate(timeout=PATIENCE_S)

    assert [writer.returncode for writer in writers] == [0, 0]
    wanted = tuple(samples.sweep(index) for index in range(3))
    with open_records(path) as store:
        runs = list(Reader(store).iter_runs())
    assert len(runs) == 100
    assert all(run.sweeps == wanted and run.ended_at for run in runs)


def test_the_second_of_two_programs_on_one_run_is_told_what_happened(
    path: Path, samples: ModuleType
) -> None:
    header = samples.header()
    with open_records(path) as first, open_records(path) as second:
        writers = [Writer(first), Writer(second)]
        writers[0].begin_run(header)
        for writer in writers:
            try:
                writer.add_conditions(header.run_id, 1, samples.conditions())
            except RecordsError as error:
                resumed = error
        writers[0].add_sweep(header.run_id, samples.sweep(0))
        with pytest.raises(RecordsError) as swept:
            writers[1].add_sweep(header.run_id, samples.sweep(0))
        writers[1].add_sweep(header.run_id, samples.sweep(1))
        writers[0].end_run(header.run_id, ended_at=samples.NOON)
        with pytest.raises(RecordsError) as ended:
            writers[1].add_sweep(header.run_id, samples.sweep(2))
        sweeps = Reader(first).run(header.run_id).sweeps

    for error in (resumed, swept.value, ended.value):
        assert f"another program has gone on with run {header.run_id}" in str(error)
        assert "two at once cannot" in str(error)
        assert "let one program carry it out" in error.hint
    assert "the run has ended" in str(ended.value)
    assert sweeps == (samples.sweep(0), samples.sweep(1))


def test_two_threads_share_one_store(
    store: Store, writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    header = samples.header()
    writer.begin_run(header)

    def write() -> None:
        for index in range(100):
            writer.add_sweep(header.run_id, samples.sweep(index))

    thread = threading.Thread(target=write)
    thread.start()
    seen = [0]
    while seen[-1] < 100:
        alive = thread.is_alive()
        sweeps = reader.run(header.run_id).sweeps
        assert sweeps == tuple(samples.sweep(index) for index in range(len(sweeps)))
        seen.append(len(sweeps))
        assert alive or seen[-1] == 100
    thread.join()

    assert seen == sorted(seen)


def test_a_writer_takes_the_lock_before_it_reads(
    store: Store, path: Path, samples: ModuleType
) -> None:
    # Else what it read might be outdated when it writes, and SQLite refuses then
    with (
        open_records(path, lock_wait_s=0.05) as other,
        store.writing(),
        pytest.raises(RecordsError, match="another program is holding"),
    ):
        Writer(other).begin_run(samples.header())


def test_a_reader_is_not_held_up_by_a_writer_and_sees_what_is_committed(
    store: Store, reader: Reader, samples: ModuleType
) -> None:
    with store.writing() as connection:
        connection.execute(schema.runs.insert(), header_row(samples.header()))
        assert reader.runs() == []

    assert len(reader.runs()) == 1


def test_nothing_of_a_transaction_that_breaks_off_is_kept(
    store: Store, reader: Reader, samples: ModuleType
) -> None:
    def break_off() -> None:
        with store.writing() as connection:
            connection.execute(schema.runs.insert(), header_row(samples.header()))
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        break_off()

    assert reader.runs() == []
