"""The catalogue: sensors and targets by name."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Annotated, TypeVar

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from rig.catalogue.input_file import read_text
from rig.catalogue.toml_input import Strict, nearest, parse
from rig.errors import InputError
from rig.model.mounted import DataSheetLimit, OutputKind, Principle, Sensor, Target

_Entry = TypeVar("_Entry")
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")


def _checked_name(name: str) -> str:
    if not _NAME.fullmatch(name):
        raise ValueError(
            "it must be 1 to 40 letters, digits, dots, hyphens or underscores, "
            "the first a letter or digit"
        )
    return name


Name = Annotated[str, AfterValidator(_checked_name)]
Millimetres = Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]


Share = Annotated[float, Field(gt=0, lt=10, allow_inf_nan=False)]


class LimitEntry(Strict):
    """A limit that the data sheet states, as a share of the standard's reference."""

    lower: Share | None = None
    upper: Share | None = None

    @model_validator(mode="after")
    def _is_an_interval(self) -> LimitEntry:
        if self.lower is None and self.upper is None:
            raise ValueError("give lower, upper or both")
        if self.lower and self.upper and self.lower >= self.upper:
            raise ValueError("lower must be below upper")
        return self


class LimitsTable(Strict):
    """A `[sensor.limits]` table, by symbol; what is left out is the standard's."""

    s_r: LimitEntry | None = None
    s_u: LimitEntry | None = None
    s_a: LimitEntry | None = None
    H: LimitEntry | None = None
    R: LimitEntry | None = None


def data_sheet_limits(table: LimitsTable) -> tuple[DataSheetLimit, ...]:
    """Return the limits of a table as the rest of the software knows them."""
    return tuple(
        DataSheetLimit(symbol=symbol, **entry)
        for symbol, entry in table.model_dump(exclude_none=True).items()
    )


class SensorEntry(Strict):
    """A `[[sensor]]` table; see `rig.model.mounted.Sensor`."""

    name: Name
    principle: Principle
    size_mm: Millimetres
    rated_distance_mm: Millimetres
    output: OutputKind = OutputKind.NORMALLY_OPEN
    switching_frequency_hz: (
        Annotated[float, Field(gt=0, le=1e6, allow_inf_nan=False)] | None
    ) = None
    time_delay_before_availability_ms: (
        Annotated[float, Field(gt=0, le=60_000, allow_inf_nan=False)] | None
    ) = None
    limits: LimitsTable = LimitsTable()

    def sensor(self) -> Sensor:
        """Return it as the rest of the software knows it."""
        return Sensor(
            **self.model_dump(exclude={"limits"}),
            data_sheet_limits=data_sheet_limits(self.limits),
        )


class TargetEntry(Strict):
    """A `[[target]]` table; see `rig.model.mounted.Target`."""

    name: Name
    material: Annotated[str, Field(min_length=1, max_length=40)]
    thickness_mm: Millimetres
    earthed: bool = False
    wall_material: str = ""
    wall_mm: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)] = 0.0
    side_mm: Millimetres | None = None

    @model_validator(mode="after")
    def _wall_is_whole(self) -> TargetEntry:
        if bool(self.wall_material) != (self.wall_mm > 0):
            raise ValueError(
                "a cell needs both wall_material and wall_mm, a plate none"
            )
        return self

    def target(self) -> Target:
        """Return it as the rest of the software knows it."""
        return Target(**self.model_dump())


_NamedEntry = TypeVar("_NamedEntry", SensorEntry, TargetEntry)


def _named_once(entries: tuple[_NamedEntry, ...]) -> tuple[_NamedEntry, ...]:
    numbers: dict[str, int] = {}
    for index, entry in enumerate(entries):
        first = numbers.setdefault(entry.name, index + 1)
        if first != index + 1:
            raise PydanticCustomError(
                "named_twice",
                "number {first} has this name already, and each must have its own",
                {"first": first, "place": (index, "name")},
            )
    return entries


Sensors = Annotated[tuple[SensorEntry, ...], AfterValidator(_named_once)]
Targets = Annotated[tuple[TargetEntry, ...], AfterValidator(_named_once)]


class CatalogueFile(Strict):
    """A catalogue file."""

    sensor: Sensors = ()
    target: Targets = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Sensors and targets by name.

    Attributes:
        sensors: Sensors by name.
        targets: Targets by name.
    """

    sensors: Mapping[str, Sensor]
    targets: Mapping[str, Target]

    def sensor(self, name: str) -> Sensor:
        """Return a sensor.

        Raises:
            InputError: The catalogue has none of that name.
        """
        return _found(self.sensors, name, "sensor")

    def sensor_like(self, principle: Principle, output: OutputKind) -> Sensor:
        """Return the first sensor of a principle and kind of output.

        Raises:
            InputError: The catalogue has none.
        """
        for sensor in self.sensors.values():
            if sensor.principle is principle and sensor.output is output:
                return sensor
        raise InputError(
            f"the catalogue has no {principle} sensor with output {output}",
            hint="add one with --catalogue, or name a --sensor",
        )

    def target(self, name: str) -> Target:
        """Return a target.

        Raises:
            InputError: The catalogue has none of that name.
        """
        return _found(self.targets, name, "target")

    def with_more(self, file: CatalogueFile) -> Catalogue:
        """Return this catalogue with the entries of a file put over it."""
        return Catalogue(
            sensors={**self.sensors, **{e.name: e.sensor() for e in file.sensor}},
            targets={**self.targets, **{e.name: e.target() for e in file.target}},
        )


def load_catalogue(path: Path | None = None) -> Catalogue:
    """Return the standard catalogue, with that of a file put over it.

    Raises:
        InputError: The file is not there or not right.
    """
    text = files("rig.catalogue").joinpath("standard.toml").read_text("utf-8")
    empty = Catalogue(sensors={}, targets={})
    standard = empty.with_more(parse(text, "standard.toml", CatalogueFile))
    if path is None:
        return standard
    return standard.with_more(parse(read_text(path), str(path), CatalogueFile))


def _found(entries: Mapping[str, _Entry], name: str, kind: str) -> _Entry:
    if name in entries:
        return entries[name]
    raise InputError(
        f"there is no {kind} {name!r} in the catalogue", hint=nearest(name, entries)
    )
