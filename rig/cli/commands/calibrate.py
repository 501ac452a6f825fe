"""`gapsweep calibrate`: the calibration of the axis, from readings by hand."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from rig.cli.open_rig import (
    SETTINGS,
    open_rig,
    open_store,
    put_by_hand,
    rig_identity,
)
from rig.cli.options import example, json_option, records_option, rig_option
from rig.cli.output import say, say_document, say_on_stderr
from rig.cli.progress import progress_on_stderr
from rig.cli.statistics_options import day_of, numbers_of
from rig.errors import InputError

_EXAMPLE = (
    "gapsweep calibrate add axis.csv --rig-id bench-2 --certificate AX-7"
    " --made 2026-11-20 --due 2027-11-20 --instrument-um 0.6"
)
_MEASURE = (
    "gapsweep calibrate measure --rig sim://?seed=1 --blocks 1.0,1.3,1.6,2.5,5,8.7"
    " --block-um 0.2 --certificate GB-3 --due 2027-11-20"
)


@click.group(epilog=example("gapsweep calibrate show"))
def command() -> None:
    """Keep the calibration of the axis with its due date; runs take it from there."""


@command.command(epilog=example(_EXAMPLE))
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--rig", "rig_name", metavar="PORT", help="Ask this rig who it is.")
@click.option("--rig-id", help="Identity of the rig, as `gapsweep rigs` shows it.")
@click.option("--certificate", required=True, help="What it is recorded under.")
@click.option("--made", required=True, metavar="DAY", help="Day of the readings.")
@click.option("--due", required=True, metavar="DAY", help="Last day that it holds.")
@click.option(
    "--instrument-um",
    type=float,
    required=True,
    help="Standard uncertainty of the indicator or the gauge blocks, um.",
)
@click.option("--lead-mm", type=float, help="Travel in one turn of the screw, mm.")
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
    records: str | None,
    as_json: bool,
) -> None:
    """Put a calibration by ISO 230-2 on record.

    FILE has the columns target_mm,direction and deviation_mm or reading_mm: places in
    mm from home, up for approach and down for retreat.
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
@click.option("--certificate", required=True, help="What it is recorded under.")
@click.option("--due", required=True, metavar="DAY", help="Last day that it holds.")
@click.option(
    "--block-um",
    type=float,
    required=True,
    help="Standard uncertainty of a block's length, um.",
)
@click.option("--lead-mm", type=float, help="Travel in one turn of the screw, mm.")
@records_option
@json_option
def measure(
    rig_name: str,
    blocks: str,
    certificate: str,
    due: str,
    block_um: float,
    lead_mm: float | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Calibrate the axis with gauge blocks on the touch probe.

    Asks for each block, touches off on it, and fits scale and periodic error.
    """
    # Deferred: help must answer at once
    from rig.cli.text.calibration_text import calibration_text
    from rig.inquiry.axis_calibration import CalibrationOrder
    from rig.inquiry.block_calibration import add_block_calibration, block_advice
    from rig.procedures.block_touches import touch_blocks
    from rig.sheets.calibration_sheet import calibration_sheet

    if not block_um >= 0.0:
        raise InputError("--block-um is below 0: give the size of the uncertainty")
    due_on, lengths_mm = day_of(due, "--due"), numbers_of(blocks, "--blocks")
    for sentence in block_advice(lengths_mm, lead_mm):
        say_on_stderr(sentence)
    with open_rig(rig_name) as rig:
        put = put_by_hand if rig.simulation is None else rig.simulation.put_block
        with progress_on_stderr() as tell:
            found = touch_blocks(
                rig.mover,
                SETTINGS,
                lengths_mm,
                put,
                tell,
                now=lambda: datetime.now(UTC),
            )
        order = CalibrationOrder(
            rig_id=rig.mover.traits.rig_id,
            certificate=certificate,
            calibrated_on=datetime.now(UTC).date(),
            due_on=due_on,
            instrument_uncertainty_mm=block_um / 1000.0,
            screw_lead_mm=lead_mm,
        )
    with open_store(records) as store:
        result = add_block_calibration(
            store,
            order,
            found.bench.axis,
            found.bench.datum,
            found.lengths_mm,
            found.contacts,
            closing_mm=found.closing_mm,
            now=datetime.now(UTC),
        )
    if as_json:
        say_document("calibration", result)
    else:
        say(calibration_text(calibration_sheet(result)))


@command.command(epilog=example("gapsweep calibrate show"))
@records_option
@json_option
def show(records: str | None, as_json: bool) -> None:
    """Show the calibration in force for every rig.

    With its due date, and whether it still holds.
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
