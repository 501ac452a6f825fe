"""`gapsweep batch`: the parts of a batch together."""

from __future__ import annotations

from typing import Any

import click

from rig.cli.batch_options import batch_options, batch_result
from rig.cli.options import catalogue_option, example, json_option, records_option


@click.command(epilog=example("gapsweep batch --sensor level-18 --target steel"))
@click.argument("run_ids", metavar="[RUN]...", nargs=-1)
@batch_options
@records_option
@catalogue_option
@json_option
def command(as_json: bool, **options: Any) -> int:
    """Summarise one figure of the parts of a batch, and judge each part.

    Parts are runs with a --part, newest of each, or the rows of a table. Outliers are
    flagged and never dropped. Each plan, lot or table named is a batch, and several are
    compared. Exits with status 1 if a part does not conform.
    """
    # Deferred: help must answer at once
    from rig.cli.output import say, say_document
    from rig.cli.text.batch_text import batch_text
    from rig.cli.text.standard_text import status_of
    from rig.inquiry.batch_document import batch_document
    from rig.sheets.batch_sheet import batch_sheet

    result = batch_result(options)
    if as_json:
        say_document("batch", batch_document(result))
    else:
        say(batch_text(batch_sheet(result)))
    return status_of(result.decisions)
