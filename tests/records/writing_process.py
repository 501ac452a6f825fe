"""Writes sweeps until it is told otherwise; for tests that kill or starve it.

python writing_process.py nursery FILE EDGES     a child for each line read
python writing_process.py write FILE FIRST COUNT  so many short runs
python writing_process.py limited FILE BYTES     until no file may grow
"""

from __future__ import annotations

import os
import resource
import sys
from pathlib import Path

import samples

from rig.errors import RecordsError
from rig.records import Reader, RunFilter, Writer, open_records


def say(*words: object) -> None:
    # One write a line, so that a killed process says a whole line or nothing
    os.write(1, (" ".join(map(str, words)) + "\n").encode())


def go_on_for_ever(path: Path, edges: int) -> None:
    with open_records(path) as store:
        writer, reader = Writer(store), Reader(store)
        header = samples.header()
        if not reader.runs(RunFilter(run_ids=(header.run_id,))):
            writer.begin_run(header)
        index = len(reader.run(header.run_id).sweeps)
        while True:
            writer.add_sweep(header.run_id, samples.sweep(index, edges=edges))
            say("kept", index)
            index += 1


def nursery(path: Path, edges: int) -> None:
    for _line in sys.stdin:
        child = os.fork()
        if child == 0:
            go_on_for_ever(path, edges)
        say("child", child)
        os.waitpid(child, 0)
        say("dead", child)


def write(path: Path, first: int, count: int) -> None:
    with open_records(path) as store:
        writer = Writer(store)
        for number in range(first, first + count):
            header = samples.header(number)
            writer.begin_run(header)
            for index in range(3):
                writer.add_sweep(header.run_id, samples.sweep(index))
            writer.end_run(header.run_id, ended_at=samples.NOON)


def limited(path: Path, size_limit: int) -> None:
    with open_records(path) as store:
        writer, header = Writer(store), samples.header()
        writer.begin_run(header)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size_limit, size_limit))
        index = 0
        try:
            while True:
                writer.add_sweep(header.run_id, samples.sweep(index, edges=40))
                index += 1
        except RecordsError as error:
            say(index, error)


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["nursery", path, edges]:
            nursery(Path(path), int(edges))
        case ["write", path, first, count]:
            write(Path(path), int(first), int(count))
        case ["limited", path, size_limit]:
            limited(Path(path), int(size_limit))
