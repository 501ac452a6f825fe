"""The exported tables: their columns, and the rows that a run gives. Pure.

Every table of runs has the run's identity and whether it was simulated. Positions are
steps from home and times the controller's, as latched; the figures are what the
analysis made of them. Readings by hand belong to no run and have a table of their own;
so have attempts, of which not each came to a run, and lots (`lot_rows`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from enum import StrEnum

from rig.model.attempts import Attempt, Outcome
from rig.model.figure_forms import FIGURE_NAMES
from rig.model.figure_kinds import KIND_OF_FIELD, applicable
from rig.model.sweeps import Conditions, Run, Sweep
from rig.records.entries import Computation
from rig.records.hand_readings import HandReading
from rig.records.mapping import Row, json_text
from rig.records.place_checks import PlaceCheckEntry, PlaceReading


class Kind(StrEnum):
    """What a column holds."""

    TEXT = "text"
    INTEGER = "integer"
    NUMBER = "number"
    TRUTH = "truth"
    TIME = "time"


class ExportTable(StrEnum):
    """A table that can be exported."""

    RUNS = "runs"
    SWEEPS = "sweeps"
    EDGES = "edges"
    FIGURES = "figures"
    ATTEMPTS = "attempts"
    PLACES = "places"
    HAND_READINGS = "hand_readings"
    LOTS = "lots"
    LOT_RESULTS = "lot_results"


Points = Sequence[tuple[float | None, float | None]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A run and its latest figures.

    Attributes:
        run: Run with all its sweeps.
        computation: The latest; None if no figures were computed.
        points_mm: Operate and release gap of each sweep, None where there is none;
            empty where the table does not need them.
        place: The check of the screw that the run belongs to, with what it gave; None
            without one, or where the table does not need it.
    """

    run: Run
    computation: Computation | None
    points_mm: Points = ()
    place: tuple[PlaceCheckEntry, PlaceReading] | None = None


_IDENTITY = {"run_id": Kind.TEXT, "simulated": Kind.TRUTH, "part": Kind.TEXT}

