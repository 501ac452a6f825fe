"""Help of the commands of decisions: an example each, and nothing heavy behind it."""

from __future__ import annotations

import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from rig.cli.main import gapsweep

ROOT = Path(__file__).parents[3]
NAMES = ("batch", "study", "lot", "calibrate", "hand", "show")


def commands() -> Iterator[tuple[str, click.Command]]:
    context = click.Context(gapsweep)
    for name in NAMES:
        command = gapsweep.get_command(context, name)
        assert command is not None
        yield name, command
        if isinstance(command, click.Group):
            for inner, one in command.commands.items():
                yield f"{name} {inner}", one


EVERY = dict(commands())


@pytest.mark.parametrize("name", EVERY)
def test_the_example_of_a_command_is_understood(name: str) -> None:
    epilog = EVERY[name].epilog or ""
    line = epilog.split("Example:")[1].strip()
    program, *words = shlex.split(line)
    assert program == "gapsweep"

    context = click.Context(gapsweep)
    command: click.Command = gapsweep
    while isinstance(command, click.Group) and words:
        found = command.get_command(context, words.pop(0))
        assert found is not None, line
        command = found
    # Parsed to the last word without anything being carried out
    command.make_context("example", words, resilient_parsing=False)


@pytest.mark.parametrize("name", EVERY)
def test_every_option_is_told_of(name: str) -> None:
    text = EVERY[name].get_help(click.Context(EVERY[name], info_name=name))

    assert "Example:" in text
    assert "-h" in text or "--help" in text


def test_help_loads_nothing_heavy() -> None:
    program = (
        "import sys\n"
        "from rig.cli.main import run\n"
        "heavy = ('numpy', 'scipy', 'pandas', 'sqlalchemy', 'matplotlib', 'pydantic')\n"
        f"for name in {NAMES!r}:\n"
        "    run([name, '--help'])\n"
        "print([name for name in heavy if name in sys.modules], file=sys.stderr)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT)},
    )

    assert done.stderr.strip() == "[]"
