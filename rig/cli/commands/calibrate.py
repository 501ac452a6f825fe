"""`gapsweep calibrate`: the calibration of the axis, from readings by hand."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rig.cli.motions import moves
from rig.cli.open_rig import (
    SETTINGS,
    clamp_by_hand,
    open_rig,
    open_store,
    rig_identity,
)
from rig.cli.options import (
    catalogue_option,
    check_temperature,
    example,
    json_option,
    part_option,
    records_option,
    rig_option,
)
from rig.cli.output import say, say_document, say_on_stderr
from rig.cli.progress import progress_on_stderr
from rig.cli.statistics_options import day_of, numbers_of
from rig.errors import InputError
from rig.model.grounds import Grounds
from rig.procedures.motions_ahead import blocks_ahead, places_ahead

if TYPE_CHECKING:
    from rig.wiring import Rig

_SPEEDS_MM_S = (1.0, 4.0)  # two, as of every run: the delay is removed
_EXAMPLE = (
    "gapsweep calibrate add axis.csv --rig-id bench-2 --certificate AX-7"
    " --made 2026-11-20 --due 2027-11-20 --instrument-um 0.6"
)
_MEASURE = (
    "gapsweep calibrate measure --rig sim://?seed=1 --blocks 1,1.3,1.6,2.5,5,7.3,8.7"
    " --block-um 0.2 --certificate GB-3 --due 2027-11-20"
)
_PLACES = (
    "gapsweep calibrate places --rig sim://?seed=1 --lead-mm 2 --places 6 --sweeps 4"
)

_by = click.option("--by", "author", default="", help="Who enters it.")
_reason = click.option("--reason", default="", help="Why it is entered.")


@click.group(epilog=example("gapsweep calibrate show"))
def command() -> None:
    """Record the calibration of the axis with its due date; later runs use it."""


@command.command(epilog=example(_EXAMPLE))
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--rig", "rig_name", metavar="PORT", help="Ask this rig for its identity."
)
@click.option("--rig-id", help="Identity of the rig, as `gapsweep rigs` shows it.")
@click.option("--certificate", required=True, help="Number under which it is recorded.")
@click.option("--made", required=True, metavar="DAY", help="Day of the readings.")
@click.option(
    "--due", required=True, metavar="DAY", help="Last day on which it is valid."
)
@click.option(
    "--instrument-um",
    type=float,
    required=True,
    help="Standard uncertainty of the indicator or the gauge blocks, um.",
)
@click.option("--lead-mm", type=float, help="Travel in one turn of the screw, mm.")
@_by
@_reason
@records_option
@json_option
def add(
    path: Path,
    rig_name: str | None,
    rig_id: str | None,
    certificate: str,
    made: str,
    due: str,
    instrument_um: float,
    lead_mm: float | None,
    author: str,
    reason: str,
    records: str | None,
    as_json: bool,
) -> None:
    """Record a calibration by ISO 230-2.

    FILE has the columns target_mm, direction, and deviation_mm or reading_mm: places
    are in mm from home; direction is up for approach and down for retreat.
    """
    # Deferred: help must answer at once
    from rig.cli.text.calibration_text import calibration_text
    from rig.inquiry.axis_calibration import (
        CalibrationOrder,
        add_calibration,
        axis_readings,
    )
    from rig.sheets.calibration_sheet import calibration_sheet

    order = CalibrationOrder(
        rig_id=rig_identity(rig_name, rig_id),
        certificate=certificate,
        calibrated_on=day_of(made, "--made"),
        due_on=day_of(due, "--due"),
        instrument_uncertainty_mm=instrument_um / 1000.0,
        screw_lead_mm=lead_mm,
        grounds=Grounds(person=author, reason=reason),
    )
    readings = axis_readings(path)
    with open_store(records) as store:
        result = add_calibration(store, readings, order, datetime.now(UTC))
    if as_json:
        say_document("calibration", result)
    else:
        say(calibration_text(calibration_sheet(result)))


@command.command(epilog=example(_MEASURE))
@rig_option
@click.option(
    "--blocks",
    required=True,
    metavar="MM,MM,...",
    help="Lengths of the gauge blocks, mm.",
)
@click.option("--certificate", required=True, help="Number under which it is recorded.")
@click.option(
    "--due", required=True, metavar="DAY", help="Last day on which it is valid."
)
@click.option(
    "--block-um",
    type=float,
    required=True,
    help="Standard uncertainty of a block's length, um.",
)
@click.option("--lead-mm", type=float, help="Travel in one turn of the screw, mm.")
@_by
@_reason
@records_option
@json_option
@moves(blocks_ahead())
def measure(
    rig_name: str,
    blocks: str,
    certificate: str,
    due: str,
    block_um: float,
    lead_mm: float | None,
    author: str,
    reason: str,
    records: str | None,
    as_json: bool,
) -> None:
    """Calibrate the axis with gauge blocks on the touch probe.

    Asks for each block, touches off on it, and fits scale error and periodic error.
    """
    # Deferred: help must answer at once
    from rig.cli.block_measurement import calibrated_by, touched_blocks
    from rig.cli.text.calibration_text import calibration_text
    from rig.inquiry.block_calibration import block_advice
    from rig.sheets.calibration_sheet import calibration_sheet

    if not block_um >= 0.0:
        raise InputError("--block-um is below 0: give the size of the uncertainty")
    due_on, lengths_mm = day_of(due, "--due"), numbers_of(blocks, "--blocks")
    for sentence in block_advice(lengths_mm, lead_mm):
        say_on_stderr(sentence)
    motions = blocks_ahead(SETTINGS)
    with open_rig(rig_name) as rig, progress_on_stderr(motions) as tell:
        found = touched_blocks(rig, lengths_mm, tell)
        rig_id = rig.mover.traits.rig_id
    with open_store(records) as store:
        result = calibrated_by(
            found,
            store,
            rig_id=rig_id,
            certificate=certificate,
            due_on=due_on,
            block_um=block_um,
            lead_mm=lead_mm,
            grounds=Grounds(person=author, reason=reason),
        )
    if as_json:
        say_document("calibration", result)
    else:
        say(calibration_text(calibration_sheet(result)))


@command.command(epilog=example(_PLACES))
@rig_option
@click.option("--sensor", help="Mounted sensor; sim:// has one mounted already.")
@click.option("--target", help="Mounted target; sim:// has one mounted already.")
@click.option(
    "--places", type=int, default=8, show_default=True, help="Number of places."
)
@click.option(
    "--sweeps",
    type=int,
    default=6,
    show_default=True,
    help="Good sweeps at each place.",
)
@click.option(
    "--lead-mm",
    type=float,
    help="Travel in one turn of the screw, mm. Default: as declared.",
)
@click.option(
    "--declare",
    is_flag=True,
    help="Declare the sum of amplitude and uncertainty as the bound of the periodic"
    " error.",
)
@part_option
@click.option("--operator", default="", help="Who answers for the runs.")
@click.option("--temperature", type=float, metavar="°C", help="Ambient temperature.")
@records_option
@catalogue_option
@json_option
@moves(places_ahead(), "at every place")
def places(lead_mm: float | None, declare: bool, as_json: bool, **options: Any) -> None:
    """Check the screw with one sensor at several places.

    No instrument is needed. Asks you to clamp the sensor's holder at one place after
    another, touches off and sweeps at each, and fits the error that repeats with every
    turn of the screw. Every run is recorded.
    """
    # Deferred: help must answer at once
    from rig.api.mounting import mounted
    from rig.catalogue.catalogue import load_catalogue
    from rig.cli.text.place_check_text import place_check_text
    from rig.inquiry.operators import chosen_operator
    from rig.inquiry.place_check import (
        add_place_check,
        declare_bound,
        lead_of_screw_mm,
    )
    from rig.procedures.place_runs import (
        check_places,
        room_for_face_mm,
        sweep_at_places,
    )
    from rig.procedures.run_context import RunContext
    from rig.procedures.run_order import RunOrder
    from rig.sheets.place_check_sheet import place_check_sheet

    check_places(options["places"])
    check_temperature(options["temperature"])
    catalogue = load_catalogue(options["catalogue_path"])
    with open_store(options["records"]) as store, open_rig(options["rig_name"]) as rig:
        lead = lead_of_screw_mm(store, rig.mover.traits.rig_id, lead_mm)
        sensor, target = mounted(
            rig, catalogue, options["sensor"], options["target"], part=options["part"]
        )
        order = RunOrder(
            sensor=sensor,
            target=target,
            sweeps=options["sweeps"],
            speeds_mm_s=_SPEEDS_MM_S,
            operator=chosen_operator(store, options["operator"]),
            temperature_c=options["temperature"],
            part=options["part"],
        )
        clamp = _clamp_of(rig)
        motions = places_ahead(SETTINGS)
        with progress_on_stderr(motions, "at every place") as tell:
            runs = sweep_at_places(
                order,
                RunContext.on(rig.mover, SETTINGS, store, tell),
                clamp,
                lead_mm=lead,
                places=options["places"],
            )
        now = datetime.now(UTC)
        room_mm = room_for_face_mm(rig.mover, sensor)
        result = add_place_check(store, runs, lead_mm=lead, room_mm=room_mm, now=now)
        if declare:
            result = declare_bound(store, result, now)
    if as_json:
        say_document("place-check", result)
    else:
        say(place_check_text(place_check_sheet(result)))


def _clamp_of(rig: Rig) -> Callable[[float | None, float], None]:
    """Return what clamps the holder: a hand, or the simulation."""
    if rig.simulation is None:
        return clamp_by_hand
    simulation = rig.simulation

    def clamp(near_mm: float | None, _move_mm: float) -> None:
        if near_mm is not None:
            simulation.clamp_face(near_mm)

    return clamp


@command.command(epilog=example("gapsweep calibrate show"))
@records_option
@json_option
def show(records: str | None, as_json: bool) -> None:
    """Show the calibration in force for every rig.

    Shows its due date, whether it is still valid, and the newest check of the screw at
    several places.
    """
    from rig.cli.text.calibration_text import calibrations_text
    from rig.inquiry.axis_calibration import calibrations
    from rig.sheets.calibration_sheet import calibrations_sheet

    with open_store(records, read_only=True) as store:
        result = calibrations(store, datetime.now(UTC).date())
    if as_json:
        say_document("calibrations", result)
    else:
        say(calibrations_text(calibrations_sheet(result)))
