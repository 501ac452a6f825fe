"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from rig.catalogue.own_catalogue import CATALOGUE_VARIABLE
from rig.cli.output import QUIET
from rig.procedures import particulars

TRACE = "rig.trace"  # key in a context's meta: where a trace of the wire goes

Command = TypeVar("Command", bound=Callable[..., Any])


def example(line: str) -> str:
    r"""Return an example for the end of a command's help; it stays on one line."""
    return f"\b\nExample:\n  {line}"


def _named(_ctx: click.Context, _option: click.Parameter, name: str) -> str:
    if not name.strip():
        raise click.BadParameter("is empty; give a port, or sim:// for the simulation")
    return name


def _keep_trace(
    ctx: click.Context, _option: click.Parameter, path: Path | None
) -> None:
    ctx.meta[TRACE] = path


def rig_option(command: Command) -> Command:
    """Add `--rig`, and `--trace` beside it."""
    traced = click.option(
        "--trace",
        type=click.Path(path_type=Path),
        expose_value=False,
        callback=_keep_trace,
        metavar="FILE",
        help="Write what goes over the wire to a file: see `gapsweep log`.",
    )(command)
    return click.option(
        "--rig",
        "rig_name",
        callback=_named,
        envvar="GAPSWEEP_RIG",
        show_envvar=True,
        required=True,
        metavar="PORT",
        help="Serial port, pyserial URL, or sim:// for the simulated rig.",
    )(traced)


def records_option(command: Command) -> Command:
    """Add `--records`."""
    return click.option(
        "--records",
        metavar="FILE|URL",
        help="Records: a file or a database URL. Default: yours, see `results`.",
    )(command)


def json_option(command: Command) -> Command:
    """Add `--json`."""
    return click.option(
        "--json",
        "as_json",
        is_flag=True,
        help="Print one JSON document to standard output and nothing else.",
    )(command)


def _keep_quiet(
    ctx: click.Context,
    _option: click.Parameter,
    quiet: bool,
) -> None:
    ctx.meta[QUIET] = quiet


def quiet_option(command: Command) -> Command:
    """Add `--quiet`; what it leaves out goes through `say_aside`."""
    return click.option(
        "-q",
        "--quiet",
        is_flag=True,
        expose_value=False,
        callback=_keep_quiet,
        help="Hide progress and remarks; errors and warnings of motion still show.",
    )(command)


def catalogue_option(command: Command) -> Command:
    """Add `--catalogue`."""
    return click.option(
        "--catalogue",
        "catalogue_path",
        type=click.Path(path_type=Path, dir_okay=False),
        envvar=CATALOGUE_VARIABLE,
        show_envvar=True,
        help="TOML file with more sensors and targets.",
    )(command)


def part_option(command: Command) -> Command:
    """Add `--part`."""
    return click.option(
        "--part",
        default="",
        metavar="NUMBER",
        help="Serial or sample number of the sensor that is mounted.",
    )(command)


def product_option(command: Command) -> Command:
    """Add `--product`."""
    return click.option(
        "--product",
        "product_name",
        default="",
        metavar="NAME",
        help="Product on record that the part should be; its newest approved version"
        " is what the run is held against.",
    )(command)


def check_temperature(temperature_c: float | None) -> None:
    """Let only a temperature pass that a bench can have.

    Raises:
        InputError: It is out of range, or no number at all.
    """
    if temperature_c is not None:
        particulars.check_temperature(temperature_c, "--temperature")
