"""A plan as a TOML file: which sensors against which targets, and how often."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path
from typing import Annotated, TypeVar

from pydantic import AfterValidator, Field

from rig.catalogue.catalogue import (
    Catalogue,
    CatalogueFile,
    Sensors,
    Targets,
)
from rig.catalogue.input_file import read_text
from rig.catalogue.series import SERIES, varied
from rig.catalogue.toml_input import Strict, parse, spot_of
from rig.errors import InputError
from rig.model.mounted import Sensor, Target
from rig.model.part_number import part_number
from rig.model.sweep_numbers import FASTEST_MM_S, MOST_SWEEPS, SLOWEST_MM_S
from rig.model.sweeps import Timetable

_Entry = TypeVar("_Entry")

Sweeps = Annotated[int, Field(ge=1, le=MOST_SWEEPS)]
Speed = Annotated[float, Field(ge=SLOWEST_MM_S, le=FASTEST_MM_S, allow_inf_nan=False)]
Speeds = Annotated[tuple[Speed, ...], Field(min_length=1, max_length=8)]


def _part(text: str) -> str:
    try:
        return part_number(text, "it")
    except InputError as exc:
        raise ValueError(str(exc)) from exc


Part = Annotated[str, Field(min_length=1), AfterValidator(_part)]
Product = Annotated[str, Field(max_length=80)]  # empty for none
Values = tuple[Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)], ...]


class TimetableTable(Strict):
    """A `[run.timetable]` table; the run's sweeps are made at each of its readings."""

    hours: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)] = 8.0
    readings: Annotated[int, Field(ge=2, le=1000)]


class RunTable(Strict):
    """A `[[run]]` table: every one of its sensors against every one of its targets.

    With parts, that for every one of them. With thickness_mm or wall_mm, every target
    in each of these thicknesses, or behind a wall of each.
    """

    sensors: Annotated[tuple[str, ...], Field(min_length=1)]
    targets: Annotated[tuple[str, ...], Field(min_length=1)]
    thickness_mm: Values = ()
    wall_mm: Values = ()
    parts: tuple[Part, ...] = ()
    timetable: TimetableTable | None = None
    sweeps: Sweeps | None = None
    speeds_mm_s: Speeds | None = None
    interleave: bool | None = None
    product: Product | None = None

    @property
    def pairs(self) -> int:
        """How many runs it asks for."""
        targets = len(self.targets) * max(1, len(self.thickness_mm), len(self.wall_mm))
        return len(self.sensors) * targets * max(1, len(self.parts))


class PlanFile(Strict):
    """A plan file."""

    title: Annotated[str, Field(min_length=1, max_length=80)]
    sweeps: Sweeps = 10
    speeds_mm_s: Speeds = (1.0, 4.0)
    interleave: bool = False
    product: Product = ""
    sensor: Sensors = ()
    target: Targets = ()
    run: Annotated[tuple[RunTable, ...], Field(min_length=1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRun:
    """One run that a plan asks for.

    Attributes:
        sensor: What is measured.
        target: Against what.
        sweeps: Good sweeps in all, at every reading of a timetable together.
        speeds_mm_s: Speeds in turn.
        part: Serial or sample number; empty if the plan names none.
        timetable: When the sweeps are due; None for one after another.
        product: Name of the product that the part should be; empty for none.
    """

    sensor: Sensor
    target: Target
    sweeps: int
    speeds_mm_s: tuple[float, ...]
    part: str = ""
    timetable: Timetable | None = None
    product: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A plan as it was read.

    Attributes:
        title: What the user calls it.
        text: The file as it stands.
        runs: The runs in order.
        interleaved: Places of runs whose sweeps are taken in rounds, group by group.
    """

    title: str
    text: str
    runs: tuple[PlannedRun, ...]
    interleaved: tuple[tuple[int, ...], ...] = ()


def load_plan(path: Path, catalogue: Catalogue) -> Plan:
    """Read a plan file.

    Raises:
        InputError: It is not there or not right; names file, line and field.
    """
    return parse_plan(read_text(path), str(path), catalogue)


def parse_plan(text: str, where: str, catalogue: Catalogue) -> Plan:
    """Return the plan that a text asks for.

    Raises:
        InputError: It is not right; names file, line and field.
    """
    file = parse(text, where, PlanFile)
    known = catalogue.with_more(CatalogueFile(sensor=file.sensor, target=file.target))
    runs: list[PlannedRun] = []
    for index, table in enumerate(file.run):
        spots = {
            field: f"{spot_of(text, where, ('run', index, field))}: "
            f"field {field!r} in run {index + 1}"
            for field in ("sensors", "targets", *SERIES)
        }
        runs += _runs(table, file, known, spots)
        if table.timetable is not None and _interleaves(file, table):
            spot = spot_of(text, where, ("run", index, "timetable"))
            raise InputError(
                f"{spot}: run {index + 1} has a timetable and is interleaved: its "
                f"readings need the pair to stay mounted",
                hint="give that run interleave = false, or no timetable",
            )
    return Plan(
        title=file.title,
        text=text,
        runs=tuple(runs),
        interleaved=_interleaved(file),
    )


def interleaved_runs(text: str, where: str) -> tuple[tuple[int, ...], ...]:
    """Return which runs of a plan's text are taken in rounds, as `Plan` has them.

    It needs no catalogue, which may have changed since the plan began.

    Raises:
        InputError: The text is no plan.
    """
    return _interleaved(parse(text, where, PlanFile))


def products_of_runs(text: str, where: str) -> tuple[str, ...]:
    """Return the product that each run of a plan's text is for; empty for none.

    It needs no catalogue, which may have changed since the plan began.

    Raises:
        InputError: The text is no plan.
    """
    file = parse(text, where, PlanFile)
    return tuple(
        _product(file, table) for table in file.run for _ in range(table.pairs)
    )


def _product(file: PlanFile, table: RunTable) -> str:
    name = file.product if table.product is None else table.product
    return " ".join(name.split())


def _interleaved(file: PlanFile) -> tuple[tuple[int, ...], ...]:
    ends = list(accumulate(table.pairs for table in file.run))
    return tuple(
        tuple(range(end - table.pairs, end))
        for table, end in zip(file.run, ends, strict=True)
        if _interleaves(file, table)
    )


def _interleaves(file: PlanFile, table: RunTable) -> bool:
    return file.interleave if table.interleave is None else table.interleave


def _runs(
    table: RunTable, file: PlanFile, known: Catalogue, spots: Mapping[str, str]
) -> list[PlannedRun]:
    sensors = _looked_up(known.sensor, table.sensors, spots["sensors"])
    targets = varied(
        _looked_up(known.target, table.targets, spots["targets"]),
        {field: getattr(table, field) for field in SERIES},
        spots,
    )
    times = table.timetable
    sweeps = (table.sweeps or file.sweeps) * (times.readings if times else 1)
    return [
        PlannedRun(
            sensor=sensor,
            target=target,
            sweeps=sweeps,
            speeds_mm_s=table.speeds_mm_s or file.speeds_mm_s,
            part=part,
            timetable=Timetable(**times.model_dump()) if times else None,
            product=_product(file, table),
        )
        for part in table.parts or ("",)
        for sensor in sensors
        for target in targets
    ]


def _looked_up(
    look_up: Callable[[str], _Entry], names: Iterable[str], spot: str
) -> list[_Entry]:
    try:
        return [look_up(name) for name in names]
    except InputError as exc:
        raise InputError(f"{spot}: {exc}", hint=exc.hint) from exc
