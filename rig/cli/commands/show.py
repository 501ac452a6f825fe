"""`gapsweep show`: one run with everything behind its figures."""

from __future__ import annotations

import click

from rig.cli.documents import emit, run_document
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say
from rig.cli.session import open_store
from rig.cli.text import budget_text, run_text, sweeps_text


@click.command(epilog=example("gapsweep show 20261125-093412-512-7f3a"))
@click.argument("run_id", metavar="RUN")
@records_option
@json_option
def command(run_id: str, records: str | None, as_json: bool) -> None:
    """Show a run's figures, budgets, sweeps and the check of its raw edges."""
    # Deferred: help must answer at once
    from rig.records import Reader

    with open_store(records, read_only=True) as store:
        reader = Reader(store)
        run = reader.run(run_id)
        figures = reader.latest_figures(run_id)
        check = reader.verify(run_id)
    if as_json:
        document = run_document(run, figures)
        document["edges_checksum"] = check.stored or None
        document["edges_intact"] = check.intact
        emit(document)
        return
    say(run_text(run, figures))
    say("")
    say(sweeps_text(run))
    if figures is not None:
        say("")
        say(budget_text(figures))
    say("")
    words = {
        True: "raw edges are as they were at the end of the run",
        False: "RAW EDGES WERE CHANGED after the end of the run",
        None: "the run never ended, so its edges have no checksum",
    }
    say(f"{words[check.intact]}; sha256 {check.computed}")
