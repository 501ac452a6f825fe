"""Options that the studies of a gauge share: where readings come from, what is made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from rig.cli.open_rig import open_store
from rig.cli.options import json_option, records_option
from rig.cli.output import say, say_document, say_on_stderr
from rig.cli.statistics_options import figure_option, names_of
from rig.errors import InputError

if TYPE_CHECKING:
    from rig.inquiry.gauge_readings import GaugeReadings, RecordChoice
    from rig.inquiry.gauge_study import GaugeResult
    from rig.records import Store

Command = TypeVar("Command", bound=Callable[..., Any])
FILE = click.Path(path_type=Path, dir_okay=False)

tolerance_option = click.option(
    "--tolerance",
    type=float,
    metavar="WIDTH",
    help="Upper less lower limit, in the unit of the readings.",
)
confidence_option = click.option(
    "--confidence",
    type=click.FloatRange(0.0, 1.0, min_open=True, max_open=True),
    default=0.95,
    show_default=True,
    help="Confidence level of every interval.",
)
hand_option = click.option(
    "--hand", "by_hand", is_flag=True, help="People's readings in place of runs."
)


def source_options(command: Command) -> Command:
    """Add the options that choose readings, and those of what is made of them."""
    options = (
        click.option(
            "--from",
            "path",
            type=FILE,
            metavar="FILE",
            help="Table in place of the records.",
        ),
        click.option("--sensor", help="Runs of this sensor."),
        click.option("--target", help="Runs against this target."),
        click.option("--parts", metavar="NUMBER,...", help="Only these parts."),
        click.option("--appraisers", metavar="NAME,...", help="Only these operators."),
        confidence_option,
        click.option(
            "--report", type=FILE, metavar="FILE", help="Write an HTML report as well."
        ),
        records_option,
        json_option,
    )
    for option in reversed(options):
        command = option(command)
    return command


def figure_options(command: Command) -> Command:
    """Add `--figure` and `--hand`."""
    return hand_option(figure_option(command))


def chosen(options: Mapping[str, Any]) -> RecordChoice:
    """Return which readings on record the command line asks for.

    Raises:
        InputError: Sensor or target is missing, or a name is empty.
    """
    from rig.inquiry.gauge_readings import RecordChoice

    if not (options["sensor"] and options["target"]):
        raise InputError(
            "give a table with --from, or --sensor and --target for what is on record"
        )
    parts, appraisers = options["parts"], options["appraisers"]
    return RecordChoice(
        sensor=options["sensor"],
        target=options["target"],
        parts=names_of(parts, "--parts") if parts else (),
        appraisers=names_of(appraisers, "--appraisers") if appraisers else (),
        figure=options.get("figure_name", "operate"),
        by_hand=options.get("by_hand", False),
    )


def check_source(options: Mapping[str, Any]) -> None:
    """Refuse a table together with what chooses from the records.

    Raises:
        InputError: Both are given.
    """
    if options["path"] is None:
        return
    for name in ("sensor", "target", "parts", "appraisers", "study_id", "by_hand"):
        if options.get(name):
            word = "a STUDY" if name == "study_id" else f"--{name.replace('by_', '')}"
            raise InputError(f"{word} does not go with --from")


def numbers_read(
    options: Mapping[str, Any],
    columns: tuple[str, ...],
    *,
    store: Store | None = None,
) -> GaugeReadings[float]:
    """Return the readings of the table, or those on record.

    Raises:
        RigError: They cannot be read, or nothing fits.
    """
    from rig.inquiry.gauge_readings import readings_of_table, readings_on_record

    check_source(options)
    if options["path"] is not None:
        return readings_of_table(options["path"], columns)
    choice = chosen(options)
    if store is not None:
        return readings_on_record(store, choice)
    with open_store(options["records"], read_only=True) as opened:
        return readings_on_record(opened, choice)


def say_result(options: Mapping[str, Any], result: GaugeResult) -> None:
    """Print a result as text or JSON, and write its report if one is asked for.

    Raises:
        InputError: The report cannot be written.
    """
    from rig.cli.text.gauge_text import gauge_text
    from rig.inquiry.gauge_document import gauge_document
    from rig.sheets.gauge_sheet import gauge_sheet

    if options["report"] is not None:
        _write_report(options["report"], result)
    if options["as_json"]:
        say_document(*gauge_document(result))
    else:
        say(gauge_text(gauge_sheet(result)))


def _write_report(path: Path, result: GaugeResult) -> None:
    from datetime import UTC, datetime

    from rig.report.files import write_whole
    from rig.report.report_kinds import ReportKind, report_of

    write_whole(path, report_of(ReportKind.GAUGE, result, now=datetime.now(UTC)).html)
    say_on_stderr(f"wrote {path}")
