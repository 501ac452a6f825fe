"""Rows of exported tables of what people entered: notes, studies, plans and so on.

Each function yields the rows of one table, all of them or those that belong to the
runs that are chosen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from datetime import datetime
from itertools import zip_longest

from rig.model.bench_declaration import item_values
from rig.model.bench_items import ITEM_OF_KEY
from rig.model.product import Bounds, ProductVersion
from rig.records.benches import BenchBook
from rig.records.calibrations import CalibrationBook, CalibrationEntry
from rig.records.document_book import DocumentBook
from rig.records.entries import PlanEntry
from rig.records.export_choice import ExportChoice
from rig.records.export_columns import COLUMNS, ExportTable
from rig.records.mapping import Row, json_text
from rig.records.notes import NoteBook
from rig.records.operator_book import OperatorBook
from rig.records.product_book import ProductBook
from rig.records.reader import Reader
from rig.records.studies import StudyBook, StudyEntry, StudyReading
from rig.records.trail_book import TrailBook


def note_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield the notes to runs, withdrawn ones too."""
    book = NoteBook(reader.store)
    columns = COLUMNS[ExportTable.NOTES]
    for run_id in book.noted_runs():
        for note in book.notes(run_id):
            if _admits(chosen, run_id=run_id, at=note.entered_at):
                yield {name: getattr(note, name) for name in columns}


def hand_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield readings by hand of what the chosen runs measured."""
    columns = COLUMNS[ExportTable.HAND_READINGS]
    for one in reader.hand_readings(chosen.wanted):
        yield {name: getattr(one, name) for name in columns}


def study_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each reading of a study, and for each that is still due."""
    book = StudyBook(reader.store)
    for study in book.all_studies():
        readings = book.every_reading(study.study_id)
        for row in study.rows:
            own = [one for one in readings if one.order == row.order]
            sheet = {
                "study_id": study.study_id,
                "title": study.title,
                "figure": study.figure,
                "begun_at": study.begun_at,
                "order": row.order,
                "trial": row.trial,
                "appraiser": row.appraiser,
                "part": row.part,
                "tolerance": study.tolerance,
                "seed": study.seed,
            }
            for place, one in enumerate(own or [None], start=1):
                if _study_admitted(chosen, study, row.part, one):
                    counts = bool(own) and place == len(own)
                    yield sheet | _reading_cells(study, one) | {"counts": counts}


def _study_admitted(
    chosen: ExportChoice, study: StudyEntry, part: str, one: StudyReading | None
) -> bool:
    run_id, at = ("", study.begun_at) if one is None else (one.run_id, one.entered_at)
    return _admits(chosen, run_id=run_id, part=part, at=at)


def _reading_cells(study: StudyEntry, one: StudyReading | None) -> Row:
    return {
        "value": None if one is None else one.value,
        "unit": study.unit if one is None else one.unit,
        "run_id": "" if one is None else one.run_id,
        "simulated": None if one is None else one.simulated,
        "entered_at": None if one is None else one.entered_at,
    }


def plan_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each plan, with its file."""
    for plan in _plans(reader, chosen):
        yield {
            "plan_id": plan.plan_id,
            "simulated": plan.simulated,
            "title": plan.title,
            "state": plan.state.value,
            "created_at": plan.created_at,
            "for_verdict": plan.for_verdict,
            "file": plan.toml_text,
        }


def plan_item_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each pair that a plan asks for."""
    for plan in _plans(reader, chosen):
        for item in plan.items:
            timetable = item.timetable
            yield {
                "plan_id": plan.plan_id,
                "plan_item": item.index,
                "simulated": plan.simulated,
                "sensor": item.sensor.name,
                "part": item.part,
                "target": item.target.name,
                "sweeps_wanted": item.sweeps_wanted,
                "speeds_mm_s": " ".join(str(speed) for speed in item.speeds_mm_s),
                "timetable_h": timetable.hours if timetable else None,
                "timetable_readings": timetable.readings if timetable else None,
            }


def _plans(reader: Reader, chosen: ExportChoice) -> Iterator[PlanEntry]:
    with_runs = chosen.belonging
    for plan in reader.plans():
        if with_runs is None or with_runs.admits_among(
            with_runs.plan_ids, plan.plan_id, plan.created_at
        ):
            yield plan


