"""Sensors, targets, plans and hand readings from the rows of tables, as TOML."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Literal

from pydantic import Field

from rig.catalogue.catalogue import SensorEntry, TargetEntry
from rig.catalogue.plan_file import Part, Speeds, Sweeps, TimetableTable
from rig.catalogue.row_input import CellKind, Column
from rig.catalogue.toml_input import Strict
from rig.catalogue.toml_output import toml_table, toml_value

_LIMITED = ("s_r", "s_u", "s_a", "H", "R")


def _plain(kinds: Mapping[str, CellKind]) -> dict[str, Column]:
    return {name: Column(kind=kind, place=(name,)) for name, kind in kinds.items()}


LIMIT_COLUMNS = {
    f"{symbol}_{side}": Column(kind=CellKind.NUMBER, place=("limits", symbol, side))
    for symbol in _LIMITED
    for side in ("lower", "upper")
}
SENSOR_COLUMNS = (
    _plain(
        {
            "name": CellKind.TEXT,
            "principle": CellKind.TEXT,
            "size_mm": CellKind.NUMBER,
            "rated_distance_mm": CellKind.NUMBER,
            "output": CellKind.TEXT,
            "switching_frequency_hz": CellKind.NUMBER,
        }
    )
    | LIMIT_COLUMNS
)
SENSORS_NEED = ("name", "principle", "size_mm", "rated_distance_mm")

TARGET_COLUMNS = _plain(
    {
        "name": CellKind.TEXT,
        "material": CellKind.TEXT,
        "thickness_mm": CellKind.NUMBER,
        "earthed": CellKind.TRUTH,
        "wall_material": CellKind.TEXT,
        "wall_mm": CellKind.NUMBER,
        "side_mm": CellKind.NUMBER,
    }
)
TARGETS_NEED = ("name", "material", "thickness_mm")

PLAN_COLUMNS = _plain(
    {
        "sensor": CellKind.TEXT,
        "target": CellKind.TEXT,
        "part": CellKind.TEXT,
        "sweeps": CellKind.WHOLE,
        "speeds_mm_s": CellKind.NUMBERS,
    }
) | {
    "timetable_h": Column(kind=CellKind.NUMBER, place=("timetable", "hours")),
    "timetable_readings": Column(kind=CellKind.WHOLE, place=("timetable", "readings")),
}
PLAN_NEEDS = ("sensor", "target")

HAND_COLUMNS = _plain(
    {
        "person": CellKind.TEXT,
        "sensor": CellKind.TEXT,
        "target": CellKind.TEXT,
        "value_mm": CellKind.NUMBER,
        "part": CellKind.TEXT,
        "figure": CellKind.TEXT,
        "step_mm": CellKind.NUMBER,
    }
)
HAND_NEEDS = ("person", "sensor", "target", "value_mm")


class PlanRow(Strict):
    """A row of a table that asks for one run; what is left out is the plan's."""

    sensor: str
    target: str
    part: Part | None = None
    sweeps: Sweeps | None = None
    speeds_mm_s: Speeds | None = None
    timetable: TimetableTable | None = None


class HandRow(Strict):
    """A row of a table with one reading taken by hand."""

    person: Annotated[str, Field(min_length=1, max_length=80)]
    sensor: str
    target: str
    value_mm: Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)]
    part: Part | Literal[""] = ""
    figure: Literal["operate", "release"] = "operate"
    step_mm: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)] | None = None


def catalogue_toml(
    sensors: Sequence[SensorEntry], targets: Sequence[TargetEntry], *, origin: str
) -> str:
    """Return the text of a catalogue file.

    Args:
        sensors: Sensors in order.
        targets: Targets in order.
        origin: Where they come from, for the first line.
    """
    tables = [
        *(toml_table("sensor", _said(entry)) for entry in sensors),
        *(toml_table("target", _said(entry)) for entry in targets),
    ]
    return "\n".join([f"# {_one_line(origin)}\n", *tables])


def plan_table_toml(rows: Sequence[PlanRow], *, title: str, origin: str) -> str:
    """Return the text of a plan file with one run for every row.

    Args:
        rows: Rows in order.
        title: Title of the plan.
        origin: Where they come from, for the first line.
    """
    head = f"# {_one_line(origin)}\n\ntitle = {toml_value(title)}\n"
    return "\n".join([head, *(toml_table("run", _run_of(row)) for row in rows)])


def _run_of(row: PlanRow) -> dict[str, Any]:
    said = _said(row)
    run: dict[str, Any] = {
        "sensors": [said.pop("sensor")],
        "targets": [said.pop("target")],
    }
    if row.part is not None:
        run["parts"] = [said.pop("part")]
    return run | said


def _said(entry: Strict) -> dict[str, Any]:
    """Return what an entry says besides the defaults."""
    return entry.model_dump(mode="json", exclude_defaults=True, exclude_none=True)


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)
