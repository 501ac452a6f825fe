"""The rows that a run gives to the exported tables of runs. Pure.

Every row has the run's identity and whether it was simulated. Positions are steps from
home and times the controller's, as latched; the figures are what the analysis made of
them. Values are plain: text, int, float, bool, aware datetime, None where there is
nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass

from rig.model.attempts import Attempt, Outcome
from rig.model.figure_forms import FIGURE_NAMES
from rig.model.figure_kinds import KIND_OF_FIELD, applicable, figures_with_budget
from rig.model.sweeps import Conditions, Run, Sweep
from rig.records.entries import Computation
from rig.records.export_columns import ExportTable
from rig.records.mapping import Row, json_text
from rig.records.place_checks import PlaceCheckEntry, PlaceReading

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
        changed: What is not as it was written, in words; empty for nothing, or where
            the table does not need it.
    """

    run: Run
    computation: Computation | None
    points_mm: Points = ()
    place: tuple[PlaceCheckEntry, PlaceReading] | None = None
    changed: str = ""


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
    """Yield the rows that a run gives to a table of runs."""
    rows = {
        ExportTable.RUNS: _run_rows,
        ExportTable.SWEEPS: _sweep_rows,
        ExportTable.EDGES: _edge_rows,
        ExportTable.FIGURES: _figure_rows,
        ExportTable.BUDGETS: _budget_rows,
        ExportTable.CONDITIONS: _conditions_rows,
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
        "for_verdict": header.for_verdict,
        "label": header.label,
        "plan_id": header.plan_id,
        "plan_item": header.plan_item,
        "home_shift_steps": run.home_shift_steps,
        "home_repeatability_mm": run.home_repeatability_mm,
        "datum_checks": json_text([asdict(check) for check in run.datum_checks]),
        "software_version": header.software_version,
        "changed": source.changed,
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
        "scale_counts_per_mm": axis.scale_counts_per_mm,
        "datum_position_steps": datum.position_steps,
        "datum_standard_uncertainty_mm": datum.standard_uncertainty_mm,
        "datum_degrees_of_freedom": datum.degrees_of_freedom,
        "datum_n": datum.n,
        "datum_probe_uncertainty_mm": datum.probe_uncertainty_mm,
        "datum_late_mm": datum.late_mm,
        "datum_late_uncertainty_mm": datum.late_uncertainty_mm,
        "datum_scale_steps": datum.scale_steps,
        "datum_found_at": datum.found_at,
        "backlash_mm": backlash.value_mm,
        "backlash_standard_uncertainty_mm": backlash.standard_uncertainty_mm,
        "backlash_degrees_of_freedom": backlash.degrees_of_freedom,
        "backlash_n": backlash.n,
        "backlash_screw_mm": backlash.screw_mm,
        "backlash_source": backlash.source.value,
        "calibration": known.calibration_id if known else "",
        "calibration_due_on": known.due_on.isoformat() if known else "",
        "temperature_c": conditions.temperature_c,
        "measured_temperature_c": conditions.measured_temperature_c,
        "set_supply_v": conditions.set_supply_v,
        "measured_supply_v": conditions.measured_supply_v,
        "load_current_ma": conditions.load_current_ma,
        "residual_voltage_v": conditions.residual_voltage_v,
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
                "scale": edge.scale,
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
            "analysis_version": figures.analysis_version,
            "software_version": computation.software_version,
            "computed_at": computation.computed_at,
        }


def _budget_rows(source: Source) -> Iterator[Row]:
    computation, run = source.computation, source.run
    if computation is None:
        return
    for kind, figure in figures_with_budget(
        applicable(computation.figures, run.header.timetable)
    ):
        for line in figure.budget:
            yield {
                "figure": kind.field,
                "contribution": line.name,
                "evaluation": line.evaluation.value,
                "standard_uncertainty": line.standard_uncertainty,
                "unit": line.unit,
                "sensitivity": line.sensitivity,
                "degrees_of_freedom": line.degrees_of_freedom,
            }


def _conditions_rows(source: Source) -> Iterator[Row]:
    first = source.run.header.conditions
    for index, known in enumerate((first, *source.run.later_conditions)):
        bench = None if known.bench is None else asdict(known.bench)
        yield {
            "conditions_index": index,
            **_conditions_cells(known),
            "bench": "" if bench is None else json_text(bench),
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
