"""The exported tables and their columns; every table says what a row of it is.

Every table of runs has the run's identity and whether it was simulated. A column that
holds a number has its unit in its name, or in the column `unit` beside it.
"""

from __future__ import annotations

from enum import StrEnum

from rig.model.figure_kinds import FIGURE_KINDS


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
    PARTS = "parts"
    VERDICTS = "verdicts"
    FIGURES = "figures"
    BUDGETS = "budgets"
    SWEEPS = "sweeps"
    EDGES = "edges"
    CONDITIONS = "conditions"
    ATTEMPTS = "attempts"
    NOTES = "notes"
    LOTS = "lots"
    LOT_RESULTS = "lot_results"
    STUDIES = "studies"
    HAND_READINGS = "hand_readings"
    PLANS = "plans"
    PLAN_ITEMS = "plan_items"
    PRODUCTS = "products"
    BENCH = "bench"
    CALIBRATIONS = "calibrations"
    CALIBRATION_READINGS = "calibration_readings"
    PLACES = "places"
    AVAILABILITY = "availability"
    DOCUMENTS = "documents"
    OPERATORS = "operators"
    TRAIL = "trail"


def _figure_columns() -> dict[str, Kind]:
    """Return the columns of every kind of figure: value, uncertainty, n."""
    found = {}
    for kind in FIGURE_KINDS:
        found[kind.key] = Kind.NUMBER
        found[kind.uncertainty_key] = Kind.NUMBER
        found[f"{kind.field}_n"] = Kind.INTEGER
    return found


_IDENTITY = {"run_id": Kind.TEXT, "simulated": Kind.TRUTH, "part": Kind.TEXT}

