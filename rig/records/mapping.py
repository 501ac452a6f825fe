"""Model objects to rows and back, value for value. Knows no database.

JSON has no infinity, which a number of degrees of freedom may be; it is kept as
the text "inf".
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any, Protocol

from rig.model.bench_declaration import BenchKnowledge, DeclaredValue, ValueSource
from rig.model.calibration import AxisCalibration
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.mounted import (
    Axis,
    Backlash,
    BacklashSource,
    DataSheetLimit,
    Datum,
    OutputKind,
    Principle,
    Sensor,
    Target,
)
from rig.model.part_number import one_spelling
from rig.model.product import (
    Approval,
    Bounds,
    ProductSpecification,
    ProductVersion,
    Sampling,
)
from rig.model.sweeps import Conditions, Edge, RunHeader, Sweep, Timetable
from rig.records.decoding import decodes

Row = dict[str, Any]


class StoredRow(Protocol):
    """A row as it comes back: values by column name."""

    def __getitem__(self, key: str, /) -> Any: ...


# Of the few sensors, targets and products that all runs are of, and never change
_KEPT_AT_HAND = 256
_DAYS = ("calibrated_on", "due_on")
_TABLE_COLUMNS = (
    "positions_mm",
    "corrections_mm",
    "standard_uncertainty_mm",
    "corrections_down_mm",
    "standard_uncertainty_down_mm",
)


def time_text(time: datetime) -> str:
    """Return a time as ISO 8601 text in UTC, 27 characters.

    Raises:
        ValueError: The time has no time zone.
    """
    if time.tzinfo is None:
        raise ValueError("a time in the records needs a time zone")
    utc = time.astimezone(UTC).replace(tzinfo=None)
    return f"{utc.isoformat(timespec='microseconds')}Z"


@decodes("a time")
def time_of(text: str) -> datetime:
    """Return the time that `time_text` wrote."""
    return datetime.fromisoformat(text)


def _json_default(value: object) -> object:
    if isinstance(value, datetime):
        return time_text(value)
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} is not kept in the records")


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and math.isinf(value):
        return str(value)
    return value


def json_text(value: object) -> str:
    """Return a value as strict JSON.

    Raises:
        ValueError: A number in it is not a number (NaN).
    """
    return json.dumps(
        _plain(value), ensure_ascii=False, allow_nan=False, default=_json_default
    )


@decodes("a sensor")
@lru_cache(maxsize=_KEPT_AT_HAND)
def sensor_of(text: str) -> Sensor:
    """Return the sensor kept as JSON."""
    return _sensor_in(json.loads(text))


def _sensor_in(row: Row) -> Sensor:
    return Sensor(
        **row
        | {
            "principle": Principle(row["principle"]),
            "output": OutputKind(row["output"]),
            "data_sheet_limits": tuple(
                DataSheetLimit(**limit) for limit in row["data_sheet_limits"]
            ),
        }
    )


@decodes("a target")
@lru_cache(maxsize=_KEPT_AT_HAND)
def target_of(text: str) -> Target:
    """Return the target kept as JSON."""
    return Target(**json.loads(text))


def product_text(product: ProductVersion | None) -> str | None:
    """Return a version of a product specification as JSON; None if there is none."""
    return None if product is None else json_text(asdict(product))


@decodes("a product")
@lru_cache(maxsize=_KEPT_AT_HAND)
def product_of(text: str | None) -> ProductVersion | None:
    """Return the version that `product_text` wrote."""
    return product_in(None if text is None else json.loads(text))


@decodes("a product")
def product_in(row: Row | None) -> ProductVersion | None:
    """Return the version kept in a larger JSON document; None if there is none."""
    if row is None:
        return None
    approval = row["approval"]
    return ProductVersion(
        version=row["version"],
        specification=specification_in(row["specification"]),
        entered_by=row["entered_by"],
        entered_at=time_of(row["entered_at"]),
        approval=None
        if approval is None
        else Approval(
            approved_by=approval["approved_by"],
            approved_at=time_of(approval["approved_at"]),
        ),
    )


@decodes("a product")
def specification_in(row: Row) -> ProductSpecification:
    """Return a product specification kept as JSON."""
    supply, sampling = row["supply_v"], row["sampling"]
    return ProductSpecification(
        sensor=_sensor_in(row["sensor"]),
        target=Target(**row["target"]),
        temperature_c=Bounds(**row["temperature_c"]),
        supply_v=None if supply is None else Bounds(**supply),
        sampling=None if sampling is None else Sampling(**sampling),
    )


@decodes("what was known of a run")
def conditions_of(text: str) -> Conditions:
    """Return the conditions kept as JSON."""
    row = json.loads(text)
    datum, backlash = row["datum"], row["backlash"]
    datum["degrees_of_freedom"] = float(datum["degrees_of_freedom"])
    datum["found_at"] = time_of(datum["found_at"])
    backlash["degrees_of_freedom"] = float(backlash["degrees_of_freedom"])
    backlash["source"] = BacklashSource(backlash["source"])
    return Conditions(
        **row
        | {
            "axis": Axis(**row["axis"]),
            "datum": Datum(**datum),
            "backlash": Backlash(**backlash),
            "calibration": calibration_in(row["calibration"]),
            "bench": knowledge_in(row.get("bench")),
        }
    )


@decodes("a calibration")
def calibration_of(text: str) -> AxisCalibration:
    """Return the calibration kept as JSON."""
    return _calibration_from(json.loads(text))


@decodes("a calibration")
def calibration_in(row: Row | None) -> AxisCalibration | None:
    """Return the calibration kept among conditions; None if there was none."""
    return None if row is None else _calibration_from(row)


@decodes("a declared bench")
def knowledge_in(row: Row | None) -> BenchKnowledge | None:
    """Return what is known of a bench, kept among conditions; None if it was not."""
    if row is None:
        return None
    return BenchKnowledge(
        declared=row["declared"],
        touch_speed_mm_s=row["touch_speed_mm_s"],
        values=declared_values(row["values"]),
    )


@decodes("a declared bench")
def declared_values(rows: Sequence[Sequence[Any]]) -> tuple[DeclaredValue, ...]:
    """Return declared numbers kept as key, number and source."""
    return tuple(
        DeclaredValue(key, float(value), ValueSource(source))
        for key, value, source in rows
    )


def _calibration_from(row: Row) -> AxisCalibration:
    days = {name: date.fromisoformat(row[name]) for name in _DAYS}
    # Earlier versions kept the corrections on approach alone
    columns = {name: tuple(row[name]) for name in _TABLE_COLUMNS if name in row}
    return AxisCalibration(**row | days | columns)


def timetable_text(timetable: Timetable | None) -> str | None:
    """Return a timetable as JSON; None if there is none."""
    return None if timetable is None else json_text(asdict(timetable))


@decodes("a timetable")
def timetable_of(text: str | None) -> Timetable | None:
    """Return the timetable that `timetable_text` wrote."""
    return None if text is None else Timetable(**json.loads(text))


def conditions_row(run_id: str, index: int, conditions: Conditions) -> Row:
    """Return the row of `run_conditions`."""
    return {
        "run_id": run_id,
        "conditions_index": index,
        "conditions": json_text(asdict(conditions)),
    }


@decodes("a list of speeds")
def speeds_of(text: str) -> tuple[float, ...]:
    """Return the speeds kept as JSON."""
    return tuple(json.loads(text))


def header_row(header: RunHeader) -> Row:
    """Return the row of `runs` for a run that begins."""
    return {
        "run_id": header.run_id,
        "sensor_name": header.sensor.name,
        "target_name": header.target.name,
        "target_material": header.target.material,
        "sensor": json_text(asdict(header.sensor)),
        "target": json_text(asdict(header.target)),
        "sweeps_wanted": header.sweeps_wanted,
        "speeds_mm_s": json_text(header.speeds_mm_s),
        "simulated": header.conditions.simulated,
        "conditions": json_text(asdict(header.conditions)),
        "software_version": header.software_version,
        "started_at": time_text(header.started_at),
        "plan_id": header.plan_id or None,
        "plan_item": header.plan_item,
        "part": one_spelling(header.part),
        "timetable": timetable_text(header.timetable),
        "label": header.label,
        "until_mm": header.until_mm,
        "product": product_text(header.product),
        "for_verdict": header.for_verdict or None,
        "void": "",
        "ended_at": None,
        "home_shift_steps": None,
        "edges_checksum": "",
    }


@decodes("what was known of a run")
def header_of(row: StoredRow) -> RunHeader:
    """Return the header kept in a row of `runs`."""
    return RunHeader(
        run_id=row["run_id"],
        sensor=sensor_of(row["sensor"]),
        target=target_of(row["target"]),
        sweeps_wanted=row["sweeps_wanted"],
        speeds_mm_s=speeds_of(row["speeds_mm_s"]),
        conditions=conditions_of(row["conditions"]),
        software_version=row["software_version"],
        started_at=time_of(row["started_at"]),
        plan_id=row["plan_id"] or "",
        plan_item=row["plan_item"],
        part=one_spelling(row["part"]),
        timetable=timetable_of(row["timetable"]),
        label=row["label"],
        until_mm=row["until_mm"],
        product=product_of(row["product"]),
        for_verdict=bool(row["for_verdict"]),
    )


def _ordinal(sweep: Sweep, edge: Edge | None, what: str) -> int | None:
    if edge is None:
        return None
    if edge not in sweep.edges:
        raise ValueError(
            f"the {what} edge of sweep {sweep.index} is not among its edges"
        )
    return sweep.edges.index(edge)


def sweep_row(run_id: str, sweep: Sweep) -> Row:
    """Return the row of `sweeps`.

    Raises:
        ValueError: The operate or the release edge is not among the edges.
    """
    return {
        "run_id": run_id,
        "sweep_index": sweep.index,
        "conditions_index": sweep.conditions_index,
        "speed_mm_s": sweep.speed_mm_s,
        "operate_ordinal": _ordinal(sweep, sweep.operate, "operate"),
        "release_ordinal": _ordinal(sweep, sweep.release, "release"),
        "void": sweep.void,
        "ended_at": time_text(sweep.ended_at),
    }


def edge_rows(run_id: str, sweep: Sweep) -> list[Row]:
    """Return the rows of `edges` for one sweep."""
    return [
        {
            "run_id": run_id,
            "sweep_index": sweep.index,
            "ordinal": ordinal,
            "number": edge.number,
            "level": edge.level,
            "position_steps": edge.position_steps,
            "time_us": edge.time_us,
            "approaching": edge.approaching,
            "scale": edge.scale,
        }
        for ordinal, edge in enumerate(sweep.edges)
    ]


@decodes("an edge")
def edge_of(row: StoredRow) -> Edge:
    """Return the edge kept in a row of `edges`."""
    return Edge(
        number=row["number"],
        level=row["level"],
        position_steps=row["position_steps"],
        time_us=row["time_us"],
        approaching=row["approaching"],
        scale=row["scale"],
    )


@decodes("a sweep")
def sweep_of(row: StoredRow, edges: tuple[Edge, ...]) -> Sweep:
    """Return the sweep kept in a row of `sweeps` and its edges."""
    operate, release = row["operate_ordinal"], row["release_ordinal"]
    return Sweep(
        index=row["sweep_index"],
        speed_mm_s=row["speed_mm_s"],
        operate=None if operate is None else edges[operate],
        release=None if release is None else edges[release],
        edges=edges,
        void=row["void"],
        ended_at=time_of(row["ended_at"]),
        conditions_index=row["conditions_index"],
    )


def _contribution_of(row: Row) -> Contribution:
    return Contribution(
        **row
        | {
            "evaluation": Evaluation(row["evaluation"]),
            "standard_uncertainty": float(row["standard_uncertainty"]),
            "sensitivity": float(row["sensitivity"]),
            "degrees_of_freedom": float(row["degrees_of_freedom"]),
        }
    )


@decodes("a figure")
def figure_of(row: StoredRow) -> Figure:
    """Return the figure kept in a row of `figures`, which earlier versions wrote."""
    return Figure(
        value=math.nan if row["value"] is None else row["value"],
        unit=row["unit"],
        expanded_uncertainty=row["expanded_uncertainty"],
        coverage_factor=row["coverage_factor"],
        effective_degrees_of_freedom=row["effective_degrees_of_freedom"],
        standard_deviation=row["standard_deviation"],
        n=row["n"],
        budget=tuple(_contribution_of(line) for line in json.loads(row["budget"])),
        why_none=row["why_none"],
    )
