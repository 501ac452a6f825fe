"""`gapsweep availability`: how soon a sensor works after its supply comes on."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import click

from rig.cli.motions import moves
from rig.cli.open_rig import SETTINGS, open_rig, open_store
from rig.cli.options import (
    catalogue_option,
    check_temperature,
    example,
    json_option,
    part_option,
    records_option,
    rig_option,
)
from rig.cli.output import say, say_document
from rig.cli.progress import progress_on_stderr
from rig.procedures.motions_ahead import switch_on_ahead

_MEASURE = "gapsweep availability measure --rig sim:// --sensor level-18 --target steel"


@click.group(epilog=example(_MEASURE))
def command() -> None:
    """Measure the time delay before availability, and false signals at switch-on."""


@command.command(epilog=example(_MEASURE))
@rig_option
@click.option("--sensor", help="Mounted sensor; sim:// has one mounted already.")
@click.option("--target", help="Mounted target; sim:// has one mounted already.")
@click.option(
    "--times",
    type=int,
    default=10,
    show_default=True,
    help="Switchings at each of the two gaps.",
)
@click.option(
    "--off",
    "off_s",
    type=float,
    default=1.0,
    show_default=True,
    metavar="S",
    help="Time without supply before each.",
)
@part_option
@click.option("--operator", default="", help="Name of the operator responsible.")
@click.option("--temperature", type=float, metavar="°C", help="Ambient temperature.")
@records_option
@catalogue_option
@json_option
@moves(switch_on_ahead())
def measure(times: int, off_s: float, **options: Any) -> int:
    """Switch the sensor's supply off and on, and time when its output works.

    The rig must have a switch in that supply. The longest delay and the longest false
    signal are judged by the data sheet, or by IEC 60947-5-2 if it gives none. Exits
    with status 1 if either does not conform.
    """
    # Deferred: help must answer at once
    from rig.analysis.limits.verdict import Decision
    from rig.api.mounting import mounted
    from rig.catalogue.catalogue import load_catalogue
    from rig.cli.text.availability_text import availability_text
    from rig.inquiry.availability_checks import add_availability, new_check_id
    from rig.inquiry.operators import chosen_operator
    from rig.procedures.run_context import RunContext
    from rig.procedures.supply_switching import check_switching, switch_supply_on
    from rig.records.availability_book import AvailabilityEntry
    from rig.sheets.availability_sheet import availability_sheet

    check_switching(times, off_s)
    check_temperature(options["temperature"])
    catalogue = load_catalogue(options["catalogue_path"])
    with open_store(options["records"]) as store, open_rig(options["rig_name"]) as rig:
        operator = chosen_operator(store, options["operator"])
        sensor, target = mounted(
            rig, catalogue, options["sensor"], options["target"], part=options["part"]
        )
        with progress_on_stderr(switch_on_ahead(SETTINGS)) as tell:
            context = RunContext.on(rig.mover, SETTINGS, store, tell)
            bench = context.touch_off(sensor, target)
            found = switch_supply_on(bench, sensor, tell, times=times, off_s=off_s)
        warm = options["temperature"]
        traits = rig.mover.traits
        now = datetime.now(UTC)
        entry = AvailabilityEntry(
            check_id=new_check_id(now),
            rig_id=traits.rig_id,
            simulated=traits.simulated,
            sensor=sensor,
            target=target,
            part=options["part"],
            operator=operator,
            temperature_c=rig.mover.temperature_c() if warm is None else warm,
            switchings=found,
            off_s=off_s,
            entered_at=now,
        )
        result = add_availability(store, entry)
    if options["as_json"]:
        say_document("availability", result)
    else:
        say(availability_text(availability_sheet(result)))
    return int(result.decision is Decision.DOES_NOT_CONFORM)


@command.command(name="list", epilog=example("gapsweep availability list"))
@records_option
@json_option
def list_checks(records: str | None, as_json: bool) -> None:
    """List what was measured, newest first."""
    from rig.cli.text.availability_text import availabilities_text
    from rig.inquiry.availability_checks import availabilities
    from rig.sheets.availability_sheet import availability_rows

    with open_store(records, read_only=True) as store:
        result = availabilities(store)
    if as_json:
        say_document("availabilities", result)
    else:
        say(availabilities_text(availability_rows(result)))
