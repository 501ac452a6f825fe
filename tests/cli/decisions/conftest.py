"""Runs commands in this process, on records and files in a folder of their own."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from rig.cli.main import run
from rig.inquiry.documents import json_schema


@dataclass(frozen=True)
class Outcome:
    status: int
    out: str
    err: str

    @property
    def document(self) -> dict[str, Any]:
        """Standard output as one JSON document that keeps its published schema."""
        found: dict[str, Any] = json.loads(self.out)
        if "document" in found:
            schema = json_schema(found["document"])
            Draft202012Validator(schema).validate(found)
        return found


Gapsweep = Callable[..., Outcome]


@pytest.fixture
def gapsweep(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Gapsweep:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GAPSWEEP_RECORDS", str(tmp_path / "measured.sqlite"))

    def call(*arguments: object) -> Outcome:
        status = run([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Outcome(status=status, out=captured.out, err=captured.err)

    return call


@pytest.fixture
def complaint(gapsweep: Gapsweep) -> Callable[..., str]:
    """Call a command that must be refused; return its sentence."""

    def call(*arguments: object) -> str:
        outcome = gapsweep(*arguments)
        assert outcome.status == 2, outcome
        assert outcome.out == ""
        sentence, *hint = outcome.err.strip().splitlines()
        assert len(hint) <= 1, outcome.err
        assert sentence.startswith("gapsweep: ")
        return outcome.err

    return call


@pytest.fixture
def table(tmp_path: Path) -> Callable[..., Path]:
    """Write a table of comma-separated rows."""

    def write(name: str, header: str, rows: list[object]) -> Path:
        path = tmp_path / name
        lines = [
            ",".join(str(cell) for cell in row) if isinstance(row, tuple) else str(row)
            for row in rows
        ]
        path.write_text("\n".join([header, *lines]) + "\n", "utf-8")
        return path

    return write


@pytest.fixture
def measured(gapsweep: Gapsweep) -> Callable[..., dict[str, Any]]:
    """Measure one part on a simulated rig; a higher sensitivity reaches farther."""

    def measure(
        part: str,
        *options: object,
        seed: int = 1,
        sensitivity: float = 1.0,
        target: str = "steel",
        sweeps: int = 5,
        thermometer: bool = False,
    ) -> dict[str, Any]:
        fault = "" if thermometer else "&fault=no_thermometer"
        outcome = gapsweep(
            "sweep",
            "--rig",
            f"sim://?seed={seed}&sensitivity={sensitivity}{fault}",
            "--target",
            target,
            "--part",
            part,
            "--sweeps",
            sweeps,
            "--json",
            *options,
        )
        assert outcome.status == 0, outcome.err
        return outcome.document

    return measure
