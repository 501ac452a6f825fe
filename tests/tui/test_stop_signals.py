"""A request to end, or a closed terminal, has the UI write the stop byte at once."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from tests.recorded_port import recorded_rig
from tests.tui.serving import until
from tests.tui.test_stuck_terminal import HANGING
from tests.tui.ui_on_pty import ui_on_pty

pytestmark = pytest.mark.long


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
@pytest.mark.parametrize("program", ["", HANGING], ids=["idle", "hanging"])
def test_the_ui_writes_the_stop_byte_when_it_is_ended(
    tmp_path: Path, name: str, program: str
) -> None:
    hangs = tmp_path / "hangs"
    with recorded_rig() as port, ui_on_pty(tmp_path, port, program, str(hangs)) as ui:
        if program:
            hangs.touch()
            until(lambda: not hangs.exists())
        before = port.stops

        os.kill(ui.process, getattr(signal, name))
        port.wait_for(b"#")
        if program:
            os.kill(ui.process, signal.SIGKILL)
        status = ui.ended()

    assert before == 0
    assert status == (-signal.SIGKILL if program else 0)
