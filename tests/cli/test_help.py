"""Help: there for every command, at once, with an example that really runs."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest

from rig.cli.main import COMMANDS
from rig.records.export import ExportFormat

PLAN = """title = "Week 12"
sweeps = 2
[[run]]
sensors = ["level-18"]
targets = ["steel", "pvc"]
"""
EXAMPLE_RUN = "20261125-093412-512-7f3a"
HEAVY = {
    "jinja2",
    "matplotlib",
    "numpy",
    "pandas",
    "pyarrow",
    "pydantic",
    "rich",
    "scipy",
    "serial",
    "sqlalchemy",
    "textual",
}


def example(help_text: str) -> list[str]:
    """Return the words of the one example at the end of a help text."""
    lines = help_text.rstrip().splitlines()
    assert lines[-2].strip() == "Example:"
    words = shlex.split(lines[-1])
    assert words[0] == "gapsweep"
    return words[1:]


@pytest.mark.parametrize("flag", ["--help", "-h"])
@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(
    gapsweep: Callable[..., Any], command: str, flag: str
) -> None:
    outcome = gapsweep(command, flag)

    assert outcome.status == 0
    assert outcome.err == ""
    assert outcome.out.startswith(f"Usage: gapsweep {command}")
    assert example(outcome.out)[0] == command


@pytest.mark.parametrize("flag", ["--help", "-h"])
def test_the_help_of_the_program_lists_every_command(
    gapsweep: Callable[..., Any], flag: str
) -> None:
    outcome = gapsweep(flag)

    assert outcome.status == 0
    for name, what in COMMANDS.items():
        assert f"{name} " in outcome.out
        assert what in outcome.out


def test_without_a_command_and_a_terminal_it_prints_the_help(
    gapsweep_process: Callable[..., Any],
) -> None:
    outcome = gapsweep_process()

    assert (outcome.status, outcome.err) == (0, "")
    assert outcome.out == gapsweep_process("--help").out


# As they stand these need hardware, a rig served elsewhere or a run of somebody
# else's; here a simulated rig or a run of our own takes that place.
REWRITTEN = {
    "touch-off": ("/dev/ttyUSB0", "sim://"),
    "show": (EXAMPLE_RUN, "RUN"),
    "recompute": (EXAMPLE_RUN, "RUN"),
    "report": (EXAMPLE_RUN, "RUN"),
}


# These need a server, a batch of parts or a group's own files: run beside their tests
ELSEWHERE = (
    "rigs",
    "simulate",
    "serve",
    "batch",
    "study",
    "lot",
    "product",
    "calibrate",
    "hand",
    "import",
    "restore",
    "part",
    "supplier",
)


@pytest.mark.long
@pytest.mark.parametrize(
    "command", [name for name in COMMANDS if name not in ELSEWHERE]
)
def test_the_example_runs(
    gapsweep: Callable[..., Any],
    measured: Callable[..., str],
    own_place: Path,
    command: str,
) -> None:
    Path("incoming.toml").write_text(PLAN, "utf-8")
    run_id = measured()
    if command == "log":
        gapsweep(
            "watch",
            "--rig",
            "sim://?pace=fast",
            "--seconds",
            "1",
            "--trace",
            "wire.trace",
        )
    words = example(gapsweep(command, "--help").out)
    if command in REWRITTEN:
        old, new = REWRITTEN[command]
        assert old in words
        new = run_id if new == "RUN" else new
        words = [new if word == old else word for word in words]

    outcome = gapsweep(*words)

    assert outcome.status == 0, outcome.err
    assert outcome.out


@pytest.mark.long
def test_the_example_of_rigs_runs(
    gapsweep: Callable[..., Any], served: Callable[..., AbstractContextManager[str]]
) -> None:
    *words, where = example(gapsweep("rigs", "--help").out)
    assert where == "socket://127.0.0.1:7878"  # a free port takes its place

    with served("sim://?seed=3", "--tcp", "0") as address:
        outcome = gapsweep(*words, address)

    assert outcome.status == 0
    (line,) = [row for row in outcome.out.splitlines() if row.startswith(address)]
    assert "yes" in line
    assert "sim-3 (SIMULATED)" in line


@pytest.mark.long
def test_the_example_of_simulate_runs(
    gapsweep: Callable[..., Any], served: Callable[..., AbstractContextManager[str]]
) -> None:
    command, *words, port = example(gapsweep("simulate", "--help").out)
    assert (command, port) == ("simulate", "7878")  # a free port takes its place

    with served(*words, "0") as address:
        ports = gapsweep("rigs", "--also", address, "--json").document["ports"]

    assert ports[-1]["port"] == address
    assert ports[-1]["answers"] is True
    assert ports[-1]["simulated"] is True


SHOWS_WHAT_IT_LOADS = """
import sys
from rig.cli.main import run
status = run(sys.argv[1:])
print(*sys.modules, file=sys.stderr)
sys.exit(status)
"""
MOST_MODULES = 200  # the interpreter, click and some of ours; up to 160 here
MOST_OF_OURS = 50  # of some 300


@pytest.mark.long
@pytest.mark.parametrize("arguments", [(), *((name,) for name in COMMANDS)])
def test_help_loads_nothing_heavy_and_no_other_command(
    gapsweep_process: Callable[..., Any], arguments: tuple[str, ...]
) -> None:
    program = (sys.executable, "-c", SHOWS_WHAT_IT_LOADS)

    outcome = gapsweep_process(*arguments, "--help", program=program)

    assert outcome.status == 0
    loaded = set(outcome.err.split())
    ours = {name for name in loaded if name.partition(".")[0] == "rig"}
    assert "rig.cli.main" in ours
    assert {name.partition(".")[0] for name in loaded}.isdisjoint(HEAVY)
    assert len(loaded) < MOST_MODULES
    assert len(ours) < MOST_OF_OURS
    beside = "rig.cli.commands."
    commands = {name.removeprefix(beside) for name in ours if name.startswith(beside)}
    assert {name.partition(".")[0] for name in commands} <= {
        name.replace("-", "_") for name in arguments
    }


def test_export_offers_the_formats_that_there_are() -> None:
    from rig.cli.commands.export import FORMATS

    assert set(FORMATS) == {kind.value for kind in ExportFormat}


def test_a_mistyped_command_is_answered_with_the_nearest(
    gapsweep: Callable[..., Any],
) -> None:
    outcome = gapsweep("sweeep")

    assert outcome.status == 2
    assert outcome.sentence == "No such command 'sweeep'. Did you mean 'sweep'?"
    assert gapsweep("nope").sentence == "No such command 'nope'."
