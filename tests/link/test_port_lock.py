"""One rig, one owner: the lock of a port between our own processes."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from rig.errors import PortBusy
from rig.link.port_lock import PortLock

HOLD = """
import sys
from rig.link.port_lock import PortLock
lock = PortLock(sys.argv[1])
print("held", flush=True)
sys.stdin.readline()
"""


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))


def test_a_second_process_is_told_who_has_the_rig() -> None:
    name = "socket://localhost:4000"
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, name],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"

        with pytest.raises(PortBusy, match=f"in use .*process {holder.pid}") as raised:
            PortLock("SOCKET://LocalHost:4000")

        holder.kill()
        holder.wait()
        PortLock(name).release()
    assert "\n" not in str(raised.value)
    assert raised.value.hint


def test_the_lock_is_free_again_after_release() -> None:
    PortLock("/dev/ttyX").release()
    lock = PortLock("/dev/ttyX")

    with pytest.raises(PortBusy, match=str(os.getpid())):
        PortLock("/dev/ttyX")

    lock.release()


def test_a_link_to_a_port_is_that_port(tmp_path: Path) -> None:
    port, link = tmp_path / "port", tmp_path / "by-name"
    port.touch()
    link.symlink_to(port)
    lock = PortLock(str(port))

    with pytest.raises(PortBusy):
        PortLock(str(link))

    lock.release()


@pytest.mark.parametrize("other", ["127.0.0.1", "[::1]", "LOCALHOST"])
def test_every_name_of_this_computer_is_one_rig(other: str) -> None:
    lock = PortLock("socket://localhost:4000")

    with pytest.raises(PortBusy):
        PortLock(f"socket://{other}:4000")
    PortLock(f"socket://{other}:4001").release()

    lock.release()


def test_where_no_lock_can_be_kept_the_port_opens_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "gapsweep").write_text("a file where the folder would be")

    PortLock("/dev/ttyX").release()
