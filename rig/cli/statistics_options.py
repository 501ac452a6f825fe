"""Options that the commands of decisions share: figure, limits, rule, date."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar

import click

from rig.errors import InputError
from rig.model.figure_kinds import KIND_OF_OPTION
from rig.model.number_input import numbers

Command = TypeVar("Command", bound=Callable[..., Any])

GUARDED = "guarded"
SIMPLE = "simple"


def figure_option(command: Command) -> Command:
    """Add `--figure`."""
    return click.option(
        "--figure",
        "figure_name",
        type=click.Choice(list(KIND_OF_OPTION)),
        default="operate",
        show_default=True,
        help="Which figure of each run.",
    )(command)


def rule_option(command: Command) -> Command:
    """Add `--rule`."""
    return click.option(
        "--rule",
        "rule_name",
        type=click.Choice([GUARDED, SIMPLE]),
        default=GUARDED,
        show_default=True,
        help="Decision rule: a guard band as wide as the uncertainty, or none.",
    )(command)


def limit_options(command: Command) -> Command:
    """Add `--lower` and `--upper`."""
    for side in ("upper", "lower"):
        command = click.option(
            f"--{side}",
            type=float,
            help=f"{side.capitalize()} limit, in place of the data sheet's.",
        )(command)
    return command


def day_of(text: str, option: str) -> date:
    """Return a day.

    Raises:
        InputError: It is none.
    """
    try:
        return date.fromisoformat(text)
    except ValueError as exc:
        raise InputError(
            f"{option} is {text!r}: give a day as year-month-day, such as 2026-11-25"
        ) from exc


def names_of(text: str, option: str) -> tuple[str, ...]:
    """Return the names of a comma-separated list.

    Raises:
        InputError: One of them is empty.
    """
    names = tuple(name.strip() for name in text.split(","))
    if not all(names):
        raise InputError(f"{option} is {text!r}: a name between the commas is empty")
    return names


def numbers_of(text: str, option: str) -> tuple[float, ...]:
    """Return the numbers of a comma-separated list.

    Raises:
        InputError: One of them is no number.
    """
    return numbers(text, option)


def measuring_options(command: Command) -> Command:
    """Add `--sensor`, `--target`, `--sweeps`, `--speeds` and `--temperature`."""
    for option in (
        click.option(
            "--temperature", type=float, metavar="°C", help="Ambient temperature."
        ),
        click.option(
            "--speeds",
            default="1,4",
            show_default=True,
            metavar="MM/S,...",
            help="Speeds, used in turn.",
        ),
        click.option(
            "--sweeps",
            type=int,
            default=10,
            show_default=True,
            help="Good sweeps wanted.",
        ),
        click.option("--target", help="Mounted target; sim:// has one mounted."),
        click.option("--sensor", help="Mounted sensor; sim:// has one mounted."),
    ):
        command = option(command)
    return command
