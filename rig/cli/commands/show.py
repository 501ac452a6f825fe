"""`gapsweep show`: one run with everything behind its figures, and its verdicts."""

from __future__ import annotations

import click

from rig.cli.options import example, json_option, records_option
from rig.cli.statistics_options import rule_option
from rig.errors import InputError


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
@rule_option
@records_option
@json_option
def command(
    run_id: str,
    reference_id: str | None,
    under: tuple[str, ...],
    rule_name: str,
    records: str | None,
    as_json: bool,
) -> int:
    """Show a run's figures, verdicts, budgets, sweeps and the check of its edges.

    Verdicts hold s_r, H and R against the limits of IEC 60947-5-2 or those that the
    catalogue has from the data sheet. Leaves with status 1 if one is "does not
    conform".
    """
    # Deferred: help must answer at once
    from rig.cli.showing import show_run

    return show_run(
        run_id,
        reference_id=reference_id,
        under=dict(_condition(text) for text in under),
        rule_name=rule_name,
        records=records,
        as_json=as_json,
    )


def _condition(text: str) -> tuple[str, str]:
    name, equals, run_id = text.partition("=")
    if not (name and equals and run_id):
        raise InputError(f"--under is {text!r}: give it as NAME=RUN, such as -25C=RUN")
    return name, run_id
