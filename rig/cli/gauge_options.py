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
    from rig.inquiry.gauge_record import RecordChoice
    from rig.inquiry.gauge_study import GaugeResult

Command = TypeVar("Command", bound=Callable[..., Any])
FILE = click.Path(path_type=Path, dir_okay=False)

tolerance_option = click.option(
    "--tolerance",
    type=float,
    metavar="WIDTH",
    help="Upper minus lower limit, in the unit of the readings.",
)
confidence_option = click.option(
    "--confidence",
    type=click.FloatRange(0.0, 1.0, min_open=True, max_open=True),
    default=0.95,
    show_default=True,
    help="Confidence level of every interval.",
)
hand_option = click.option(
    "--hand", "by_hand", is_flag=True, help="Readings by hand instead of runs."
)


def source_options(command: Command) -> Command:
    """Add the options that choose readings, and those of what is made of them."""
    options = (
        click.option(
            "--from",
            "path",
            type=FILE,
            metavar="FILE",
            help="Table instead of the records.",
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


def say_study(kind: str, options: Mapping[str, Any], **asked: Any) -> None:
    """Work a study out, print it, and write its report if one is asked for.

    Args:
        kind: Name of the kind of study.
        options: Options of the command line.
        asked: Other fields of the order.

    Raises:
        RigError: It cannot be worked out, or the report not be written.
    """
    from rig.cli.text.gauge_text import gauge_text
    from rig.inquiry.gauge_document import gauge_document
    from rig.inquiry.gauge_order import GaugeKind, GaugeOrder, gauge_result
    from rig.sheets.gauge_sheet import gauge_sheet

    order = GaugeOrder(
        kind=GaugeKind(kind),
        source=_source(options),
        confidence=options["confidence"],
        **asked,
    )
    if isinstance(order.source, Path):
        result = gauge_result(order, None)
    else:
        with open_store(options["records"], read_only=True) as store:
            result = gauge_result(order, store)
    if options["report"] is not None:
        _write_report(options["report"], result)
    if options["as_json"]:
        say_document(*gauge_document(result))
    else:
        say(gauge_text(gauge_sheet(result)))


def _source(options: Mapping[str, Any]) -> Path | RecordChoice | str:
    """Return where the readings are to come from.

    Raises:
        InputError: Nothing or too much is given, or a name is empty.
    """
    from rig.inquiry.gauge_record import RecordChoice

    path, study_id = options["path"], options.get("study_id")
    for name in ("sensor", "target", "parts", "appraisers", "by_hand"):
        if options.get(name) and (path or study_id):
            other = "--from" if path else "a STUDY"
            option = "hand" if name == "by_hand" else name
            raise InputError(f"--{option} does not go with {other}")
    if path and study_id:
        raise InputError("a STUDY does not go with --from")
    if path is not None:
        return Path(path)
    if study_id:
        return str(study_id)
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


def _write_report(path: Path, result: GaugeResult) -> None:
    from datetime import UTC, datetime

    from rig.cli.written_page import write_page
    from rig.report.report_kinds import ReportKind, report_of

    made = report_of(ReportKind.GAUGE, result, now=datetime.now(UTC))
    say_on_stderr(f"wrote {write_page(path, made.html, name=made.name)}")
