"""Commands as processes: signals, closed pipes, and a terminal or none."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.patience import PATIENCE_S

pytestmark = pytest.mark.long

Gapsweep = Callable[..., Any]
PROGRAM = (sys.executable, "-c", "from rig.cli.main import main; main()")


def started(*arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*PROGRAM, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def wait_for_good_sweeps(gapsweep: Gapsweep, number: int) -> None:
    give_up_at = time.monotonic() + PATIENCE_S
    while time.monotonic() < give_up_at:
        outcome = gapsweep("results", "--json")
        runs = outcome.document["runs"] if outcome.status == 0 else []
        if sum(run["good_sweeps"] for run in runs) >= number:
            return
        time.sleep(0.05)
    pytest.fail(f"there were never {number} good sweeps on record")


def test_ctrl_c_stops_the_axis_and_leaves_finished_sweeps_on_record(
    gapsweep: Gapsweep,
) -> None:
    process = started("sweep", "--rig", "sim://", "--sweeps", "10000", "--json")
    wait_for_good_sweeps(gapsweep, 3)

    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=PATIENCE_S)

    assert process.returncode == 3
    assert json.loads(out)["document"] == "error"
    assert "stopping; Ctrl-C again leaves at once" in err
    assert "gapsweep: stopped" in err
    assert "Traceback" not in err
    (run,) = gapsweep("results", "--json").document["runs"]
    assert run["ended_at"] is None
    sweeps = gapsweep("show", run["run_id"], "--json").document["sweeps"]
    assert len(sweeps) == run["good_sweeps"] >= 3
    words = gapsweep("results").out
    assert f"unfinished, {run['good_sweeps']} of 10000 sweeps" in words


def test_ctrl_c_in_a_plan_lets_it_be_resumed(gapsweep: Gapsweep) -> None:
    Path("week.toml").write_text(
        'title = "Week 12"\nsweeps = 200\n[[run]]\nsensors = ["level-18"]\n'
        'targets = ["steel", "pvc"]\n',
        "utf-8",
    )
    process = started("run", "week.toml", "--rig", "sim://")
    wait_for_good_sweeps(gapsweep, 3)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=PATIENCE_S)

    outcome = gapsweep("run", "week.toml", "--rig", "sim://", "--resume", "--json")

    assert process.returncode == 3, err
    assert outcome.status == 0
    good = [
        sum(sweep["void"] is None for sweep in run["sweeps"])
        for run in outcome.document["runs"]
    ]
    assert good == [200, 200]


def test_a_reader_that_goes_away_is_no_error(
    gapsweep: Gapsweep, measured: Callable[..., str]
) -> None:
    measured()
    end, closed = os.pipe()
    os.close(end)

    for command in (("results",), ("results", "--json"), ("export",), ("--help",)):
        done = subprocess.run(
            [*PROGRAM, *command],
            stdin=subprocess.DEVNULL,
            stdout=closed,
            stderr=subprocess.PIPE,
            text=True,
            timeout=PATIENCE_S,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        assert "Traceback" not in done.stderr
        assert "BrokenPipe" not in done.stderr
    os.close(closed)


def test_a_reader_of_one_line_gets_it(
    gapsweep: Gapsweep, measured: Callable[..., str]
) -> None:
    measured()
    process = started("show", "nothing-like-it")
    assert process.communicate(timeout=PATIENCE_S)[0] == ""
    command = (
        f"{' '.join(map(repr, PROGRAM))} results | head -n 1; exit ${{PIPESTATUS[0]}}"
    )

    done = subprocess.run(
        ["bash", "-c", command],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )

    assert done.returncode == 0
    assert done.stdout.split()[:3] == ["run", "started", "(UTC)"]
    assert len(done.stdout.splitlines()) == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_results_that_cannot_be_written_are_told_so_and_stay_on_record(
    gapsweep: Gapsweep,
) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*PROGRAM, "sweep", "--rig", "sim://", "--sweeps", "2", "--json"],
            stdin=subprocess.DEVNULL,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            timeout=PATIENCE_S,
            check=False,
        )

    assert done.returncode == 2
    assert "gapsweep: standard output cannot be written: no space left" in done.stderr
    (run,) = gapsweep("results", "--json").document["runs"]
    assert run["operate_mm"]["n"] == 2


def test_progress_goes_to_a_terminal_on_standard_error_only(
    gapsweep: Gapsweep, tmp_path: Path
) -> None:
    terminal, theirs = os.openpty()
    # A document is longer than a pipe that nobody reads would take
    with (tmp_path / "run.json").open("wb") as document:
        process = subprocess.Popen(
            [*PROGRAM, "sweep", "--rig", "sim://", "--sweeps", "30", "--json"],
            stdin=subprocess.DEVNULL,
            stdout=document,
            stderr=theirs,
            env={**os.environ, "TERM": "xterm", "COLUMNS": "100"},
        )
    os.close(theirs)
    shown = b""
    while True:
        try:
            part = os.read(terminal, 4096)
        except OSError:  # the far end is closed
            break
        if not part:
            break
        shown += part
    assert process.wait(timeout=PATIENCE_S) == 0
    os.close(terminal)
    out = (tmp_path / "run.json").read_text(encoding="utf-8")

    assert "sweeps" in shown.decode("utf-8", "replace")
    assert "/30" in shown.decode("utf-8", "replace")
    assert out.startswith("{")
    assert out.endswith("}\n")
