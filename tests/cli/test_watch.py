"""`gapsweep watch`: a table where somebody looks on, else a line a change."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest

from tests.patience import PATIENCE_S
from tests.recorded_port import recorded_rig

PROGRAM = (sys.executable, "-c", "from rig.cli.main import main; main()")
MOTIONS = (b" home ", b" go ", b" touch ", b" rearm ")


def test_each_change_is_a_line_where_the_output_is_no_terminal(
    gapsweep: Callable[..., Any],
) -> None:
    rig = "sim://?pace=fast&fault=drive_lost:3"

    outcome = gapsweep("watch", "--rig", rig, "--seconds", "6")

    assert (outcome.status, outcome.err) == (0, "")
    lines = outcome.out.splitlines()
    assert "SIMULATED" in lines[0]
    (before,) = [line for line in lines if line.startswith("motor's drive")]
    assert before.split()[2:4] == ["on", "stops"]
    (lost, held) = [line for line in lines if " s  " in line]
    assert lost.endswith("motor's drive: off")
    assert "state held" in held
    assert "drive lost" in held
    assert max(map(len, lines)) <= 80


def test_the_document_tells_how_things_stood_at_the_end(
    gapsweep: Callable[..., Any],
) -> None:
    rig = "sim://?pace=fast&fault=drive_lost:3"

    found = gapsweep("watch", "--rig", rig, "--seconds", "6", "--json").document

    assert found["simulated"] is True
    assert found["inputs"][-1]["active"] is False
    assert found["inputs"][-1]["changes"] == 1


def test_a_rig_is_watched_at_real_pace_unless_asked_otherwise() -> None:
    from rig.wiring import at_real_pace

    assert at_real_pace("sim://") == "sim://?pace=real"
    assert at_real_pace("sim://?seed=3") == "sim://?seed=3&pace=real"
    assert at_real_pace("sim://?pace=fast") == "sim://?pace=fast"
    assert at_real_pace("/dev/ttyUSB0") == "/dev/ttyUSB0"


def test_ctrl_c_ends_it_well_and_nothing_was_ordered() -> None:
    with recorded_rig() as port:
        process = subprocess.Popen(
            [*PROGRAM, "watch", "--rig", port.path],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        port.wait_for(b" tally")

        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=PATIENCE_S)

        assert process.returncode == 0, err
        assert port.stops >= 1
        assert not [word for word in MOTIONS if word in port.written]
    assert "touch probe" in out


@pytest.mark.long
def test_in_a_terminal_the_table_names_the_way_out_and_ctrl_c_works() -> None:
    child, terminal = pty.fork()
    if child == 0:
        # A terminal of 80 columns, as most are
        os.environ.update(COLUMNS="80", LINES="24", TERM="xterm")
        os.execv(PROGRAM[0], [*PROGRAM, "watch", "--rig", "sim://"])
    shown = b""
    while b"Ctrl-C ends" not in shown:
        shown += os.read(terminal, 4096)

    os.write(terminal, b"\x03")
    try:
        while data := os.read(terminal, 4096):
            shown += data
    except OSError:
        pass  # its end is closed
    _, status = os.waitpid(child, 0)
    os.close(terminal)

    assert os.waitstatus_to_exitcode(status) == 0, shown
    for word in (b"SIMULATED", b"touch probe", b"home switch", b"motor's drive"):
        assert word in shown
