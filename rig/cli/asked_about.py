"""Asks about what is hardly meant so; in scripts it is refused without `--sure`."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any, TypeVar

import click

from rig.cli.output import say_on_stderr
from rig.errors import Implausible

Command = TypeVar("Command", bound=Callable[..., Any])
Entered = TypeVar("Entered")


def sure_option(command: Command) -> Command:
    """Add `--sure`."""
    return click.option(
        "--sure",
        is_flag=True,
        help="Accept values that are far off, or off by a power of ten.",
    )(command)


def asked_about(enter: Callable[[bool], Entered], *, sure: bool) -> Entered:
    """Enter what was typed, and ask first if it is hardly meant so.

    Args:
        enter: Enters it; told whether it is taken as it is.
        sure: Whether `--sure` was given.

    Raises:
        Implausible: It is hardly meant so, and nobody says that it is.
        RigError: It cannot be entered.
    """
    try:
        return enter(sure)
    except Implausible as exc:
        if not sys.stdin.isatty():
            raise
        # Deferred: only what is hardly meant so needs it
        from rig.cli.open_rig import agreed

        say_on_stderr(f"{exc}.")
        if not agreed("Is it meant so?"):
            raise
    return enter(True)
