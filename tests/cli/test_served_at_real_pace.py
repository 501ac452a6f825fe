"""A simulated rig served to another process, as `gapsweep simulate` does it.

At real pace a run takes most of a minute, nearly all of it waiting; so what is to be
measured is begun with the first test of this folder, and each test here looks at its
own.
"""

from __future__ import annotations

import json
import signal
import subprocess
import time
from collections.abc import Callable
from typing import Any

import pytest

from rig.link.link import Link
from rig.link.serial_port import SerialTransport
from tests.patience import PATIENCE_S

pytestmark = [pytest.mark.long, pytest.mark.alone]

NAME = "sim://?sensor=capacitive&seed=7"
RUN = ("--sensor", "level-18", "--target", "steel", "--speeds", "4", "--json")


def document(begun: subprocess.Popen[str]) -> Any:
    out, err = begun.communicate(timeout=PATIENCE_S)
    assert begun.returncode == 0, err
    return json.loads(out)


def test_ctrl_c_stops_the_axis_of_a_served_rig_in_mid_run(
    paced: Any, gapsweep: Callable[..., Any]
) -> None:
    begun, records = paced.to_be_stopped, paced.stopped_records
    give_up_at = time.monotonic() + PATIENCE_S
    good = 0
    while good < 2 and time.monotonic() < give_up_at:
        time.sleep(0.1)
        listed = gapsweep("results", "--records", records, "--json")
        runs = listed.document["runs"] if listed.status == 0 else []
        good = sum(run["good_sweeps"] for run in runs)

    begun.send_signal(signal.SIGINT)
    out, err = begun.communicate(timeout=PATIENCE_S)

    assert begun.returncode == 3
    assert json.loads(out)["document"] == "error"
    assert "gapsweep: stopped on request" in err
    link = Link(SerialTransport(paced.stopped_rig))
    try:
        link.greet()
        first = link.look().position
        time.sleep(0.2)
        assert link.look().position == first
    finally:
        link.close()
    (run,) = gapsweep("results", "--records", records, "--json").document["runs"]
    assert run["good_sweeps"] >= 2
    shown = gapsweep("show", run["run_id"], "--records", records, "--json").document
    assert len(shown["sweeps"]) == run["good_sweeps"]


def test_a_rig_on_a_pseudo_terminal_gives_what_it_gives_in_process(
    paced: Any, gapsweep: Callable[..., Any]
) -> None:
    served = document(paced.on_pty)
    at_once = gapsweep("sweep", "--rig", NAME, *RUN, "--sweeps", "2").document

    assert served["simulated"] is True
    assert len(served["sweeps"]) == 2
    assert served["sweeps"] == at_once["sweeps"]
    assert served["operate_mm"] == at_once["operate_mm"]


def test_a_rig_on_a_tcp_port_gives_what_it_gives_in_process(
    paced: Any, gapsweep: Callable[..., Any]
) -> None:
    served = document(paced.on_tcp)
    at_once = gapsweep("sweep", "--rig", NAME, *RUN, "--sweeps", "2").document

    assert paced.tcp.startswith("socket://127.0.0.1:")
    assert served["simulated"] is True
    assert served["sweeps"] == at_once["sweeps"]
    assert served["operate_mm"] == at_once["operate_mm"]
