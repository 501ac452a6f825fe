"""`python -m firmware_protocol.conformance.by_hand` on a served rig."""

from __future__ import annotations

import io
import threading
from collections.abc import Iterator

import pytest

from firmware_protocol.conformance import by_hand
from sim.options import build, read_options
from sim.serve import serve_pty


@pytest.fixture
def port() -> Iterator[str]:
    server, path = serve_pty(build(read_options({})))
    thread = threading.Thread(target=server.run)
    thread.start()
    yield path
    server.stop()
    thread.join()


def test_an_order_by_hand_ends_by_itself(
    port: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("yes\n"))

    status = by_hand.main([port, "rearm", "home 800 400"])

    told = capsys.readouterr()
    lines = told.out.splitlines()
    assert status == 0
    assert lines[0].endswith(" rearm raw")
    assert lines[1].endswith(" home")
    assert " silent " in lines[-1]
    assert "takes the power from the motor" in told.err


def test_a_refusal_is_printed(
    port: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("yes\n"))

    assert by_hand.main([port, "go 500 800 1 0 0"]) == 0

    assert capsys.readouterr().out.endswith(" no 5 0\n")


def test_nothing_is_done_without_a_yes(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n"))

    assert by_hand.main(["/dev/no-such-port", "home 1 1"]) == 2
    assert "Nothing was done." in capsys.readouterr().err
