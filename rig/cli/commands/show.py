"""`gapsweep show`: one run with everything behind its figures, and its verdicts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document
from rig.cli.statistics_options import GUARDED, rule_option
from rig.cli.text.run_text import shown_text
from rig.errors import InputError

if TYPE_CHECKING:
    from rig.inquiry.tried import Tried


@click.command(epilog=example("gapsweep show 20261125-093412-512-7f3a"))
@click.argument("run_id", metavar="RUN")
@click.option(
    "--against",
    "reference_id",
    metavar="RUN",
    help="Run of the same sensor on the standard target: gives the reduction factor.",
)
@click.option(
    "--under",
    multiple=True,
    metavar="NAME=RUN",
    help="Run of the same sensor under other conditions: gives s_u and s_a.",
)
@click.option(
    "--beside",
    "beside_id",
    metavar="RUN",
    help="Another run of the same part on the same target: compares the two, with what"
    " each is based on.",
)
@rule_option
@records_option
@json_option
def command(
    run_id: str,
    reference_id: str | None,
    under: tuple[str, ...],
    beside_id: str | None,
    rule_name: str,
    records: str | None,
    as_json: bool,
) -> int:
    """Show a run's figures, verdicts, budgets, sweeps and the check of its edges.

    Verdicts judge s_r, H and R by the limits of IEC 60947-5-2, or by those of the data
    sheet if the catalogue has them. An attempt that led to no run is shown with its
    outcome. Exits with status 1 if a verdict is "does not conform", or if the sensor
    never switched on its standard target.
    """
    if beside_id is not None:
        if reference_id is not None or under or rule_name != GUARDED:
            raise InputError("--beside does not go with --against, --under or --rule")
        return _show_beside(run_id, beside_id, records, as_json=as_json)
    # Deferred: help must answer at once
    from rig.cli.text.standard_text import status_of
    from rig.inquiry.decision_rules import decision_rule
    from rig.inquiry.recorded_run import RunOptions, recorded_run
    from rig.inquiry.run_document import run_document
    from rig.inquiry.tried import lone_attempt
    from rig.records.run_names import run_named
    from rig.sheets.run_sheet import run_sheet

    conditions = dict(_condition(text) for text in under)
    with open_store(records, read_only=True) as store:
        run_id = run_named(store, run_id)
        options = RunOptions(
            rule=decision_rule(rule_name),
            reference_id=reference_id and run_named(store, reference_id),
            under={name: run_named(store, one) for name, one in conditions.items()},
        )
        lone = lone_attempt(store, run_id)
        if lone is not None:
            return _show_attempt(lone, as_json=as_json)
        found = recorded_run(store, run_id, options)
    if as_json:
        say_document("run", run_document(found))
    else:
        say(shown_text(run_sheet(found)))
    return status_of(found.decisions)


def _show_attempt(lone: Tried, *, as_json: bool) -> int:
    from rig.cli.text.standard_text import status_of
    from rig.cli.text.tried_text import tried_text
    from rig.inquiry.tried_document import tried_document
    from rig.sheets.tried_sheet import tried_sheet

    if as_json:
        say_document("attempt", tried_document(lone))
    else:
        say(tried_text(tried_sheet(lone)))
    return status_of([lone.decision] if lone.decision else [])


def _show_beside(
    run_id: str, beside_id: str, records: str | None, *, as_json: bool
) -> int:
    """Show two runs of one part beside one another; no verdict decides the status."""
    # Deferred: help must answer at once
    from rig.cli.text.comparison_text import comparison_text
    from rig.inquiry.comparison_document import comparison_document
    from rig.inquiry.run_comparison import comparison_on_record
    from rig.records.run_names import runs_named
    from rig.sheets.comparison_sheet import comparison_sheet

    with open_store(records, read_only=True) as store:
        found = comparison_on_record(store, *runs_named(store, (run_id, beside_id)))
    if as_json:
        say_document("run-comparison", comparison_document(found))
    else:
        say(comparison_text(comparison_sheet(found)))
    return 0


def _condition(text: str) -> tuple[str, str]:
    name, equals, run_id = text.partition("=")
    if not (name and equals and run_id):
        raise InputError(f"--under is {text!r}: give it as NAME=RUN, such as -25C=RUN")
    return name, run_id
