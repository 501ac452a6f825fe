"""A request to end, or a closed terminal, writes the stop byte at once."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import pytest

from tests.patience import PATIENCE_S
from tests.recorded_port import STOP, RecordedPort, recorded_rig

pytestmark = pytest.mark.long

PROGRAM = (sys.executable, "-c", "from rig.cli.main import main; main()")
MOUNTED = ("--sensor", "level-18", "--target", "steel")
MOTION = b" home"
ENDING = ("SIGINT", "SIGTERM", "SIGHUP")


def started(*arguments: str, **options: Any) -> subprocess.Popen[str]:
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    return subprocess.Popen(
        [*PROGRAM, *arguments], **{"stdin": subprocess.DEVNULL, **pipes, **options}
    )


@pytest.fixture
def port() -> Any:
    with recorded_rig() as port:
        yield port


@pytest.mark.parametrize("name", ENDING)
def test_every_signal_to_end_writes_the_stop_byte(
    port: RecordedPort, name: str
) -> None:
    process = started("sweep", "--rig", port.path, *MOUNTED, "--sweeps", "3")
    port.wait_for(MOTION)
    before = port.stops

    process.send_signal(getattr(signal, name))
    _, err = process.communicate(timeout=PATIENCE_S)

    assert before == 0
    assert port.stops >= 1
    assert process.returncode == 3
    assert "gapsweep: stopped" in err
    assert "Traceback" not in err


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_signal_to_end_leaves_the_run_on_record_as_interrupted(
    gapsweep: Callable[..., Any], name: str
) -> None:
    process = started("sweep", "--rig", "sim://", "--sweeps", "10000", "--json")
    give_up_at, good = time.monotonic() + PATIENCE_S, 0
    while good < 3 and time.monotonic() < give_up_at:
        time.sleep(0.05)
        listed = gapsweep("results", "--json")
        runs = listed.document["runs"] if listed.status == 0 else []
        good = sum(run["good_sweeps"] for run in runs)

    process.send_signal(getattr(signal, name))
    out, err = process.communicate(timeout=PATIENCE_S)

    assert process.returncode == 3, err
    assert json.loads(out)["document"] == "error"
    (run,) = gapsweep("results", "--json").document["runs"]
    assert run["ended_at"] is None
    assert run["good_sweeps"] >= 3
    assert "unfinished" in gapsweep("results").out


def test_a_terminal_that_is_closed_stops_the_axis(port: RecordedPort) -> None:
    child, terminal = pty.fork()
    if child == 0:
        command = ("sweep", "--rig", port.path, *MOUNTED, "--sweeps", "3")
        os.execv(PROGRAM[0], [*PROGRAM, *command])
    try:
        port.wait_for(MOTION)
        before = port.stops
    finally:
        os.close(terminal)
        _, status = os.waitpid(child, 0)

    assert before == 0
    assert port.stops >= 1
    assert os.waitstatus_to_exitcode(status) == 3


def test_whoever_turned_the_hang_up_off_measures_on(port: RecordedPort) -> None:
    process = subprocess.Popen(
        ["nohup", *PROGRAM, "sweep", "--rig", port.path, *MOUNTED],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    port.wait_for(MOTION)
    process.send_signal(signal.SIGHUP)
    port.wait_for(b" touch")  # homing went on to its end

    process.send_signal(signal.SIGTERM)
    process.communicate(timeout=PATIENCE_S)

    assert process.returncode == 3
    assert port.stops >= 1


@pytest.mark.parametrize("name", ENDING)
def test_one_signal_ends_the_wait_for_a_person(
    port: RecordedPort, name: str, own_place: Any
) -> None:
    plan = own_place / "week.toml"
    plan.write_text(
        'title = "Week"\nsweeps = 5\n[[run]]\nsensors = ["level-18"]\n'
        'targets = ["steel"]\n',
        "utf-8",
    )
    mine, theirs = os.openpty()
    process = started("run", str(plan), "--rig", port.path, stdin=theirs)
    os.close(theirs)
    assert process.stderr is not None
    seen = ""
    while "Enter when ready" not in seen:
        seen += process.stderr.read(1)

    process.send_signal(getattr(signal, name))
    process.communicate(timeout=PATIENCE_S)
    os.close(mine)

    assert process.returncode == 3
    assert STOP * 3 in port.written
    assert MOTION not in port.written


@pytest.mark.parametrize("name", ENDING)
def test_one_signal_ends_the_question_whether_to_go_on(
    gapsweep: Callable[..., Any], name: str, own_place: Any
) -> None:
    plan = own_place / "week.toml"
    plan.write_text(
        'title = "Week"\nsweeps = 5\n[[run]]\nsensors = ["gate-8"]\n'
        'targets = ["pvc", "steel"]\n',
        "utf-8",
    )
    mine, theirs = os.openpty()
    process = started("run", str(plan), "--rig", "sim://?seed=5", stdin=theirs)
    os.close(theirs)
    assert process.stderr is not None
    seen = ""
    while "Go on with the next pair?" not in seen:
        letter = process.stderr.read(1)
        assert letter, seen
        seen += letter

    process.send_signal(getattr(signal, name))
    process.communicate(timeout=PATIENCE_S)
    os.close(mine)

    assert process.returncode == 3
    runs = gapsweep("results", "--json").document["runs"]
    assert [(run["target"], run["result"]) for run in runs] == [("pvc", "not detected")]
