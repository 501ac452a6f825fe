"""PINs as they are typed: hidden in a terminal, else lines of standard input.

They are never options, which other users of the computer see in its list of processes.
"""

from __future__ import annotations

import sys

import click

from rig.errors import InputError


def typed_pin(what: str) -> str:
    """Ask for a PIN and return it.

    Args:
        what: Words for the PIN that is asked for.

    Raises:
        InputError: Standard input is no terminal and holds no further line.
    """
    if sys.stdin.isatty():
        given: str = click.prompt(what, hide_input=True, err=True, default="")
        return given
    line = sys.stdin.readline()
    if not line:
        raise InputError(
            f"{what} is missing",
            hint="type it in a terminal, or give it as a line of standard input",
        )
    return line.rstrip("\r\n")


def new_pin(what: str) -> str:
    """Ask for a new PIN, in a terminal twice, and return it.

    Raises:
        InputError: It is not typed the same twice, or is missing.
    """
    pin = typed_pin(what)
    if sys.stdin.isatty() and typed_pin(f"{what} once more") != pin:
        raise InputError("the two PINs differ", hint="set it again")
    return pin
