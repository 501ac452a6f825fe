"""`gapsweep sweep`: one run now."""

from __future__ import annotations

from typing import Any

import click

from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    part_option,
    records_option,
    rig_option,
)

_SWEEPS = 10
_MOST_SWEEPS = 200  # within minutes, and past that systematic terms rule anyway
_SPEEDS = "1,4"
_EXAMPLE = "gapsweep sweep --rig sim:// --sensor level-18 --target pvc --sweeps 10"


@click.command(epilog=example(_EXAMPLE))
@rig_option
@click.option("--sensor", help="Mounted sensor; sim:// has one mounted already.")
@click.option("--target", help="Mounted target; sim:// has one mounted already.")
@click.option(
    "--sweeps",
    type=int,
    help=f"Good sweeps wanted; with --until the most there may be.  [default: "
    f"{_SWEEPS}; with --until {_MOST_SWEEPS}]",
)
@click.option(
    "--until",
    "until_mm",
    type=float,
    metavar="MM",
    help="Sweep until the expanded uncertainty of the operate point is so small. It "
    "takes 8 sweeps at least and ends at the limit of --sweeps; a warning says when "
    "that, or what more sweeps cannot lower, ended it.",
)
@click.option(
    "--speeds",
    metavar="MM/S,...",
    help="Speeds in turn; two or more remove the switching delay. 'auto' takes the two "
    f"that need the least time for an uncertainty.  [default: {_SPEEDS}; with --until "
    "auto]",
)
@part_option
@click.option("--operator", default="", help="Who answers for the run.")
@click.option("--note", default="", help="Free text kept with the run.")
@click.option("--temperature", type=float, metavar="°C", help="Ambient temperature.")
@click.option("--truth", is_flag=True, help="With sim:// only: what the rig knows.")
@records_option
@catalogue_option
@json_option
def command(
    sweeps: int | None, until_mm: float | None, speeds: str | None, **options: Any
) -> None:
    """Touch off, locate the switching band and sweep across it.

    The axis homes and touches the face slowly: keep hands clear.
    """
    # Deferred: help must answer at once
    from rig.cli.sweeping import AUTO, sweep_now

    most, usual = (_SWEEPS, _SPEEDS) if until_mm is None else (_MOST_SWEEPS, AUTO)
    sweep_now(
        options,
        sweeps=most if sweeps is None else sweeps,
        speeds=usual if speeds is None else speeds,
        until_mm=until_mm,
    )
