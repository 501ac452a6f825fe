"""Files that are too large, too deep, or no files: one sentence, memory bounded."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.patience import PATIENCE_S

pytestmark = pytest.mark.long

# Far more than reading takes, far less than what an unbounded reader took
MOST_BYTES = 600 * 2**20
PROGRAM = (sys.executable, "-c", "from rig.cli.main import main; main()")
RUN = '[[run]]\nsensors = ["level-18"]\ntargets = ["steel"]\n'


def key_of_many_parts(path: Path) -> None:
    path.write_text(f"{'.'.join('a' * 20_000)} = 1\ntitle = 'x'\n{RUN}", "utf-8")


def remarks_without_end(path: Path) -> None:
    with path.open("w") as file:
        for _ in range(1000):
            file.write("# a remark\n" * 10_000)
        file.write(f"title = 'x'\n{RUN}")


def many_names(path: Path) -> None:
    names = ",\n".join(['"level-18"'] * 80_000)
    path.write_text(f"title = 'x'\n[[run]]\nsensors = [{names}]\n", "utf-8")


def deep(path: Path) -> None:
    path.write_text(f"title = {'[' * 90}{']' * 90}\n{RUN}", "utf-8")


def deeper(path: Path) -> None:
    path.write_text(f"title = {'[' * 5000}{']' * 5000}\n{RUN}", "utf-8")


def pipe(path: Path) -> None:
    os.mkfifo(path)


def device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def folder(path: Path) -> None:
    path.mkdir()


def bounded(*arguments: object) -> subprocess.CompletedProcess[str]:
    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES, MOST_BYTES))

    return subprocess.run(
        [*PROGRAM, *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE_S,
        preexec_fn=limit,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (key_of_many_parts, "a key has more than 32 parts"),
        (remarks_without_end, "has more than 1 MB"),
        (many_names, "80000 entries: at most 10000"),
        (deep, "nested too deeply"),
        (deeper, "nested too deeply"),
        (pipe, "is a pipe, and a file is needed"),
        (device, "is a device, and a file is needed"),
        (folder, "is a folder, and a file is needed"),
    ],
)
def test_a_plan_that_is_no_plan_is_told_in_one_sentence(
    own_place: Path, make: Callable[[Path], None], words: str
) -> None:
    plan = own_place / "plan.toml"
    make(plan)

    done = bounded("run", plan, "--rig", "sim://")

    assert done.returncode == 2, done.stderr[-2000:]
    assert words in done.stderr
    assert done.stderr.startswith("gapsweep: ")
    assert len(done.stderr.splitlines()) <= 2


def huge_cell(path: Path) -> None:
    path.write_text(f'part,value\n"{"x" * 200_000}",1\n', "utf-8")


def open_quotation(path: Path) -> None:
    path.write_text('part,value\n"A1,8\n' + "A2,8\n" * 100_000, "utf-8")


def many_rows(path: Path) -> None:
    path.write_text("part,value\n" + "A1,8\n" * 200_010, "utf-8")


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (huge_cell, "line 2: field larger than field limit"),
        (open_quotation, "line 2: field larger than field limit"),
        (many_rows, "at most 200000 rows"),
        (pipe, "is a pipe"),
        (device, "is a device"),
    ],
)
def test_a_table_that_is_no_table_is_told_in_one_sentence(
    own_place: Path, make: Callable[[Path], None], words: str
) -> None:
    table = own_place / "parts.csv"
    make(table)

    done = bounded("batch", "--from", table, "--lower", 7, "--upper", 9)

    assert done.returncode == 2, done.stderr[-2000:]
    assert words in done.stderr
    assert len(done.stderr.splitlines()) <= 2
