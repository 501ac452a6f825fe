"""`gapsweep sweep`: one run now."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import click

from rig.cli.documents import emit, run_document, truth_document
from rig.cli.options import (
    catalogue_option,
    check_temperature,
    example,
    json_option,
    parse_speeds,
    part_option,
    records_option,
    rig_option,
)
from rig.cli.output import say
from rig.cli.progress import progress_on_stderr
from rig.cli.session import SETTINGS, open_rig, open_store
from rig.cli.text import run_text, sweeps_text, truth_text
from rig.errors import InputError

_SWEEPS = 10
_MOST_SWEEPS = 200  # within minutes, and past that systematic terms rule anyway
_SPEEDS = "1,4"
_AUTO = "auto"
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
    rig_name: str,
    sensor: str | None,
    target: str | None,
    sweeps: int | None,
    until_mm: float | None,
    speeds: str | None,
    part: str,
    operator: str,
    note: str,
    temperature: float | None,
    truth: bool,
    records: str | None,
    catalogue_path: Path | None,
    as_json: bool,
) -> None:
    """Touch off, locate the switching band and sweep across it.

    The axis homes and touches the face slowly: keep hands clear.
    """
    # Deferred: help must answer at once
    from rig.catalogue.catalogue import load_catalogue
    from rig.cli.measuring import mounted
    from rig.procedures.run import RunOrder, carry_out_run, planned_speeds
    from rig.procedures.touch_off import touch_off
    from rig.records import Writer

    catalogue = load_catalogue(catalogue_path)
    most, usual = (_SWEEPS, _SPEEDS) if until_mm is None else (_MOST_SWEEPS, _AUTO)
    wanted = usual if speeds is None else speeds
    speeds_mm_s = () if wanted == _AUTO else parse_speeds(wanted)
    check_temperature(temperature)
    with open_store(records) as store, open_rig(rig_name) as rig:
        on_bench = mounted(rig, catalogue, sensor, target)
        if truth and rig.simulation is None:
            raise InputError("--truth goes with --rig sim:// only")
        order = RunOrder(
            sensor=on_bench[0],
            target=on_bench[1],
            sweeps=most if sweeps is None else sweeps,
            speeds_mm_s=speeds_mm_s
            or planned_speeds(rig.mover.traits, SETTINGS, on_bench[0]),
            until_mm=until_mm,
            operator=operator,
            note=note,
            temperature_c=temperature,
            part=part,
        )
        with progress_on_stderr() as tell:
            bench = touch_off(rig.mover, SETTINGS, tell)
            result = carry_out_run(
                bench, order, Writer(store), tell, chance=random.SystemRandom()
            )
        known = rig.simulation.truth() if truth and rig.simulation else None
    if as_json:
        document: dict[str, Any] = run_document(result.run, result.figures)
        document["warnings"] = [*document["warnings"], *result.remarks]
        if known is not None:
            document["truth"] = truth_document(known)
        emit(document)
        return
    say(run_text(result.run, result.figures))
    say("")
    say(sweeps_text(result.run))
    if known is not None:
        say(truth_text(known))