_CONDITIONS = {
    "rig_id": Kind.TEXT,
    "firmware_version": Kind.TEXT,
    "protocol_version": Kind.TEXT,
    "boot_number": Kind.INTEGER,
    "steps_per_mm": Kind.NUMBER,
    "axis_standard_uncertainty_mm": Kind.NUMBER,
    "scale_counts_per_mm": Kind.NUMBER,
    "datum_position_steps": Kind.NUMBER,
    "datum_standard_uncertainty_mm": Kind.NUMBER,
    "datum_degrees_of_freedom": Kind.NUMBER,
    "datum_n": Kind.INTEGER,
    "datum_probe_uncertainty_mm": Kind.NUMBER,
    "datum_late_mm": Kind.NUMBER,
    "datum_late_uncertainty_mm": Kind.NUMBER,
    "datum_scale_steps": Kind.NUMBER,
    "datum_found_at": Kind.TIME,
    "backlash_mm": Kind.NUMBER,
    "backlash_standard_uncertainty_mm": Kind.NUMBER,
    "backlash_degrees_of_freedom": Kind.NUMBER,
    "backlash_n": Kind.INTEGER,
    "backlash_screw_mm": Kind.NUMBER,
    "backlash_source": Kind.TEXT,
    "calibration": Kind.TEXT,
    "calibration_due_on": Kind.TEXT,
    "temperature_c": Kind.NUMBER,
    "measured_temperature_c": Kind.NUMBER,
    "set_supply_v": Kind.NUMBER,
    "measured_supply_v": Kind.NUMBER,
    "load_current_ma": Kind.NUMBER,
    "residual_voltage_v": Kind.NUMBER,
    "operator": Kind.TEXT,
    "note": Kind.TEXT,
}

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
        "for_verdict": Kind.TRUTH,
        "label": Kind.TEXT,
        "plan_id": Kind.TEXT,
        "plan_item": Kind.INTEGER,
    }
    | _CONDITIONS
    | {
        "home_shift_steps": Kind.INTEGER,
        "home_repeatability_mm": Kind.NUMBER,
        "datum_checks": Kind.TEXT,
        "software_version": Kind.TEXT,
        "changed": Kind.TEXT,
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
        "scale": Kind.INTEGER,
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
        "analysis_version": Kind.TEXT,
        "software_version": Kind.TEXT,
        "computed_at": Kind.TIME,
    },
    ExportTable.BUDGETS: _IDENTITY
    | {
        "figure": Kind.TEXT,
        "contribution": Kind.TEXT,
        "evaluation": Kind.TEXT,
        "standard_uncertainty": Kind.NUMBER,
        "unit": Kind.TEXT,
        "sensitivity": Kind.NUMBER,
        "degrees_of_freedom": Kind.NUMBER,
    },
    ExportTable.CONDITIONS: _IDENTITY
    | {"conditions_index": Kind.INTEGER}
    | _CONDITIONS
    | {"bench": Kind.TEXT},
    ExportTable.PARTS: {
        "part": Kind.TEXT,
        "simulated": Kind.TRUTH,
        "sensor": Kind.TEXT,
        "target": Kind.TEXT,
        "product": Kind.TEXT,
        "product_version": Kind.INTEGER,
        "run_id": Kind.TEXT,
        "started_at": Kind.TIME,
        "outcome": Kind.TEXT,
        "verdict": Kind.TEXT,
    }
    | _figure_columns()
    | {"without_uncertainty": Kind.TEXT, "changed": Kind.TEXT},
    ExportTable.VERDICTS: _IDENTITY
    | {
        "sensor": Kind.TEXT,
        "target": Kind.TEXT,
        "product": Kind.TEXT,
        "product_version": Kind.INTEGER,
        "held_against": Kind.TEXT,
        "decision": Kind.TEXT,
        "value": Kind.NUMBER,
        "expanded_uncertainty": Kind.NUMBER,
        "lower_limit": Kind.NUMBER,
        "upper_limit": Kind.NUMBER,
        "unit": Kind.TEXT,
        "limit_included": Kind.TRUTH,
        "source_of_limits": Kind.TEXT,
        "rule": Kind.TEXT,
        "conformance_probability": Kind.NUMBER,
        "sentence": Kind.TEXT,
        "changed": Kind.TEXT,
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
    ExportTable.AVAILABILITY: {
        "check_id": Kind.TEXT,
        "simulated": Kind.TRUTH,
        "rig_id": Kind.TEXT,
        "sensor": Kind.TEXT,
        "part": Kind.TEXT,
        "target": Kind.TEXT,
        "operator": Kind.TEXT,
        "temperature_c": Kind.NUMBER,
        "off_time_s": Kind.NUMBER,
        "switchings": Kind.INTEGER,
        "delay_ms": Kind.NUMBER,
        "delay_expanded_uncertainty_ms": Kind.NUMBER,
        "mean_delay_ms": Kind.NUMBER,
        "false_signal_ms": Kind.NUMBER,
        "false_signals": Kind.INTEGER,
        "never_available": Kind.INTEGER,
        "verdict": Kind.TEXT,
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
    ExportTable.NOTES: {
        "run_id": Kind.TEXT,
        "entry": Kind.INTEGER,
        "text": Kind.TEXT,
        "author": Kind.TEXT,
        "entered_at": Kind.TIME,
        "withdrawn_at": Kind.TIME,
        "withdrawn_by": Kind.TEXT,
        "why_withdrawn": Kind.TEXT,
    },
    ExportTable.STUDIES: {
        "study_id": Kind.TEXT,
        "title": Kind.TEXT,
        "figure": Kind.TEXT,
        "begun_at": Kind.TIME,
        "order": Kind.INTEGER,
        "trial": Kind.INTEGER,
        "appraiser": Kind.TEXT,
        "part": Kind.TEXT,
        "value": Kind.NUMBER,
        "tolerance": Kind.NUMBER,
        "unit": Kind.TEXT,
        "counts": Kind.TRUTH,
        "run_id": Kind.TEXT,
        "simulated": Kind.TRUTH,
        "entered_at": Kind.TIME,
        "seed": Kind.INTEGER,
    },
    ExportTable.PLANS: {
        "plan_id": Kind.TEXT,
        "simulated": Kind.TRUTH,
        "title": Kind.TEXT,
        "state": Kind.TEXT,
        "created_at": Kind.TIME,
        "for_verdict": Kind.TRUTH,
        "file": Kind.TEXT,
    },
    ExportTable.PLAN_ITEMS: {
        "plan_id": Kind.TEXT,
        "plan_item": Kind.INTEGER,
        "simulated": Kind.TRUTH,
        "sensor": Kind.TEXT,
        "part": Kind.TEXT,
        "target": Kind.TEXT,
        "sweeps_wanted": Kind.INTEGER,
        "speeds_mm_s": Kind.TEXT,
        "timetable_h": Kind.NUMBER,
        "timetable_readings": Kind.INTEGER,
    },
    ExportTable.PRODUCTS: {
        "product": Kind.TEXT,
        "product_version": Kind.INTEGER,
        "principle": Kind.TEXT,
        "size_mm": Kind.NUMBER,
        "rated_distance_mm": Kind.NUMBER,
        "output": Kind.TEXT,
        "switching_frequency_hz": Kind.NUMBER,
        "limits": Kind.TEXT,
        "target_material": Kind.TEXT,
        "target_thickness_mm": Kind.NUMBER,
        "target_side_mm": Kind.NUMBER,
        "target_earthed": Kind.TRUTH,
        "least_temperature_c": Kind.NUMBER,
        "largest_temperature_c": Kind.NUMBER,
        "least_supply_v": Kind.NUMBER,
        "largest_supply_v": Kind.NUMBER,
        "sampling": Kind.TEXT,
        "entered_by": Kind.TEXT,
        "entered_at": Kind.TIME,
        "approved_by": Kind.TEXT,
        "approved_at": Kind.TIME,
    },
    ExportTable.BENCH: {
        "rig_id": Kind.TEXT,
        "in_force": Kind.TRUTH,
        "author": Kind.TEXT,
        "entered_at": Kind.TIME,
        "item": Kind.TEXT,
        "words": Kind.TEXT,
        "form": Kind.TEXT,
        "value": Kind.NUMBER,
        "unit": Kind.TEXT,
        "source": Kind.TEXT,
        "screw_class": Kind.TEXT,
    },
    ExportTable.CALIBRATIONS: {
        "calibration_id": Kind.TEXT,
        "rig_id": Kind.TEXT,
        "certificate": Kind.TEXT,
        "calibrated_on": Kind.TEXT,
        "due_on": Kind.TEXT,
        "by_blocks": Kind.TRUTH,
        "screw_lead_mm": Kind.NUMBER,
        "instrument_standard_uncertainty_mm": Kind.NUMBER,
        "position_mm": Kind.NUMBER,
        "correction_mm": Kind.NUMBER,
        "standard_uncertainty_mm": Kind.NUMBER,
        "retreat_correction_mm": Kind.NUMBER,
        "retreat_standard_uncertainty_mm": Kind.NUMBER,
        "entered_at": Kind.TIME,
    },
    ExportTable.CALIBRATION_READINGS: {
        "calibration_id": Kind.TEXT,
        "rig_id": Kind.TEXT,
        "target_mm": Kind.NUMBER,
        "direction": Kind.TEXT,
        "deviation_mm": Kind.NUMBER,
    },
    ExportTable.DOCUMENTS: {
        "number": Kind.TEXT,
        "simulated": Kind.TRUTH,
        "kind": Kind.TEXT,
        "subject_kind": Kind.TEXT,
        "subject": Kind.TEXT,
        "title": Kind.TEXT,
        "customer": Kind.TEXT,
        "customer_order": Kind.TEXT,
        "replaces": Kind.TEXT,
        "sha256": Kind.TEXT,
        "issued_at": Kind.TIME,
    },
    ExportTable.OPERATORS: {
        "name": Kind.TEXT,
        "authorises": Kind.TRUTH,
        "active": Kind.TRUTH,
        "has_pin": Kind.TRUTH,
        "entered_at": Kind.TIME,
    },
    ExportTable.TRAIL: {
        "entry": Kind.INTEGER,
        "kind": Kind.TEXT,
        "subject": Kind.TEXT,
        "action": Kind.TEXT,
        "person": Kind.TEXT,
        "authority": Kind.TEXT,
        "reason": Kind.TEXT,
        "before": Kind.TEXT,
        "after": Kind.TEXT,
        "at": Kind.TIME,
        "hash": Kind.TEXT,
    },
}
