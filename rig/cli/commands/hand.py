"""`gapsweep hand`: what people read and what theory predicts, beside the rig."""

from __future__ import annotations

import math
from pathlib import Path

import click

from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    part_option,
    records_option,
)
from rig.errors import InputError

_RUN = "20261125-093412-512-7f3a"
_FILE = click.Path(path_type=Path, dir_okay=False)
_figure = click.option(
    "--figure",
    type=click.Choice(["operate", "release"]),
    default="operate",
    show_default=True,
    help="Which point was read.",
)


@click.group(epilog=example(f"gapsweep hand compare {_RUN}"))
def command() -> None:
    """For the classroom: readings by hand and predictions beside the rig's figures."""


@command.command(
    epilog=example("gapsweep hand add class.csv --sensor level-18 --target pvc")
)
@click.argument("path", metavar="FILE", type=_FILE)
@click.option("--sensor", required=True, help="That was read.")
@click.option("--target", required=True, help="Against which.")
@part_option
@_figure
@catalogue_option
@records_option
@json_option
def add(
    path: Path,
    sensor: str,
    target: str,
    part: str,
    figure: str,
    catalogue_path: Path | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Enter readings by hand; FILE has the columns person,value_mm."""
    # Deferred: help must answer at once
    from rig.cli.by_hand import add_readings

    add_readings(
        path,
        sensor=sensor,
        target=target,
        part=part,
        figure=figure,
        catalogue_path=catalogue_path,
        records=records,
        as_json=as_json,
    )


@command.command(epilog=example(f"gapsweep hand compare {_RUN}"))
@click.argument("run_id", metavar="RUN")
@_figure
@records_option
@json_option
def compare(run_id: str, figure: str, records: str | None, as_json: bool) -> None:
    """Show each person's bias and spread against a run.

    And how the mean of n readings helps.
    """
    from rig.cli.by_hand import compare as compare_run

    compare_run(run_id, figure=figure, records=records, as_json=as_json)


@command.command(epilog=example(f"gapsweep hand predict {_RUN} --property pvc=2.8:3.4"))
@click.argument("run_ids", metavar="RUN...", nargs=-1, required=True)
@click.option(
    "--property",
    "properties",
    multiple=True,
    metavar="TARGET=LOW:HIGH",
    help="Relative permittivity, or conductivity in S/m, of a target.",
)
@click.option(
    "--curve", type=_FILE, help="Predicted curve in place of the shipped one."
)
@records_option
@json_option
def predict(
    run_ids: tuple[str, ...],
    properties: tuple[str, ...],
    curve: Path | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Put measured operate points beside those that theory predicts."""
    from rig.cli.by_hand import predict as predict_runs

    known = dict(_property(text) for text in properties)
    predict_runs(run_ids, known, curve, records=records, as_json=as_json)


def _property(text: str) -> tuple[str, tuple[float, float]]:
    name, equals, span = text.partition("=")
    low, colon, high = span.partition(":")
    try:
        ends = float(low), float(high if colon else low)
    except ValueError:
        ends = math.nan, math.nan
    if not (name and equals and all(math.isfinite(end) for end in ends)):
        raise InputError(
            f"--property is {text!r}: give it as pvc=3.1 or as pvc=2.8:3.4"
        )
    return name, ends