COLUMNS: dict[ExportTable, dict[str, Kind]] = {
    ExportTable.RUNS: _IDENTITY
    | {
        "started_at": Kind.TIME,
        "ended_at": Kind.TIME,
        "void": Kind.TEXT,
        "sensor": Kind.TEXT,
        "sensor_principle": Kind.TEXT,
        "sensor_size_mm": Kind.NUMBER,
        "sensor_rated_distance_mm": Kind.NUMBER,
        "sensor_output": Kind.TEXT,
        "sensor_switching_frequency_hz": Kind.NUMBER,
        "sensor_data_sheet_limits": Kind.TEXT,
        "product": Kind.TEXT,
        "product_version": Kind.INTEGER,
        "target": Kind.TEXT,
        "target_material": Kind.TEXT,
        "target_thickness_mm": Kind.NUMBER,
        "target_side_mm": Kind.NUMBER,
        "target_earthed": Kind.TRUTH,
        "target_wall_material": Kind.TEXT,
        "target_wall_mm": Kind.NUMBER,
        "sweeps_wanted": Kind.INTEGER,
        "sweeps_good": Kind.INTEGER,
        "sweeps_void": Kind.INTEGER,
        "speeds_mm_s": Kind.TEXT,
        "timetable_h": Kind.NUMBER,
        "timetable_readings": Kind.INTEGER,
        "until_mm": Kind.NUMBER,
        "label": Kind.TEXT,
        "calibration": Kind.TEXT,
        "calibration_due_on": Kind.TEXT,
        "plan_id": Kind.TEXT,
        "plan_item": Kind.INTEGER,
        "rig_id": Kind.TEXT,
        "firmware_version": Kind.TEXT,
        "protocol_version": Kind.TEXT,
        "boot_number": Kind.INTEGER,
        "steps_per_mm": Kind.NUMBER,
        "axis_standard_uncertainty_mm": Kind.NUMBER,
        "datum_position_steps": Kind.NUMBER,
        "datum_standard_uncertainty_mm": Kind.NUMBER,
        "datum_degrees_of_freedom": Kind.NUMBER,
        "datum_n": Kind.INTEGER,
        "datum_probe_uncertainty_mm": Kind.NUMBER,
        "datum_late_mm": Kind.NUMBER,
        "datum_late_uncertainty_mm": Kind.NUMBER,
        "datum_found_at": Kind.TIME,
        "backlash_mm": Kind.NUMBER,
        "backlash_standard_uncertainty_mm": Kind.NUMBER,
        "backlash_degrees_of_freedom": Kind.NUMBER,
        "backlash_n": Kind.INTEGER,
        "backlash_source": Kind.TEXT,
        "home_shift_steps": Kind.INTEGER,
        "home_repeatability_mm": Kind.NUMBER,
        "datum_checks": Kind.TEXT,
        "temperature_c": Kind.NUMBER,
        "operator": Kind.TEXT,
        "note": Kind.TEXT,
        "software_version": Kind.TEXT,
    },
    ExportTable.SWEEPS: _IDENTITY
    | {
        "sweep_index": Kind.INTEGER,
        "speed_mm_s": Kind.NUMBER,
        "operate_gap_mm": Kind.NUMBER,
        "release_gap_mm": Kind.NUMBER,
        "conditions_index": Kind.INTEGER,
        "operate_position_steps": Kind.INTEGER,
        "operate_time_us": Kind.INTEGER,
        "release_position_steps": Kind.INTEGER,
        "release_time_us": Kind.INTEGER,
        "edges": Kind.INTEGER,
        "void": Kind.TEXT,
        "ended_at": Kind.TIME,
    },
    ExportTable.EDGES: _IDENTITY
    | {
        "sweep_index": Kind.INTEGER,
        "edge_index": Kind.INTEGER,
        "number": Kind.INTEGER,
        "level": Kind.TRUTH,
        "position_steps": Kind.INTEGER,
        "time_us": Kind.INTEGER,
        "approaching": Kind.TRUTH,
    },
    ExportTable.FIGURES: _IDENTITY
    | {
        "sensor": Kind.TEXT,
        "target": Kind.TEXT,
        "figure": Kind.TEXT,
        "name": Kind.TEXT,
        "value": Kind.NUMBER,
        "expanded_uncertainty": Kind.NUMBER,
        "unit": Kind.TEXT,
        "coverage_factor": Kind.NUMBER,
        "effective_degrees_of_freedom": Kind.NUMBER,
        "standard_deviation": Kind.NUMBER,
        "n": Kind.INTEGER,
        "why_none": Kind.TEXT,
        "pooled_runs": Kind.INTEGER,
        "run_void": Kind.TEXT,
        "warnings": Kind.TEXT,
        "budget": Kind.TEXT,
        "analysis_version": Kind.TEXT,
        "software_version": Kind.TEXT,
        "computed_at": Kind.TIME,
    },
    ExportTable.ATTEMPTS: _IDENTITY
    | {
        "attempt_index": Kind.INTEGER,
        "sensor": Kind.TEXT,
        "target": Kind.TEXT,
        "sweeps_wanted": Kind.INTEGER,
        "plan_id": Kind.TEXT,
        "plan_item": Kind.INTEGER,
        "rig_id": Kind.TEXT,
        "operator": Kind.TEXT,
        "note": Kind.TEXT,
        "started_at": Kind.TIME,
        "ended_at": Kind.TIME,
        "outcome": Kind.TEXT,
        "sentence": Kind.TEXT,
        "causes": Kind.TEXT,
    },
    ExportTable.PLACES: _IDENTITY
    | {
        "check_id": Kind.TEXT,
        "rig_id": Kind.TEXT,
        "sensor": Kind.TEXT,
        "target": Kind.TEXT,
        "lead_mm": Kind.NUMBER,
        "time_s": Kind.NUMBER,
        "closing_mm": Kind.NUMBER,
        "opening_mm": Kind.NUMBER,
        "operate_mm": Kind.NUMBER,
        "release_mm": Kind.NUMBER,
        "operate_variance_mm2": Kind.NUMBER,
        "covariance_mm2": Kind.NUMBER,
        "release_variance_mm2": Kind.NUMBER,
        "operate_correction_mm": Kind.NUMBER,
        "release_correction_mm": Kind.NUMBER,
        "entered_at": Kind.TIME,
    },
    ExportTable.HAND_READINGS: {
        "person": Kind.TEXT,
        "sensor": Kind.TEXT,
        "part": Kind.TEXT,
        "target": Kind.TEXT,
        "figure": Kind.TEXT,
        "value_mm": Kind.NUMBER,
        "step_mm": Kind.NUMBER,
        "label": Kind.TEXT,
        "source": Kind.TEXT,
        "entered_at": Kind.TIME,
    },
    ExportTable.LOTS: {
        "lot_id": Kind.TEXT,
        "simulated": Kind.TRUTH,
        "product": Kind.TEXT,
        "supplier": Kind.TEXT,
        "size": Kind.INTEGER,
        "resubmitted": Kind.TRUTH,
        "operator": Kind.TEXT,
        "begun_at": Kind.TIME,
        "terms": Kind.TEXT,
        "results": Kind.INTEGER,
        "state": Kind.TEXT,
        "sentence": Kind.TEXT,
        "decided_by": Kind.TEXT,
        "decided_at": Kind.TIME,
        "withdrawn_by": Kind.TEXT,
        "withdrawn_why": Kind.TEXT,
        "withdrawn_at": Kind.TIME,
    },
    ExportTable.LOT_RESULTS: {
        "lot_id": Kind.TEXT,
        "product": Kind.TEXT,
        "supplier": Kind.TEXT,
        "part": Kind.TEXT,
        "counts": Kind.TRUTH,
        "decision": Kind.TEXT,
        "reason": Kind.TEXT,
        "value": Kind.NUMBER,
        "expanded_uncertainty": Kind.NUMBER,
        "unit": Kind.TEXT,
        "run_id": Kind.TEXT,
        "simulated": Kind.TRUTH,
        "entered_at": Kind.TIME,
        "inspected_by": Kind.TEXT,
        "authority": Kind.TEXT,
        "why_again": Kind.TEXT,
    },
}


