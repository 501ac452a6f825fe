"""A terminal that takes nothing, and a UI that hangs: the axis is stopped all the same.

How long it takes is printed by `python -m tests.benchmarks --only stop_key`.
"""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from rig.tui.app.paced_app import UNSEEN
from rig.tui.app.terminal_writer import TerminalWriter
from tests.patience import PATIENCE_S
from tests.recorded_port import PATIENT_MS, recorded_rig
from tests.tui.serving import until
from tests.tui.ui_on_pty import begin_to_move, ui_on_pty

# An app whose loop hangs from now on, as in a bug
HANGING = """
import pathlib, threading

def hang(self):
    if pathlib.Path(sys.argv[2]).exists():
        pathlib.Path(sys.argv[2]).unlink()
        while True:
            threading.Event().wait(0.01)

GapsweepApp._tick = hang
"""
# F2 and F3 in turn: each draws a whole screen
MANY_FRAMES = b"\x1bOQ\x1bOR" * 8


def test_a_writer_never_waits_and_writes_everything_in_order() -> None:
    reader, number = os.pipe()
    drained = threading.Event()
    writer = TerminalWriter(number, drained.set)
    sent = [bytes([index % 251]) * 5000 for index in range(100)]

    for data in sent:  # far more than the pipe holds, and nobody reads
        writer.write(data)
    waiting = writer.waiting_bytes
    assert not drained.is_set()
    with os.fdopen(reader, "rb") as pipe:
        seen = pipe.read(500_000)
        assert drained.wait(PATIENCE_S)
        left = writer.waiting_bytes
        writer.close(PATIENCE_S)
        os.close(number)

    assert waiting > 400_000
    assert left == 0
    assert writer.stuck_s() == 0.0
    assert seen == b"".join(sent)


def test_a_writer_whose_terminal_has_gone_forgets_what_waits() -> None:
    reader, number = os.pipe()
    os.close(reader)
    writer = TerminalWriter(number, lambda: None)

    writer.write(b"x" * 100_000)
    until(lambda: writer.waiting_bytes == 0)
    writer.write(b"more")
    writer.close(PATIENCE_S)
    os.close(number)

    assert writer.waiting_bytes == 0


@pytest.mark.alone  # a real port and a real terminal at real pace
@pytest.mark.long
def test_the_stop_key_stops_the_axis_while_the_ui_hangs(tmp_path: Path) -> None:
    hangs = tmp_path / "hangs"
    with (
        recorded_rig(silence_ms=PATIENT_MS) as port,
        ui_on_pty(tmp_path, port, HANGING, str(hangs)) as ui,
    ):
        begin_to_move(ui)
        hangs.touch()
        until(lambda: not hangs.exists())
        before = port.stops
        ui.type(b" ")
        port.wait_for(b"#")

    assert before == 0


@pytest.mark.alone  # a real port and a real terminal at real pace
@pytest.mark.long
def test_the_stop_key_stops_the_axis_on_a_terminal_that_takes_nothing(
    tmp_path: Path,
) -> None:
    with recorded_rig(silence_ms=PATIENT_MS) as port, ui_on_pty(tmp_path, port) as ui:
        begin_to_move(ui)
        ui.hold_up()
        ui.type(MANY_FRAMES)
        before = port.stops
        ui.type(b" ")
        port.wait_for(b"#")
        ui.forget()
        ui.go_on()
        ui.wait_for(b"STOPPED")

    assert before == 0


@pytest.mark.alone  # a real port and a real terminal at real pace
@pytest.mark.long
def test_a_terminal_that_takes_nothing_stops_the_axis_and_it_is_said_why(
    tmp_path: Path,
) -> None:
    with recorded_rig(silence_ms=PATIENT_MS) as port, ui_on_pty(tmp_path, port) as ui:
        begin_to_move(ui)
        ui.hold_up()
        ui.type(MANY_FRAMES)
        port.wait_for(b"#")
        ui.forget()
        ui.go_on()
        ui.wait_for(b"STOPPED", UNSEEN.encode())


@pytest.mark.alone  # a real port and a real terminal at real pace
@pytest.mark.long
def test_what_a_slow_terminal_missed_is_drawn_once_it_goes_on(tmp_path: Path) -> None:
    with recorded_rig(silence_ms=PATIENT_MS) as port, ui_on_pty(tmp_path, port) as ui:
        ui.hold_up()
        ui.type(MANY_FRAMES)
        ui.type(b"\x1b[18~")  # F7
        ui.forget()
        ui.go_on()
        ui.wait_for(b"Nothing has been measured yet")
