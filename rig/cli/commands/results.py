"""`gapsweep results`: what is in the records."""

from __future__ import annotations

import click

from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document, say_on_stderr
from rig.cli.text.run_list_text import run_list_text


@click.command(epilog=example("gapsweep results --sensor level-18 --newest 20"))
@click.option("--sensor", help="Runs of this sensor only.")
@click.option("--target", help="Runs against this target only.")
@click.option(
    "--newest", type=click.IntRange(min=1), metavar="N", help="The newest N only."
)
@records_option
@json_option
def command(
    sensor: str | None,
    target: str | None,
    newest: int | None,
    records: str | None,
    as_json: bool,
) -> None:
    """List the runs on record, oldest first, with their main figures and verdicts."""
    # Deferred: help must answer at once
    from rig.inquiry.run_list import run_list
    from rig.records import RunFilter
    from rig.sheets.run_list_sheet import run_lines

    with open_store(records, read_only=True) as store:
        found = run_list(store, RunFilter(sensor=sensor, target=target, newest=newest))
        where = store.where
    if as_json:
        say_document("results", found)
        return
    say(run_list_text(run_lines(found)) if found.runs else "No runs on record.")
    say_on_stderr(f"records: {where}")