def attempt_row(attempt: Attempt) -> Row:
    """Return the row of an attempt; one that has no end reads "interrupted"."""
    end = attempt.end
    return {
        "run_id": attempt.run_id,
        "simulated": attempt.simulated,
        "part": attempt.part,
        "attempt_index": attempt.index,
        "sensor": attempt.sensor.name,
        "target": attempt.target.name,
        "sweeps_wanted": attempt.sweeps_wanted,
        "plan_id": attempt.plan_id,
        "plan_item": attempt.plan_item,
        "rig_id": attempt.rig_id,
        "operator": attempt.operator,
        "note": attempt.note,
        "started_at": attempt.started_at,
        "ended_at": None if end is None else end.ended_at,
        "outcome": (Outcome.INTERRUPTED if end is None else end.outcome).value,
        "sentence": "" if end is None else end.sentence,
        "causes": "" if end is None else end.causes,
    }


def rows_of(table: ExportTable, source: Source) -> Iterator[Row]:
    """Yield the rows that a run gives to a table of runs.

    Values are plain: text, int, float, bool, aware datetime, None where there is
    nothing.
    """
    rows = {
        ExportTable.RUNS: _run_rows,
        ExportTable.SWEEPS: _sweep_rows,
        ExportTable.EDGES: _edge_rows,
        ExportTable.FIGURES: _figure_rows,
        ExportTable.PLACES: _place_rows,
    }[table]
    header = source.run.header
    identity = {
        "run_id": header.run_id,
        "simulated": header.conditions.simulated,
        "part": header.part,
    }
    for row in rows(source):
        yield identity | row


def rows_of_readings(readings: Sequence[HandReading]) -> Iterator[Row]:
    """Yield the rows of readings by hand, as `rows_of` those of runs."""
    columns = COLUMNS[ExportTable.HAND_READINGS]
    for one in readings:
        yield {name: getattr(one, name) for name in columns}


def _run_rows(source: Source) -> Iterator[Row]:
    run, header = source.run, source.run.header
    sensor, target, timetable = header.sensor, header.target, header.timetable
    product = header.product
    void = sum(1 for sweep in run.sweeps if sweep.void)
    yield {
        "started_at": header.started_at,
        "ended_at": run.ended_at,
        "void": run.void,
        "sensor": sensor.name,
        "sensor_principle": sensor.principle.value,
        "sensor_size_mm": sensor.size_mm,
        "sensor_rated_distance_mm": sensor.rated_distance_mm,
        "sensor_output": sensor.output.value,
        "sensor_switching_frequency_hz": sensor.switching_frequency_hz,
        "sensor_data_sheet_limits": json_text(
            [asdict(limit) for limit in sensor.data_sheet_limits]
        ),
        "product": "" if product is None else product.name,
        "product_version": None if product is None else product.version,
        "target": target.name,
        "target_material": target.material,
        "target_thickness_mm": target.thickness_mm,
        "target_side_mm": target.side_mm,
        "target_earthed": target.earthed,
        "target_wall_material": target.wall_material,
        "target_wall_mm": target.wall_mm,
        "sweeps_wanted": header.sweeps_wanted,
        "sweeps_good": len(run.sweeps) - void,
        "sweeps_void": void,
        "speeds_mm_s": " ".join(str(speed) for speed in header.speeds_mm_s),
        "timetable_h": timetable.hours if timetable else None,
        "timetable_readings": timetable.readings if timetable else None,
        "until_mm": header.until_mm,
        "label": header.label,
        "plan_id": header.plan_id,
        "plan_item": header.plan_item,
        "home_shift_steps": run.home_shift_steps,
        "home_repeatability_mm": run.home_repeatability_mm,
        "datum_checks": json_text([asdict(check) for check in run.datum_checks]),
        "software_version": header.software_version,
    } | _conditions_cells(header.conditions)


