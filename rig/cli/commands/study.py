"""`gapsweep study`: how much of the spread is the measurement's own."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rig.cli.asked_about import asked_about, sure_option
from rig.cli.decimal_option import decimal_option
from rig.cli.gauge_commands import GAUGE_COMMANDS
from rig.cli.gauge_options import confidence_option, tolerance_option
from rig.cli.motions import moves
from rig.cli.open_rig import open_store
from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    records_option,
    rig_option,
)
from rig.cli.output import say, say_document, say_on_stderr
from rig.cli.statistics_options import figure_option, measuring_options, names_of
from rig.errors import InputError, RigError
from rig.procedures.motions_ahead import touch_off_and_run_ahead

if TYPE_CHECKING:
    from rig.inquiry.study import StudyProgress
    from rig.model.figures import RunFigures
    from rig.model.number_input import DecimalMark
    from rig.model.sweeps import Run
    from rig.records.studies import StudyRow

_FILE = click.Path(path_type=Path, dir_okay=False)


@click.group(
    epilog=example("gapsweep study layout --parts 1,2,3 --appraisers A,B --trials 2")
)
def command() -> None:
    """Study the measurement system.

    Lay out a study of parts, appraisers and trials, fill it and calculate its results,
    or analyse readings that you already have.
    """


for _verb in GAUGE_COMMANDS:
    command.add_command(_verb)


@command.command(
    epilog=example("gapsweep study layout --parts 1,2,3 --appraisers A,B --trials 2")
)
@click.option("--parts", required=True, metavar="NUMBER,...", help="Parts, at least 2.")
@click.option(
    "--appraisers", required=True, metavar="NAME,...", help="Persons or set-ups."
)
@click.option(
    "--trials",
    type=int,
    default=3,
    show_default=True,
    help="How often each appraiser measures each part.",
)
@click.option(
    "--title",
    default="Measurement-system study",
    show_default=True,
    help="Study title.",
)
@figure_option
@tolerance_option
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="Seed of the random order.",
)
@click.option(
    "--out",
    type=_FILE,
    default=Path("study.csv"),
    show_default=True,
    help="Sheet to write; never overwritten.",
)
@decimal_option
@records_option
@json_option
def layout(
    parts: str,
    appraisers: str,
    figure_name: str,
    decimal: DecimalMark,
    out: Path,
    records: str | None,
    as_json: bool,
    **how: Any,
) -> None:
    """Lay out a study.

    Its rows are recorded, and written to a sheet, in random order.
    """
    # Deferred: help must answer at once
    from rig.inquiry.study import StudyOrder, begin_study
    from rig.inquiry.study_document import study_layout
    from rig.inquiry.study_table import study_table
    from rig.model.new_file import refuse_existing
    from rig.report.files import write_new

    refuse_existing(out)  # before the study is on record without its sheet
    order = StudyOrder(
        parts=names_of(parts, "--parts"),
        appraisers=names_of(appraisers, "--appraisers"),
        figure=figure_name,
        **how,
    )
    with open_store(records) as store:
        study = begin_study(store, order, datetime.now(UTC))
    write_new(out, study_table(study, decimal))
    if as_json:
        say_document("study-layout", study_layout(study, str(out)))
        return
    say(f"study {study.study_id}: {len(study.rows)} readings, sheet in {out}")
    say(f"fill it:     gapsweep study fill {study.study_id} {out}")
    say(f"or measure:  gapsweep study measure {study.study_id} --rig PORT")


@command.command(
    epilog=example("gapsweep study fill 20261125-093412-512-7f3a study.csv")
)
@click.argument("study_id", metavar="STUDY")
@click.argument("path", metavar="FILE", type=_FILE)
@sure_option
@records_option
@json_option
def fill(
    study_id: str, path: Path, sure: bool, records: str | None, as_json: bool
) -> None:
    """Enter the readings of a sheet that was filled in by hand.

    Delete rows without a reading from the file; do not leave them empty.
    """
    from rig.inquiry.study import fill_study

    with open_store(records) as store:
        now = datetime.now(UTC)
        progress = asked_about(
            lambda sure: fill_study(store, study_id, path, now, sure=sure), sure=sure
        )
    _say_progress(progress, as_json=as_json)


@command.command(
    epilog=example("gapsweep study measure 20261125-093412-512-7f3a --rig sim://")
)
@click.argument("study_id", metavar="STUDY")
@rig_option
@measuring_options
@click.option(
    "--rows",
    type=click.IntRange(1),
    metavar="N",
    help="Measure at most N due rows (default: all).",
)
@records_option
@catalogue_option
@json_option
@moves(touch_off_and_run_ahead(), "for every row")
def measure(
    study_id: str, rows: int | None, records: str | None, as_json: bool, **how: Any
) -> None:
    """Measure the rows that are due on the rig.

    Each part is mounted again for each row. A part that gives no figures is recorded
    with its outcome and stays due; the next row follows.
    """
    from rig.cli.part_measurement import Measurement, measure_part
    from rig.procedures.study_rows import measure_rows

    reminded: set[str] = set()
    with open_store(records) as store:

        def measure_row(row: StudyRow, note: str) -> tuple[Run, RunFigures]:
            say_on_stderr(f"part {row.part}, {note}")
            wanted = Measurement(operator=row.appraiser, **how)
            return measure_part(wanted, store, row.part, note, reminded=reminded)

        def tell(row: StudyRow, why: RigError) -> None:
            say_on_stderr(f"Row {row.order}, part {row.part}: {why}.\n  {why.hint}")

        progress = measure_rows(store, study_id, rows, measure_row, tell)
    _say_progress(progress, as_json=as_json)


def _say_progress(progress: StudyProgress, *, as_json: bool) -> None:
    if as_json:
        say_document("study-filled", progress)
        return
    say(
        f"study {progress.study_id}: {progress.filled} readings entered,"
        f" {progress.left} to go"
    )
    if progress.without:
        # Deferred: help must answer at once
        from rig.inquiry.study_without import words_of_rows

        say(f"without figures: {words_of_rows(progress.without)}")


@command.command(epilog=example("gapsweep study results --from study.csv"))
@click.argument("study_id", metavar="[STUDY]", required=False)
@click.option(
    "--from",
    "path",
    type=_FILE,
    metavar="FILE",
    help="Filled-in sheet instead of a study on record.",
)
@confidence_option
@tolerance_option
@records_option
@json_option
def results(
    study_id: str | None,
    path: Path | None,
    confidence: float,
    tolerance: float | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Calculate repeatability and reproducibility.

    Also shows their shares of the total spread and the number of distinct categories.
    """
    from rig.cli.text.study_text import study_text
    from rig.inquiry.study import study_of_table, study_on_record
    from rig.inquiry.study_document import study_document
    from rig.sheets.study_sheet import study_sheet

    if (study_id is None) is (path is None):
        raise InputError("give a STUDY on record or a filled sheet with --from")
    if path is not None:
        result = study_of_table(path, confidence=confidence, tolerance=tolerance)
    else:
        with open_store(records, read_only=True) as store:
            result = study_on_record(
                store, str(study_id), confidence=confidence, tolerance=tolerance
            )
    if as_json:
        say_document("study", study_document(result))
    else:
        say(study_text(study_sheet(result)))
