"""What `gapsweep hand` does: people's readings and predictions beside the rig's."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from rig.analysis.classroom.hand_comparison import (
    Growth,
    HandComparison,
    compare_by_hand,
    growth_of_knowledge,
)
from rig.analysis.classroom.prediction import (
    Agreement,
    MeasuredMaterial,
    Prediction,
    compare_with_prediction,
    read_prediction,
    shipped_prediction,
)
from rig.analysis.edges.run_arrays import run_arrays
from rig.analysis.run.quantities import run_quantities
from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.csv_input import read_csv
from rig.cli.documents import emit, figure_document
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.text.table import SIMULATED, table
from rig.errors import InputError
from rig.model.figure_kinds import figure_of
from rig.model.figures import Figure, RunFigures
from rig.model.plain import plain
from rig.model.rounding import format_figure
from rig.model.sweeps import Run
from rig.records import Reader
from rig.records.hand_readings import HandBook, HandReading


def add_readings(
    path: Path,
    *,
    sensor: str,
    target: str,
    part: str,
    figure: str,
    catalogue_path: Path | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Put the readings of a table on record.

    Raises:
        RigError: A name or a cell is not right, or they cannot be kept.
    """
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
        )
        for row in read_csv(path, required=("person", "value_mm"))
    ]
    with open_store(records) as store:
        HandBook(store).add(readings)
    people = list(dict.fromkeys(one.person for one in readings))
    if as_json:
        emit({"entered": len(readings), "people": people})
    else:
        say(f"{len(readings)} readings of {len(people)} people entered")


def compare(run_id: str, *, figure: str, records: str | None, as_json: bool) -> None:
    """Put the readings by hand on record beside a run.

    Raises:
        RigError: There are none, or the run has no figures.
    """
    with open_store(records, read_only=True) as store:
        reader = Reader(store)
        run, figures = _with_figures(reader, run_id)
        header = run.header
        readings = HandBook(store).readings(
            sensor=header.sensor.name,
            target=header.target.name,
            part=header.part,
            figure=figure,
        )
    people = _by_person(readings, run)
    rig = figure_of(figures, figure)
    comparison = compare_by_hand(people, rig)
    growth = {name: growth_of_knowledge(values) for name, values in people.items()}
    if figure == "operate" and rig.n > 1:
        growth["rig"] = growth_of_knowledge(_at_rest(run))
    simulated = header.conditions.simulated
    if as_json:
        document = _comparison_document(rig, comparison, growth)
        head = {"simulated": simulated, "run_id": run_id, "figure": figure}
        emit(head | document | {"warnings": list(figures.warnings)})
        return
    if simulated:
        say(SIMULATED)
    say(_comparison_text(figure, rig, comparison, growth))
    for sentence in figures.warnings:
        say(f"Note: {sentence}")


def _by_person(readings: Sequence[HandReading], run: Run) -> dict[str, list[float]]:
    header = run.header
    if not readings:
        raise InputError(
            f"nobody's reading of {header.sensor.name} {header.part} against"
            f" {header.target.name} is on record",
            hint="`gapsweep hand add` enters them; --part must be the same too",
        )
    people: dict[str, list[float]] = {}
    for one in readings:
        people.setdefault(one.person, []).append(one.value_mm)
    return people


def _comparison_document(
    rig: Figure, comparison: HandComparison, growth: dict[str, Growth]
) -> dict[str, Any]:
    return {
        "rig": figure_document(rig),
        "people": [
            plain(one) | {"bias": figure_document(one.bias)}
            for one in comparison.people
        ],
        "between_people": plain(comparison.between_people),
        "growth_of_knowledge": plain(growth),
    }


def _with_figures(reader: Reader, run_id: str) -> tuple[Run, RunFigures]:
    run, figures = reader.run(run_id), reader.latest_figures(run_id)
    if figures is None:
        raise InputError(
            f"run {run_id} has no figures",
            hint=f"`gapsweep recompute {run_id}` works them out",
        )
    return run, figures


def _at_rest(run: Run) -> list[float]:
    arrays = run_arrays(run)
    found = run_quantities(
        arrays.operate_steps, arrays.release_steps, arrays.speed_mm_s, arrays.knowns
    )
    return [float(value) for value in found.operate_at_rest]


