"""`gapsweep hand`: what people read and what theory predicts, beside the rig."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from rig.cli.asked_about import asked_about, sure_option
from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    part_option,
    records_option,
)
from rig.cli.output import say, say_document
from rig.errors import InputError
from rig.model.number_input import number

_RUN = "20261125-093412-512-7f3a"
_FILE = click.Path(path_type=Path, dir_okay=False)
_figure = click.option(
    "--figure",
    type=click.Choice(["operate", "release"]),
    default="operate",
    show_default=True,
    help="Which point was read.",
)


@click.group(epilog=example(f"gapsweep hand compare {_RUN}"))
def command() -> None:
    """Compare readings by hand and predictions with the rig's figures, for a class."""


@command.command(
    epilog=example("gapsweep hand add class.csv --sensor level-18 --target pvc")
)
@click.argument("path", metavar="FILE", type=_FILE)
@click.option("--sensor", required=True, help="Sensor that was read.")
@click.option("--target", required=True, help="Target that it was read against.")
@part_option
@_figure
@click.option(
    "--step",
    "step_mm",
    type=click.FloatRange(min=0.0, min_open=True),
    metavar="MM",
    help="Resolution of the ruler or gauge. Default: the coarsest usual one that fits"
    " all readings.",
)
@sure_option
@catalogue_option
@records_option
@json_option
def add(
    path: Path,
    sensor: str,
    target: str,
    part: str,
    figure: str,
    step_mm: float | None,
    sure: bool,
    catalogue_path: Path | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Enter readings by hand; FILE has the columns person,value_mm."""
    # Deferred: help must answer at once
    from rig.catalogue.catalogue import load_catalogue
    from rig.catalogue.table_input import read_table
    from rig.cli.open_rig import open_store
    from rig.cli.text.hand_text import entry_text
    from rig.inquiry.hand import enter_readings
    from rig.records.hand_readings import HandReading

    catalogue = load_catalogue(catalogue_path)
    catalogue.sensor(sensor)
    catalogue.target(target)
    now = datetime.now(UTC)
    readings = [
        HandReading(
            person=row.text("person"),
            sensor=sensor,
            part=part,
            target=target,
            figure=figure,
            value_mm=row.number("value_mm"),
            source=row.where,
            entered_at=now,
            step_mm=step_mm,
        )
        for row in read_table(path, required=("person", "value_mm"))
    ]
    with open_store(records) as store:
        entry = asked_about(
            lambda sure: enter_readings(
                store, readings, None if sure else catalogue.sensor
            ),
            sure=sure,
        )
    if as_json:
        say_document("hand-entry", entry)
    else:
        say(entry_text(entry))


@command.command(epilog=example("gapsweep hand sheets --sensor level-18 --part 1"))
@click.option("--sensor", required=True, help="Sensor that the class was about.")
@part_option
@click.option("--person", default="", help="One person only.")
@click.option(
    "--since",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="DATE",
    help="Leave out what was entered before this day, UTC: year-month-day.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="HTML file to write, or - for standard output. Default: a name that says what"
    " it is of. Nothing is overwritten.",
)
@records_option
def sheets(
    sensor: str,
    part: str,
    person: str,
    since: datetime | None,
    out: Path | None,
    records: str | None,
) -> None:
    """Write one HTML file with a page for each person of a class.

    Predictions and readings stand beside the rig's figures, with room for a sentence.
    """
    from rig.cli.open_rig import open_store
    from rig.cli.written_page import check_page, write_page
    from rig.inquiry.class_work import class_work
    from rig.report.class_work_page import class_work_page
    from rig.report.files import file_name

    check_page(out)
    began = None if since is None else since.replace(tzinfo=UTC)
    with open_store(records, read_only=True) as store:
        found = class_work(store, sensor=sensor, part=part, person=person, since=began)
    now = datetime.now(UTC)
    name = file_name("class-work", sensor, part, person, at=now)
    path = write_page(out, class_work_page(found, generated_at=now), name=name)
    if path is not None:
        say(f"wrote {path}: {len(found)} sheet{'s' if len(found) != 1 else ''}")


@command.command(epilog=example(f"gapsweep hand compare {_RUN}"))
@click.argument("run_id", metavar="RUN")
@_figure
@records_option
@json_option
def compare(run_id: str, figure: str, records: str | None, as_json: bool) -> None:
    """Show each person's bias and spread against a run.

    Also shows how much the mean of n readings helps.
    """
    from rig.cli.open_rig import open_store
    from rig.cli.text.hand_text import hand_text
    from rig.inquiry.hand import HandOptions, compare_hand
    from rig.records.run_names import run_named
    from rig.sheets.hand_sheet import hand_sheet

    with open_store(records, read_only=True) as store:
        named = run_named(store, run_id)
        result = compare_hand(store, HandOptions(run_id=named, figure=figure))
    if as_json:
        say_document("hand-comparison", result)
    else:
        say(hand_text(hand_sheet(result)))


@command.command(epilog=example(f"gapsweep hand predict {_RUN} --property pvc=2.8:3.4"))
@click.argument("run_ids", metavar="RUN...", nargs=-1, required=True)
@click.option(
    "--property",
    "properties",
    multiple=True,
    metavar="TARGET=LOW:HIGH",
    help="Relative permittivity, or conductivity in S/m, of a target that no table"
    " has, or instead of the table.",
)
@click.option(
    "--curve", type=_FILE, help="Use this curve instead of the built-in theory."
)
@records_option
@json_option
def predict(
    run_ids: tuple[str, ...],
    properties: tuple[str, ...],
    curve: Path | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Compare measured operate points with theory.

    Theory allows for the sensor's size, its rated distance and the thickness of the
    plate; a run outside its validity is "not comparable". A --curve is used unchanged.
    """
    from rig.cli.open_rig import open_store
    from rig.cli.text.prediction_text import prediction_text
    from rig.inquiry.prediction import predict_runs
    from rig.inquiry.theory import PredictionOptions, curve_in_file
    from rig.records.run_names import runs_named
    from rig.sheets.prediction_sheet import prediction_sheet

    options = PredictionOptions(
        properties=dict(_property(text) for text in properties),
        curve=None if curve is None else curve_in_file(curve),
    )
    with open_store(records, read_only=True) as store:
        result = predict_runs(store, runs_named(store, run_ids), options)
    if as_json:
        say_document("prediction", result)
    else:
        say(prediction_text(prediction_sheet(result)))


def _property(text: str) -> tuple[str, tuple[float, float]]:
    name, equals, span = text.partition("=")
    low, colon, high = span.partition(":")
    if not (name and equals and low):
        raise InputError(
            f"--property is {text!r}: give it as pvc=3.1 or as pvc=2.8:3.4"
        )
    where = f"--property {name}"
    return name, (number(low, where), number(high if colon else low, where))