def product_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each version of a product specification."""
    with_runs = chosen.belonging
    for version in ProductBook(reader.store).versions():
        if with_runs is None or with_runs.admits_among(
            with_runs.products, version.name, version.entered_at
        ):
            yield _product_row(version)


def _product_row(version: ProductVersion) -> Row:
    wanted, approval = version.specification, version.approval
    sensor, target = wanted.sensor, wanted.target
    sampling = None if wanted.sampling is None else asdict(wanted.sampling)
    return {
        "product": version.name,
        "product_version": version.version,
        "principle": sensor.principle.value,
        "size_mm": sensor.size_mm,
        "rated_distance_mm": sensor.rated_distance_mm,
        "output": sensor.output.value,
        "switching_frequency_hz": sensor.switching_frequency_hz,
        "limits": json_text([asdict(limit) for limit in sensor.data_sheet_limits]),
        "target_material": target.material,
        "target_thickness_mm": target.thickness_mm,
        "target_side_mm": target.side_mm,
        "target_earthed": target.earthed,
        **_ends("temperature_c", wanted.temperature_c),
        **_ends("supply_v", wanted.supply_v),
        "sampling": "" if sampling is None else json_text(sampling),
        "entered_by": version.entered_by,
        "entered_at": version.entered_at,
        "approved_by": "" if approval is None else approval.approved_by,
        "approved_at": None if approval is None else approval.approved_at,
    }


def _ends(name: str, bounds: Bounds | None) -> Row:
    return {
        f"least_{name}": None if bounds is None else bounds.lower,
        f"largest_{name}": None if bounds is None else bounds.upper,
    }


def bench_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each item of every declaration, assumed ones with their number.

    A declaration that was put off has no rows but those that are assumed.
    """
    entries = BenchBook(reader.store).every()
    newest = {entry.rig_id: place for place, entry in enumerate(entries)}
    with_runs = chosen.belonging
    for place, entry in enumerate(entries):
        if with_runs is not None and not with_runs.admits_among(
            with_runs.rig_ids, entry.rig_id, entry.entered_at
        ):
            continue
        for key, value, source in item_values(entry.declaration):
            item = ITEM_OF_KEY[key]
            yield {
                "rig_id": entry.rig_id,
                "in_force": newest[entry.rig_id] == place,
                "author": entry.author,
                "entered_at": entry.entered_at,
                "item": key,
                "words": item.words,
                "form": item.form.value,
                "value": value,
                "unit": item.unit,
                "source": source.value,
                "screw_class": entry.declaration.screw_class,
            }


def calibration_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each place of every calibration."""
    for entry in _calibrations(reader, chosen):
        known = entry.calibration
        places = zip_longest(
            known.positions_mm,
            known.corrections_mm,
            known.standard_uncertainty_mm,
            known.corrections_down_mm,
            known.standard_uncertainty_down_mm,
        )
        for position, correction, uncertainty, down, of_down in places:
            yield {
                "calibration_id": known.calibration_id,
                "rig_id": known.rig_id,
                "certificate": known.certificate,
                "calibrated_on": known.calibrated_on.isoformat(),
                "due_on": known.due_on.isoformat(),
                "by_blocks": known.by_blocks,
                "screw_lead_mm": known.screw_lead_mm,
                "instrument_standard_uncertainty_mm": entry.instrument_uncertainty_mm,
                "position_mm": position,
                "correction_mm": correction,
                "standard_uncertainty_mm": uncertainty,
                "retreat_correction_mm": down,
                "retreat_standard_uncertainty_mm": of_down,
                "entered_at": entry.entered_at,
            }


def calibration_reading_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each reading behind a calibration, in the order taken."""
    for entry in _calibrations(reader, chosen):
        for one in entry.readings:
            yield {
                "calibration_id": entry.calibration.calibration_id,
                "rig_id": entry.calibration.rig_id,
                **asdict(one),
            }


def _calibrations(reader: Reader, chosen: ExportChoice) -> Iterator[CalibrationEntry]:
    with_runs = chosen.belonging
    for entry in CalibrationBook(reader.store).every():
        if with_runs is None or with_runs.admits_among(
            with_runs.rig_ids, entry.calibration.rig_id, entry.entered_at
        ):
            yield entry


def document_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each document that was issued under a number."""
    columns = COLUMNS[ExportTable.DOCUMENTS]
    for one in DocumentBook(reader.store).every():
        about = one.subject
        if _admits(chosen, run_id=about, part=about, lot=about, at=one.issued_at):
            yield {name: getattr(one, name) for name in columns} | {
                "kind": one.kind.value
            }


def operator_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield the operators; they belong to no run."""
    with_runs = chosen.belonging
    columns = COLUMNS[ExportTable.OPERATORS]
    for one in OperatorBook(reader.store).every():
        if with_runs is None or with_runs.admits_among((), one.name, one.entered_at):
            yield {name: getattr(one, name) for name in columns}


def trail_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield who changed what, when and why, in order."""
    with_runs = chosen.belonging
    columns = COLUMNS[ExportTable.TRAIL]
    for one in TrailBook(reader.store).entries():
        if with_runs is not None and not with_runs.admits_among(
            with_runs.subjects, one.subject, one.at
        ):
            continue
        yield {name: getattr(one, name) for name in columns} | {
            name: "" if state is None else json_text(state)
            for name, state in (("before", one.before), ("after", one.after))
        }


def _admits(
    chosen: ExportChoice,
    *,
    at: datetime,
    run_id: str = "",
    part: str = "",
    lot: str = "",
) -> bool:
    with_runs = chosen.belonging
    return with_runs is None or with_runs.admits(at, run_id=run_id, part=part, lot=lot)
