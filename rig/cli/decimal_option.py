"""`--decimal`: point or comma in CSV files that people open."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from rig.model.number_input import DecimalMark
from rig.model.own_decimal import own_decimal

Command = TypeVar("Command", bound=Callable[..., Any])
_MARKS = {"point": DecimalMark.POINT, "comma": DecimalMark.COMMA}


def _mark_of(
    _ctx: click.Context, _option: click.Parameter, word: str | None
) -> DecimalMark:
    return own_decimal() if word is None else _MARKS[word]


def decimal_option(command: Command) -> Command:
    """Add `--decimal`; it gives a `DecimalMark`."""
    return click.option(
        "--decimal",
        type=click.Choice(list(_MARKS)),
        callback=_mark_of,
        help="Decimal mark in CSV; with comma, cells are separated by semicolons."
        " Default: as this computer's locale has it.",
    )(command)
