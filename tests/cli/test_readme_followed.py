"""README.md is followed to the letter by somebody new, from its first block on."""

from __future__ import annotations

import io
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
RIG = "sim://?sensor=capacitive&pace=fast"
PIN = "246810"
# The example fails a part of its lot, and such a verdict is told by the exit status
DOES_NOT_CONFORM = ("lot part LOT 19", "lot decide LOT")


def blocks(language: str) -> list[str]:
    """Return the blocks of code in a language, in order."""
    return re.findall(rf"(?ms)^```{language}\n(.*?)^```", README)


def lines() -> list[str]:
    """Return the commands of the blocks in order, less those that install."""
    text = "\n".join(blocks("sh")).replace("\\\n", " ")
    return [
        line
        for line in text.splitlines()
        if line.strip() and not line.startswith(("python3 -m venv", "export ", " "))
    ]


class Reader:
    """Who puts in names where README has RUN, PLAN, LOT, STUDY and PORT."""

    def __init__(self, gapsweep: Callable[..., Any], folder: Path) -> None:
        self._gapsweep = gapsweep
        self._folder = folder
        self._names = {"PORT": RIG}

    def run(self, target: str, number: int = 0) -> str:
        """Return the name of a run of the part S-101, the oldest first."""
        runs = self._gapsweep("results", "--json").document["runs"]
        of_part = [
            run["run_id"]
            for run in runs
            if (run["part"], run["target"]) == ("S-101", target)
        ]
        name: str = of_part[number]
        return name

    def runs_of(self, line: str) -> list[str]:
        """Return the runs that a command asks for, by what its remark says of them."""
        if "--against" in line:
            return [self.run("pvc"), self.run("steel")]
        if "hand " in line:
            return [self.run("pvc")]
        first, again = self.run("steel"), self.run("steel", 1)
        return [first, first, again] if "--under" in line else [first, again]

    def words(self, line: str) -> list[str]:
        """Return a command's words with every name put in."""
        words = shlex.split(line, comments=True)
        runs = iter(self.runs_of(line) if "RUN" in " ".join(words) else ())
        put_in = [re.sub(r"\bRUN\b", lambda _: next(runs), word) for word in words]
        return [self._names.get(word, word) for word in put_in]

    def keep_names(self, line: str, out: str) -> None:
        """Keep the name that a command prints which begins something."""
        for kind in ("study", "lot"):
            begun = re.search(rf"(?m)^{kind} (\S+): ", out)
            if begun and line.startswith(
                ("gapsweep study layout", "gapsweep lot begin")
            ):
                self._names[kind.upper()] = begun[1]
        if "--plans" in line:
            self._names["PLAN"] = out.splitlines()[1].split()[0]

    def type_readings(self) -> None:
        """Type a reading into every row of the sheet of the study."""
        sheet = self._folder / "study.csv"
        rows = sheet.read_text("utf-8").splitlines()
        typed = [
            re.sub(r"^((\d+),\d+,\w+,(\d)),", lambda m: f"{m[1]},{reading(m)}", row)
            for row in rows
        ]
        assert typed != rows
        sheet.write_text("\n".join(typed) + "\n", "utf-8")


def reading(row: re.Match[str]) -> str:
    """Return what somebody reads of a part, a little else each time."""
    return f"{7.9 + 0.1 * int(row[3]) + 0.01 * (int(row[2]) % 3):.2f}"


@pytest.mark.long
def test_every_command_of_the_readme_does_what_it_says_in_the_order_given(
    gapsweep, tmp_path, monkeypatch
) -> None:
    monkeypatch.setenv("GAPSWEEP_RIG", RIG)
    for block in blocks("toml"):
        name = block.partition("\n")[0].removeprefix("# ")
        (tmp_path / name).write_text(block, "utf-8")
    reader = Reader(gapsweep, tmp_path)
    followed = 0

    for line in lines():
        if not line.startswith("gapsweep "):
            subprocess.run(["sh", "-c", line], cwd=tmp_path, check=True)
            continue
        if line.startswith("gapsweep sync") or "postgresql" in line:
            # Of a server somewhere: tests/records/test_hand_in.py follows these
            continue
        if line.startswith("gapsweep study fill"):
            reader.type_readings()
        if "PIN" in line:
            monkeypatch.setattr(sys, "stdin", io.StringIO(f"{PIN}\n"))
        words = reader.words(line)[1:]
        # Somebody ends it with Ctrl-C
        words += ["--seconds", "1"] if words == ["watch"] else []
        outcome = gapsweep(*words)
        fails = line.removeprefix("gapsweep ").startswith(DOES_NOT_CONFORM)
        assert outcome.status == int(fails), f"{line}\n{outcome.err}"
        assert outcome.out, line
        reader.keep_names(line, outcome.out)
        followed += 1

    assert followed > 50
