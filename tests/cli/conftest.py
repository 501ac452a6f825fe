"""Runs commands in this process, most of them, or as processes of their own."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from rig.cli.main import run
from rig.inquiry.documents import json_schema
from tests.patience import PATIENCE_S

PROGRAM = (sys.executable, "-c", "from rig.cli.main import main; main()")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a command left: exit status, standard output, standard error."""

    status: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """Standard output as one JSON document that keeps its published schema."""
        found = json.loads(self.out)
        schema = json_schema(found["document"])
        Draft202012Validator(schema).validate(found)
        return found

    @property
    def sentence(self) -> str:
        """The sentence of a command that failed, without the program's name."""
        lines = self.err.splitlines()
        told = [line for line in lines if line.startswith(("gapsweep: ", "Error: "))]
        assert len(told) == 1, self.err
        assert "Traceback" not in self.err
        return told[0].partition(": ")[2]

    @property
    def hint(self) -> str:
        """What it advises below the sentence; empty if nothing."""
        lines = self.err.splitlines()
        return lines[-1].strip() if lines[-1].startswith("  ") else ""


Gapsweep = Callable[..., Outcome]
Served = Callable[..., AbstractContextManager[str]]


@contextmanager
def killed_when_late(process: subprocess.Popen[Any]) -> Iterator[None]:
    """Kill a process that outlasts the time limit of a command."""
    timer = threading.Timer(PATIENCE_S, process.kill)
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


@pytest.fixture(autouse=True)
def own_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder of the test's own, with records of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GAPSWEEP_RECORDS", str(tmp_path / "records.sqlite"))
    monkeypatch.delenv("GAPSWEEP_RIG", raising=False)
    return tmp_path


@pytest.fixture
def records(own_place: Path) -> Path:
    """The records that commands use when they are not told of others."""
    return own_place / "records.sqlite"


@pytest.fixture
def gapsweep(capfd: pytest.CaptureFixture[str]) -> Iterator[Gapsweep]:
    """Run a command in this process."""

    def too_long(_number: int, _frame: FrameType | None) -> None:
        raise TimeoutError(f"a command took more than {PATIENCE_S} s")

    def command(*arguments: object) -> Outcome:
        capfd.readouterr()
        signal.alarm(int(PATIENCE_S))
        try:
            status = run([str(argument) for argument in arguments])
        finally:
            signal.alarm(0)
        captured = capfd.readouterr()
        return Outcome(status=status, out=captured.out, err=captured.err)

    before = signal.signal(signal.SIGALRM, too_long)
    yield command
    signal.signal(signal.SIGALRM, before)


@pytest.fixture
def gapsweep_process() -> Gapsweep:
    """Run a command as a process of its own, with a terminal nowhere."""

    def command(
        *arguments: object,
        prefix: tuple[str, ...] = (),
        program: tuple[str, ...] = PROGRAM,
    ) -> Outcome:
        done = subprocess.run(
            [*prefix, *program, *map(str, arguments)],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
            check=False,
        )
        return Outcome(status=done.returncode, out=done.stdout, err=done.stderr)

    return command


@pytest.fixture
def measured(gapsweep: Gapsweep) -> Callable[..., str]:
    """Put a short simulated run on record; return its identity."""

    def measure(*more: object) -> str:
        arguments = ("--rig", "sim://?seed=7", "--sweeps", "4", "--json", *more)
        outcome = gapsweep("sweep", *arguments)
        assert outcome.status == 0, outcome.err
        run_id: str = outcome.document["run_id"]
        return run_id

    return measure


@pytest.fixture(scope="session")
def served() -> Served:
    """Serve a simulated rig for the length of a block; gives its name as a rig."""

    @contextmanager
    def serve(*arguments: str) -> Iterator[str]:
        process = subprocess.Popen(
            [*PROGRAM, "simulate", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        with killed_when_late(process), process:
            assert process.stdout is not None
            try:
                yield process.stdout.readline().strip()
            finally:
                process.send_signal(signal.SIGINT)
                out, err = process.communicate()
        assert process.returncode == 0
        assert out == ""
        assert "SIMULATED rig ready" in err
        assert "no longer served" in err

    return serve


PACED = "test_served_at_real_pace.py"


@contextmanager
def beside(folder: Path, *arguments: str) -> Iterator[subprocess.Popen[str]]:
    """Run a command beside the tests; whatever still runs at the end is killed."""
    with subprocess.Popen(
        [*PROGRAM, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "GAPSWEEP_RECORDS": str(folder / "records.sqlite")},
    ) as process:
        try:
            yield process
        finally:
            process.kill()


class Paced:
    """Rigs served at real pace, and what measures on them."""

    def __init__(self, folder: Path, stack: ExitStack) -> None:
        self._folder = folder
        self._stack = stack
        self.pty = self._server()
        self.tcp = self._server("--tcp", "0")
        self.stopped_rig = self._server()
        self.on_pty = self._begun("pty", "--rig", self.pty, "--sweeps", "2")
        self.on_tcp = self._begun("tcp", "--rig", self.tcp, "--sweeps", "2")
        self.stopped_records = folder / "stopped" / "records.sqlite"
        self.to_be_stopped = self._begun(
            "stopped", "--rig", self.stopped_rig, "--sweeps", "10000"
        )

    def _server(self, *arguments: str) -> str:
        name = "sim://?sensor=capacitive&seed=7"
        server = beside(self._folder, "simulate", name, *arguments)
        process = self._stack.enter_context(server)
        assert process.stdout is not None
        return process.stdout.readline().strip()

    def _begun(self, name: str, *arguments: str) -> subprocess.Popen[str]:
        folder = self._folder / name
        folder.mkdir()
        mounted = ("--sensor", "level-18", "--target", "steel")
        command = ("sweep", *mounted, "--speeds", "4", "--json", *arguments)
        return self._stack.enter_context(beside(folder, *command))


@pytest.fixture(scope="session", autouse=True)
def paced(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Paced | None]:
    """What goes on at real pace while other tests run; None if nobody looks at it."""
    if not any(item.path.name == PACED for item in request.session.items):
        yield None
        return
    with ExitStack() as stack:
        yield Paced(tmp_path_factory.mktemp("paced"), stack)
