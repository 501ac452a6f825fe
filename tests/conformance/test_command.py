"""`python -m firmware_protocol.conformance` on a served rig, and what it reports."""

from __future__ import annotations

import io
import json
import threading
from collections.abc import Iterator
from functools import partial

import pytest

import firmware_protocol.conformance.__main__ as command
from firmware_protocol.conformance.clauses import CLAUSES
from firmware_protocol.conformance.run import run
from sim.options import build, read_options
from sim.serve import serve_pty

# Few, since the port runs at real pace: one of each verdict that a sound rig gets
FEW = [
    clause for clause in CLAUSES if clause.id in ("2.1", "4.1", "5.1", "5.7", "11.2")
]


@pytest.fixture
def port() -> Iterator[str]:
    server, path = serve_pty(build(read_options({})))
    thread = threading.Thread(target=server.run)
    thread.start()
    yield path
    server.stop()
    thread.join()


@pytest.fixture(autouse=True)
def _few(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(command, "run", partial(run, clauses=FEW))


@pytest.mark.long
def test_tells_each_clause_and_their_number(
    port: str, capsys: pytest.CaptureFixture[str]
) -> None:
    status = command.main([port])

    told = capsys.readouterr()
    assert status == 0
    assert "2.1    conforms" in told.out
    assert "5.7    not applicable" in told.out
    assert "needs leave to move the axis" in told.out
    assert told.out.endswith(
        "5 clauses: 3 conforms, 0 does not conform, 2 not applicable\n"
    )
    assert "take the power from the motor" in told.err


@pytest.mark.long
def test_moves_after_a_yes(
    port: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("yes\n"))

    status = command.main([port, "--moves", "--json"])

    told = capsys.readouterr()
    document = json.loads(told.out)
    assert status == 0
    assert document["clauses"] == 5
    assert document["conforms"] == 4
    assert document["not_applicable"] == 1
    assert {row["id"] for row in document["results"]} == {clause.id for clause in FEW}
    assert "The axis will move" in told.err


@pytest.mark.parametrize("said", ["", "y\n", "no\n"])
def test_moves_nothing_without_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], said: str
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(said))

    assert command.main(["/dev/no-such-port", "--moves"]) == 2
    assert "Nothing was done." in capsys.readouterr().err


def test_says_that_a_port_cannot_be_opened(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["/dev/no-such-port"]) == 3
    assert "cannot open /dev/no-such-port" in capsys.readouterr().err


@pytest.mark.long
def test_a_controller_that_is_not_there_does_not_conform(
    capsys: pytest.CaptureFixture[str],
) -> None:
    server, path = serve_pty(build(read_options({"fault": "silent"})))
    thread = threading.Thread(target=server.run)
    thread.start()
    status = command.main([path])
    server.stop()
    thread.join()

    told = capsys.readouterr().out
    assert status == 1
    assert "4.1    does not conform" in told
    assert "expected: `a0 hail 1 ...`" in told
    assert "the controller does not answer the greeting" in told
    assert "nothing: the controller is mute" in told
    once_more = told[told.index("What does not conform:") :]
    assert "4.1    does not conform" in once_more
    assert "conforms   " not in once_more


def test_clauses_are_numbered_by_the_sections_of_the_spec() -> None:
    ids = [clause.id for clause in CLAUSES]

    assert len(ids) == len(set(ids))
    assert {clause.section for clause in CLAUSES} == set("23456789") | {
        "10",
        "11",
        "12",
    }
