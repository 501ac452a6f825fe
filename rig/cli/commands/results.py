"""`gapsweep results`: what is in the records."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, quiet_option, records_option
from rig.cli.output import say, say_aside, say_document, say_on_stderr
from rig.cli.text.run_list_text import run_list_text

if TYPE_CHECKING:
    from rig.records import RunFilter


@click.command(epilog=example("gapsweep results --sensor level-18 --newest 20"))
@click.option("--sensor", help="Runs of this sensor only.")
@click.option("--target", help="Runs against this target only.")
@click.option(
    "--newest", type=click.IntRange(min=1), metavar="N", help="Only the newest N."
)
@click.option(
    "--detects",
    is_flag=True,
    help="Show which sensor detects which target as a table, instead of the list.",
)
@click.option(
    "--plans", is_flag=True, help="List the plans with their names instead of the runs."
)
@records_option
@quiet_option
@json_option
def command(
    sensor: str | None,
    target: str | None,
    newest: int | None,
    detects: bool,
    plans: bool,
    records: str | None,
    as_json: bool,
) -> None:
    """List the runs on record, oldest first, with their main figures and verdicts."""
    # Deferred: help must answer at once
    from rig.inquiry.names_on_record import nearest_on_record
    from rig.inquiry.run_list import MOST_LOOKED_AT, run_list, run_rows
    from rig.records import Reader, RunFilter
    from rig.sheets.hand_in_words import known_to_wait
    from rig.sheets.run_list_sheet import run_lines

    wanted = RunFilter(sensor=sensor, target=target, newest=newest)
    if plans:
        _say_plans(records, as_json=as_json)
        return
    if detects:
        _say_detection(wanted, records, as_json=as_json)
        return
    with open_store(records, read_only=True) as store:
        where = store.where
        if as_json:
            say_document("results", run_list(store, wanted))
            return
        lines = run_lines(run_rows(store, wanted))
        offer = "" if lines else nearest_on_record(Reader(store), wanted)
        handed_in = "" if store.on_server else known_to_wait(store)
    say(run_list_text(lines) if lines else f"No runs on record.{offer}")
    if len(lines) > MOST_LOOKED_AT:
        say_on_stderr(
            f"More than {MOST_LOOKED_AT:,} runs: `gapsweep verify` says whether they"
            " are as they were written."
        )
    say_aside(f"records: {where}")
    if handed_in:
        say_aside(handed_in)


def _say_plans(records: str | None, *, as_json: bool) -> None:
    from rig.cli.text.plan_list_text import plan_list_text
    from rig.inquiry.plan_list import plan_list

    with open_store(records, read_only=True) as store:
        found = plan_list(store)
    if as_json:
        say_document("plans", found)
    else:
        say(plan_list_text(found))


def _say_detection(wanted: RunFilter, records: str | None, *, as_json: bool) -> None:
    from rig.cli.text.detection_text import detection_text
    from rig.inquiry.detection import detection_on_record
    from rig.sheets.detection_sheet import detection_sheet

    with open_store(records, read_only=True) as store:
        found = detection_on_record(store, wanted)
    if as_json:
        say_document("detection", found)
    elif found.cells:
        say(detection_text(detection_sheet(found)))
    else:
        say("No runs on record.")
