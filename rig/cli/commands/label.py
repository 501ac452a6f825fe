"""`gapsweep label`: labels for parts, with a QR code that a scanner reads."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from rig.cli.options import example, records_option
from rig.cli.output import say


@click.command(epilog=example("gapsweep label S-101 S-102 --out labels.html"))
@click.argument("part", metavar="NUMBER...", nargs=-1, required=True)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="HTML file to write, or - for standard output. Default: a name that says what"
    " is in it. Nothing is overwritten.",
)
@records_option
def command(part: tuple[str, ...], out: Path | None, records: str | None) -> None:
    """Write labels for parts to one HTML file, to be printed on A4 or Letter and cut.

    The code contains the number of the part and nothing else. Sensor and date of the
    newest run are printed beside it, but no verdict: the next run may change it.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.written_page import check_page, write_page
    from rig.errors import NoRecords
    from rig.inquiry.part_history import PartHistory, part_history
    from rig.report.files import file_name
    from rig.report.label_page import label_page
    from rig.sheets.label_sheet import label_sheets

    check_page(out)
    numbers = dict.fromkeys(part)
    try:
        with open_store(records, read_only=True) as store:
            found = [part_history(store, number) for number in numbers]
    except NoRecords:
        # Labels come before the first measurement
        found = [PartHistory(part=n, simulated=False, events=()) for n in numbers]
    now = datetime.now(UTC)
    page = label_page(label_sheets(found), generated_at=now)
    path = write_page(out, page, name=file_name("labels", *numbers, at=now))
    if path is not None:
        say(f"wrote {path}: {len(found)} label{'s' if len(found) != 1 else ''}")