def _comparison_text(
    figure: str, rig: Figure, comparison: HandComparison, growth: dict[str, Growth]
) -> str:
    rows = [
        [
            one.person,
            str(one.n),
            f"{one.mean_mm:.4f}",
            f"{one.sd_mm:.4f}",
            f"{one.bias.value:+.4f} ± {one.bias.expanded_uncertainty or 0.0:.2g}",
        ]
        for one in comparison.people
    ]
    head = ["person", "n", "mean mm", "standard deviation mm", "bias mm"]
    lines = [f"{figure}, the rig: {format_figure(rig)}", table(head, rows)]
    lines += [f"{one.sentence}." for one in comparison.people]
    between = comparison.between_people
    if between is not None:
        lines.append(
            f"between people: F = {between.f:.3g}, p = {between.p:.3g}, standard"
            f" deviation {between.sd_between:.3g} mm"
        )
    lines.append("growth of knowledge, half width of the 95 % interval in mm:")
    for name, one in growth.items():
        widths = ", ".join(
            f"n {n:.0f}: {half:.2g}"
            for n, half in zip(one.n, one.half_width, strict=True)
        )
        lines.append(f"  {name}: {widths}")
    return "\n".join(lines)


def predict(
    run_ids: Sequence[str],
    properties: dict[str, tuple[float, float]],
    curve_path: Path | None,
    *,
    records: str | None,
    as_json: bool,
) -> None:
    """Put measured distances beside predicted ones.

    Raises:
        RigError: A target has no property, or the runs do not go together.
    """
    with open_store(records, read_only=True) as store:
        reader = Reader(store)
        runs = [_with_figures(reader, run_id) for run_id in run_ids]
    kinds = {run.header.sensor.principle for run, _ in runs}
    if len(kinds) > 1:
        raise InputError("the runs are of two principles: predict each by itself")
    (principle,) = kinds
    if curve_path is None:
        curve = shipped_prediction(principle)
    else:
        curve = read_prediction(_text_of(curve_path), str(curve_path))
    measured = [_material(run, figures, properties, curve) for run, figures in runs]
    agreement = compare_with_prediction(curve, measured)
    simulated = any(run.header.conditions.simulated for run, _ in runs)
    if as_json:
        emit({"simulated": simulated, "curve": plain(curve), **plain(agreement)})
        return
    if simulated:
        say(SIMULATED)
    say(_agreement_text(curve, agreement))


def _text_of(path: Path) -> str:
    try:
        return path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as exc:
        raise InputError(f"{path} cannot be read as a text file: {exc}") from exc


def _material(
    run: Run,
    figures: RunFigures,
    properties: dict[str, tuple[float, float]],
    curve: Prediction,
) -> MeasuredMaterial:
    target = run.header.target.name
    if target not in properties:
        raise InputError(
            f"the {curve.of.value.replace('_', ' ')} of {target} is not known",
            hint=f"give it with --property {target}=LOW:HIGH",
        )
    low, high = properties[target]
    return MeasuredMaterial(
        material=target,
        property_low=low,
        property_high=high,
        operate=figures.operate,
    )


def _agreement_text(curve: Prediction, agreement: Agreement) -> str:
    rows = []
    for one in agreement.deviations:
        low, high = one.predicted_range_mm
        score = "-" if one.normalised is None else f"{one.normalised:+.2f}"
        rows.append(
            [
                one.material,
                f"{one.predicted_mm:.3f}",
                f"{low:.3f} to {high:.3f}",
                f"{one.measured_mm:.4f}",
                f"{one.deviation_mm:+.4f}",
                score,
                {True: "agrees", False: "does not agree", None: ""}[one.agrees],
            ]
        )
    head = ["target", "predicted mm", "range mm", "measured mm", "deviation mm", "E_n"]
    lines = [*(f"# {note}" for note in curve.notes), table([*head, ""], rows)]
    if agreement.rank_correlation is not None:
        lines.append(f"rank correlation {agreement.rank_correlation:.3f}")
    return "\n".join(lines)
