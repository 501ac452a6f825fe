"""Records that cannot be used: status 4, one sentence, and finished sweeps stay."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.patience import PATIENCE_S

Gapsweep = Callable[..., Any]
Measured = Callable[..., str]
RECORDS = 4
SWEEP = ("sweep", "--rig", "sim://", "--sweeps", "2")


@pytest.mark.parametrize("command", ["show", "recompute", "export", "report"])
def test_a_run_that_is_not_on_record_is_told_so(
    gapsweep: Gapsweep, measured: Measured, records: Path, command: str
) -> None:
    measured()

    outcome = gapsweep(command, "20200101-000000-000-0000")

    assert (outcome.status, outcome.out) == (RECORDS, "")
    assert outcome.sentence == (
        f"no run 20200101-000000-000-0000 is in the records {records}"
    )
    assert outcome.hint.startswith("`gapsweep results` lists what is there")


@pytest.mark.parametrize(
    "command", [("results",), ("show", "x"), ("export",), ("report", "x")]
)
def test_reading_makes_no_records_where_there_are_none(
    gapsweep: Gapsweep, records: Path, command: tuple[str, ...]
) -> None:
    outcome = gapsweep(*command)

    assert outcome.status == RECORDS
    assert outcome.sentence == f"there are no records at {records}"
    assert not records.exists()


def test_a_folder_is_no_records(gapsweep: Gapsweep, own_place: Path) -> None:
    outcome = gapsweep(*SWEEP, "--records", own_place)

    assert outcome.status == RECORDS
    assert outcome.sentence == f"{own_place} is a folder, not a records file"
    assert outcome.hint == f"name a file in it, for example {own_place}/gapsweep.sqlite"


@pytest.mark.parametrize("command", [SWEEP, ("results",), ("recompute",)])
def test_a_file_that_is_no_database_stays_as_it_is(
    gapsweep: Gapsweep, own_place: Path, command: tuple[str, ...]
) -> None:
    path = own_place / "letter.txt"
    path.write_text("Dear Sirs\n" * 200, "utf-8")

    outcome = gapsweep(*command, "--records", path)

    assert (outcome.status, outcome.out) == (RECORDS, "")
    assert outcome.sentence == f"{path} is not a records file"
    assert path.read_text("utf-8") == "Dear Sirs\n" * 200


@pytest.mark.parametrize(
    ("location", "part"),
    [
        ("/dev/null/records.sqlite", "/dev/null/records.sqlite cannot be used"),
        (
            "base://host/x",
            "that records can be in is called 'base'",
        ),
        ("://", ":// is neither a file nor a database URL"),
    ],
)
def test_a_place_where_no_records_can_be_is_told_so(
    gapsweep: Gapsweep, location: str, part: str
) -> None:
    outcome = gapsweep(*SWEEP, "--records", location)

    assert outcome.status == RECORDS
    assert part in outcome.sentence
    assert outcome.hint


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_disk_without_room_is_told_before_anything_moves(gapsweep: Gapsweep) -> None:
    outcome = gapsweep(*SWEEP, "--records", "/dev/full")

    assert outcome.status == RECORDS
    assert outcome.sentence.startswith("the disk with the records /dev/full is full")


@pytest.mark.long
def test_a_disk_that_fills_up_in_mid_run_keeps_every_finished_sweep(
    gapsweep: Gapsweep, measured: Measured, records: Path
) -> None:
    earlier = measured()
    before = gapsweep("show", earlier, "--json").document
    room = records.stat().st_size + 150_000
    code = (
        "import resource, sys; from rig.cli.main import main;"
        f"resource.setrlimit(resource.RLIMIT_FSIZE, ({room}, {room}));"
        "main()"
    )

    done = subprocess.run(
        [sys.executable, "-c", code, "sweep", "--rig", "sim://", "--sweeps", "5000"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )

    assert done.returncode == RECORDS, done.stderr
    assert done.stdout == ""
    assert f"gapsweep: the disk with the records {records}" in done.stderr
    assert "Traceback" not in done.stderr
    _, run = gapsweep("results", "--json").document["runs"]
    sweeps = gapsweep("show", run["run_id"], "--json").document["sweeps"]
    assert len(sweeps) == run["good_sweeps"] > 10
    assert gapsweep("show", earlier, "--json").document == before
    with closing(sqlite3.connect(records)) as connection:
        (verdict,) = connection.execute("PRAGMA integrity_check").fetchone()
    assert verdict == "ok"


@pytest.fixture
def closed_folder(gapsweep: Gapsweep) -> Iterator[Path]:
    """A folder with records in it that may be read and not written."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        assert gapsweep(*SWEEP, "--records", folder / "r.sqlite").status == 0
        # So that all is loaded before rights are taken away
        assert gapsweep("results", "--records", folder / "r.sqlite").status == 0
        for path in folder.iterdir():
            path.chmod(0o444)
        folder.chmod(0o555)
        yield folder
        folder.chmod(0o755)


@contextmanager
def as_a_common_user() -> Iterator[None]:
    """Root may write everywhere; the user who owns nothing, by custom, may not."""
    user = os.geteuid()
    if user == 0:
        os.seteuid(65_534)
    try:
        yield
    finally:
        os.seteuid(user)


def test_records_that_cannot_be_written_are_told_before_anything_moves(
    gapsweep: Gapsweep, closed_folder: Path
) -> None:
    path = closed_folder / "r.sqlite"

    with as_a_common_user():
        old = gapsweep(*SWEEP, "--records", path)
        new = gapsweep(*SWEEP, "--records", closed_folder / "new.sqlite")
        listed = gapsweep("results", "--records", path, "--json")

    assert old.status == new.status == RECORDS
    assert str(path) in old.sentence
    assert new.sentence == (
        f"the records {closed_folder / 'new.sqlite'} cannot be opened"
    )
    assert listed.status == 0
    assert len(listed.document["runs"]) == 1


def test_an_export_that_cannot_be_written_is_told_so(
    gapsweep: Gapsweep, measured: Measured, own_place: Path
) -> None:
    measured()
    (own_place / "file").write_text("kept", "utf-8")

    outcome = gapsweep("export", "--out", own_place / "file" / "out")

    assert outcome.status == RECORDS
    assert outcome.sentence.startswith("cannot export to ")
    assert (own_place / "file").read_text("utf-8") == "kept"
