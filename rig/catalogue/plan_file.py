"""A plan as a TOML file: which sensors against which targets, and how often."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from pydantic import Field

from rig.catalogue.catalogue import (
    Catalogue,
    CatalogueFile,
    SensorEntry,
    TargetEntry,
)
from rig.catalogue.toml_input import Strict, parse, read_text
from rig.errors import InputError
from rig.model.bench import Sensor, Target

Sweeps = Annotated[int, Field(ge=1, le=10_000)]
Speeds = Annotated[
    tuple[Annotated[float, Field(ge=0.05, le=10.0)], ...],
    Field(min_length=1, max_length=8),
]


class RunTable(Strict):
    """A `[[run]]` table: every one of its sensors against every one of its targets."""

    sensors: Annotated[tuple[str, ...], Field(min_length=1)]
    targets: Annotated[tuple[str, ...], Field(min_length=1)]
    sweeps: Sweeps | None = None
    speeds_mm_s: Speeds | None = None


class PlanFile(Strict):
    """A plan file."""

    title: Annotated[str, Field(min_length=1, max_length=80)]
    sweeps: Sweeps = 10
    speeds_mm_s: Speeds = (1.0, 4.0)
    sensor: tuple[SensorEntry, ...] = ()
    target: tuple[TargetEntry, ...] = ()
    run: Annotated[tuple[RunTable, ...], Field(min_length=1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRun:
    """One run that a plan asks for."""

    sensor: Sensor
    target: Target
    sweeps: int
    speeds_mm_s: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A plan as it was read.

    Attributes:
        title: What the user calls it.
        text: The file as it stands.
        runs: The runs in order.
    """

    title: str
    text: str
    runs: tuple[PlannedRun, ...]


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
    known = catalogue.with_more(
        CatalogueFile(sensor=file.sensor, target=file.target), where
    )
    runs = []
    for number, table in enumerate(file.run, start=1):
        try:
            runs += _runs(table, file, known)
        except InputError as exc:
            raise InputError(f"{where}, run {number}: {exc}", hint=exc.hint) from exc
    return Plan(title=file.title, text=text, runs=tuple(runs))


def _runs(table: RunTable, file: PlanFile, known: Catalogue) -> list[PlannedRun]:
    return [
        PlannedRun(
            sensor=known.sensor(sensor),
            target=known.target(target),
            sweeps=table.sweeps or file.sweeps,
            speeds_mm_s=table.speeds_mm_s or file.speeds_mm_s,
        )
        for sensor in table.sensors
        for target in table.targets
    ]