def _conditions_cells(conditions: Conditions) -> Row:
    axis, datum, backlash = conditions.axis, conditions.datum, conditions.backlash
    known = conditions.calibration
    return {
        "rig_id": conditions.rig_id,
        "firmware_version": conditions.firmware_version,
        "protocol_version": conditions.protocol_version,
        "boot_number": conditions.boot_number,
        "steps_per_mm": axis.steps_per_mm,
        "axis_standard_uncertainty_mm": axis.standard_uncertainty_mm,
        "datum_position_steps": datum.position_steps,
        "datum_standard_uncertainty_mm": datum.standard_uncertainty_mm,
        "datum_degrees_of_freedom": datum.degrees_of_freedom,
        "datum_n": datum.n,
        "datum_probe_uncertainty_mm": datum.probe_uncertainty_mm,
        "datum_late_mm": datum.late_mm,
        "datum_late_uncertainty_mm": datum.late_uncertainty_mm,
        "datum_found_at": datum.found_at,
        "backlash_mm": backlash.value_mm,
        "backlash_standard_uncertainty_mm": backlash.standard_uncertainty_mm,
        "backlash_degrees_of_freedom": backlash.degrees_of_freedom,
        "backlash_n": backlash.n,
        "backlash_source": backlash.source.value,
        "calibration": known.calibration_id if known else "",
        "calibration_due_on": known.due_on.isoformat() if known else "",
        "temperature_c": conditions.temperature_c,
        "operator": conditions.operator,
        "note": conditions.note,
    }


def _sweep_rows(source: Source) -> Iterator[Row]:
    for sweep, (operate_mm, release_mm) in zip(
        source.run.sweeps, source.points_mm, strict=True
    ):
        yield {
            "sweep_index": sweep.index,
            "speed_mm_s": sweep.speed_mm_s,
            "operate_gap_mm": operate_mm,
            "release_gap_mm": release_mm,
            "conditions_index": sweep.conditions_index,
            **_point_cells(sweep),
            "edges": len(sweep.edges),
            "void": sweep.void,
            "ended_at": sweep.ended_at,
        }


def _point_cells(sweep: Sweep) -> Row:
    operate, release = sweep.operate, sweep.release
    return {
        "operate_position_steps": operate.position_steps if operate else None,
        "operate_time_us": operate.time_us if operate else None,
        "release_position_steps": release.position_steps if release else None,
        "release_time_us": release.time_us if release else None,
    }


def _edge_rows(source: Source) -> Iterator[Row]:
    for sweep in source.run.sweeps:
        for edge_index, edge in enumerate(sweep.edges):
            yield {
                "sweep_index": sweep.index,
                "edge_index": edge_index,
                "number": edge.number,
                "level": edge.level,
                "position_steps": edge.position_steps,
                "time_us": edge.time_us,
                "approaching": edge.approaching,
            }


def _figure_rows(source: Source) -> Iterator[Row]:
    computation, run = source.computation, source.run
    if computation is None:
        return
    figures = applicable(computation.figures, run.header.timetable)
    for name in FIGURE_NAMES:
        figure = getattr(figures, name)
        if figure is None:
            continue
        yield {
            "sensor": run.header.sensor.name,
            "target": run.header.target.name,
            "figure": name,
            "name": KIND_OF_FIELD[name].name,
            "value": figure.value,
            "expanded_uncertainty": figure.expanded_uncertainty,
            "unit": figure.unit,
            "coverage_factor": figure.coverage_factor,
            "effective_degrees_of_freedom": figure.effective_degrees_of_freedom,
            "standard_deviation": figure.standard_deviation,
            "n": figure.n,
            "why_none": figure.why_none,
            "pooled_runs": figure.pooled_runs,
            "run_void": run.void,
            "warnings": "\n".join(figures.warnings),
            "budget": json_text([asdict(line) for line in figure.budget]),
            "analysis_version": figures.analysis_version,
            "software_version": computation.software_version,
            "computed_at": computation.computed_at,
        }


def _place_rows(source: Source) -> Iterator[Row]:
    if source.place is None:
        return
    check, reading = source.place
    yield asdict(reading) | {
        "check_id": check.check_id,
        "rig_id": check.rig_id,
        "sensor": check.sensor,
        "target": check.target,
        "lead_mm": check.lead_mm,
        "entered_at": check.entered_at,
    }
