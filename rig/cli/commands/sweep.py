"""`gapsweep sweep`: one run now."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from rig.cli.motions import moves
from rig.cli.options import (
    catalogue_option,
    check_temperature,
    example,
    json_option,
    part_option,
    product_option,
    quiet_option,
    records_option,
    rig_option,
)
from rig.errors import InputError
from rig.model.sweep_numbers import (
    MOST_SWEEPS_UNTIL,
    USUAL_SPEEDS_MM_S,
    USUAL_SWEEPS,
)
from rig.procedures.motions_ahead import touch_off_and_run_ahead

if TYPE_CHECKING:
    from rig.inquiry.recorded_run import RecordedRun
    from rig.inquiry.run_document import Truth
    from rig.model.phases import PhaseTime

_SPEEDS = ",".join(f"{speed:g}" for speed in USUAL_SPEEDS_MM_S)
_AUTO = "auto"  # speeds that need the least time
_EXAMPLE = "gapsweep sweep --rig sim:// --sensor level-18 --target pvc --sweeps 10"


@click.command(epilog=example(_EXAMPLE))
@rig_option
@click.option("--sensor", help="Mounted sensor; sim:// has one mounted already.")
@click.option("--target", help="Mounted target; sim:// has one mounted already.")
@click.option(
    "--sweeps",
    type=int,
    help=f"Good sweeps wanted; with --until the most there may be.  [default: "
    f"{USUAL_SWEEPS}; with --until {MOST_SWEEPS_UNTIL}]",
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
    "--verdict",
    "for_verdict",
    is_flag=True,
    help="End as soon as operate point and H are clear of their limits, by intervals "
    "of 99.99 % before the last sweep; R and the delays then rest on fewer sweeps.",
)
@click.option(
    "--speeds",
    metavar="MM/S,...",
    help="Speeds in turn; two or more remove the switching delay. 'auto' takes the two "
    f"that need the least time for an uncertainty.  [default: {_SPEEDS}; with --until "
    "auto]",
)
@part_option
@product_option
@click.option("--operator", default="", help="Who answers for the run.")
@click.option("--note", default="", help="Free text kept with the run.")
@click.option("--temperature", type=float, metavar="°C", help="Ambient temperature.")
@click.option(
    "--supply",
    type=float,
    metavar="V",
    help="Supply voltage for this run, if the rig can set it; reset at the end.",
)
@click.option("--truth", is_flag=True, help="With sim:// only: what the rig knows.")
@records_option
@catalogue_option
@quiet_option
@json_option
@moves(touch_off_and_run_ahead())
def command(
    sweeps: int | None,
    until_mm: float | None,
    for_verdict: bool,
    speeds: str | None,
    **options: Any,
) -> None:
    """Touch off, locate the switching band and sweep across it."""
    found, remarks, phases, known = _measured(
        options,
        sweeps=sweeps,
        speeds=speeds,
        until_mm=until_mm,
        for_verdict=for_verdict,
    )
    _say(found, remarks, phases, known, as_json=options["as_json"])


def _measured(
    options: dict[str, Any],
    *,
    sweeps: int | None,
    speeds: str | None,
    until_mm: float | None,
    for_verdict: bool,
) -> tuple[RecordedRun, tuple[str, ...], tuple[PhaseTime, ...], Truth | None]:
    """Touch off and sweep.

    Returns:
        The run, sentences about it, how long the parts of the job took, and what a
        simulated rig knows, if asked for.
    """
    # Deferred: help must answer at once
    from rig.api.sweep_now import SweepWanted, order_now, sweep_now
    from rig.catalogue.catalogue import load_catalogue
    from rig.cli.open_rig import SETTINGS, open_rig, open_store
    from rig.cli.progress import progress_on_stderr
    from rig.model.sweep_numbers import parse_speeds
    from rig.procedures.phase_clock import PhaseClock

    catalogue = load_catalogue(options["catalogue_path"])
    speeds_mm_s = None
    if speeds is not None:
        speeds_mm_s = () if speeds == _AUTO else parse_speeds(speeds)
    check_temperature(options["temperature"])
    wanted = SweepWanted(
        sensor=options["sensor"],
        target=options["target"],
        sweeps=sweeps,
        speeds_mm_s=speeds_mm_s,
        until_mm=until_mm,
        for_verdict=for_verdict,
        part=options["part"],
        product=options["product_name"],
        operator=options["operator"],
        note=options["note"],
        temperature_c=options["temperature"],
        supply_v=options["supply"],
    )
    with open_store(options["records"]) as store, open_rig(options["rig_name"]) as rig:
        if options["truth"] and rig.simulation is None:
            raise InputError("--truth goes with --rig sim:// only")
        order = order_now(rig, store, catalogue, wanted)
        with progress_on_stderr(touch_off_and_run_ahead(SETTINGS)) as tell:
            clock = PhaseClock(tell, rig.mover.link.now_s)
            swept = sweep_now(rig, store, order, clock.tell)
        known = rig.simulation.truth() if options["truth"] and rig.simulation else None
    times = clock.times_and_floors(SETTINGS)
    return swept.recorded, swept.remarks, times, known


def _say(
    found: RecordedRun,
    remarks: tuple[str, ...],
    phases: tuple[PhaseTime, ...],
    known: Truth | None,
    *,
    as_json: bool,
) -> None:
    from rig.cli.output import say, say_document
    from rig.cli.text.run_text import run_text, sweeps_text, truth_text
    from rig.cli.text.standard_text import verdicts_text
    from rig.inquiry.run_document import run_document
    from rig.sheets.bench_time import bench_time_sentence
    from rig.sheets.run_sheet import run_sheet, truth_rows

    if as_json:
        document = run_document(found, remarks=remarks, phases=phases, truth=known)
        say_document("run", document)
        return
    sheet = run_sheet(found)
    parts = [run_text(sheet), verdicts_text(sheet.verdicts), sweeps_text(sheet)]
    say("\n\n".join((*parts, bench_time_sentence(phases))))
    if known is not None:
        say(truth_text(truth_rows(known)))
