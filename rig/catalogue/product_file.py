"""Product specifications as a TOML file or as rows of a table, checked."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from rig.catalogue.catalogue import LimitsTable, Millimetres, data_sheet_limits
from rig.catalogue.csv_input import read_csv
from rig.catalogue.input_file import read_text
from rig.catalogue.row_input import (
    CellKind,
    Checked,
    Column,
    check_rows,
    named_twice,
    refuse_faults,
)
from rig.catalogue.table_import import LIMIT_COLUMNS
from rig.catalogue.toml_input import Strict, parse
from rig.errors import InputError
from rig.model.figure_kinds import KIND_OF_OPTION
from rig.model.mounted import OutputKind, Principle, Sensor, Target
from rig.model.product import Bounds, ProductSpecification, Sampling

_ATTRIBUTES = "attributes"
_Celsius = Annotated[float, Field(ge=-60, le=200, allow_inf_nan=False)]
_Volts = Annotated[float, Field(gt=0, le=500, allow_inf_nan=False)]


def _checked_name(name: str) -> str:
    trimmed = " ".join(name.split())
    if not 1 <= len(trimmed) <= 80:
        raise ValueError("it must have 1 to 80 characters")
    return trimmed


class _Temperature(Strict):
    lower: _Celsius
    upper: _Celsius

    @model_validator(mode="after")
    def _rises(self) -> _Temperature:
        if self.lower > self.upper:
            raise ValueError("lower must not be above upper")
        return self


class _Supply(Strict):
    lower: _Volts
    upper: _Volts

    @model_validator(mode="after")
    def _rises(self) -> _Supply:
        if self.lower > self.upper:
            raise ValueError("lower must not be above upper")
        return self


class _TargetTable(Strict):
    material: Annotated[str, Field(min_length=1, max_length=40)]
    thickness_mm: Millimetres
    side_mm: Millimetres
    earthed: bool
    wall_material: str = ""
    wall_mm: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)] = 0.0

    @model_validator(mode="after")
    def _wall_is_whole(self) -> _TargetTable:
        if bool(self.wall_material) != (self.wall_mm > 0):
            raise ValueError(
                "a cell needs both wall_material and wall_mm, a plate none"
            )
        return self


class _SamplingTable(Strict):
    aql_percent: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]
    method: Literal["attributes", "variables"] = "attributes"
    level: str = "II"
    sample: Annotated[int, Field(ge=1, le=100_000)] | None = None
    figure: str = "operate"

    @model_validator(mode="after")
    def _goes_together(self) -> _SamplingTable:
        if self.figure not in KIND_OF_OPTION:
            raise ValueError(f"figure must be one of: {', '.join(KIND_OF_OPTION)}")
        if self.method == _ATTRIBUTES and self.sample is not None:
            raise ValueError("sample goes with the method variables only")
        return self

    def sampling(self) -> Sampling:
        """Return it as the rest of the software knows it."""
        return Sampling(
            method=self.method,
            aql_percent=self.aql_percent,
            level=self.level if self.sample is None else "",
            sample=self.sample,
            figure=self.figure,
        )


class ProductEntry(Strict):
    """A `[[product]]` table; see `rig.model.product.ProductSpecification`."""

    name: Annotated[str, AfterValidator(_checked_name)]
    principle: Principle
    size_mm: Millimetres
    rated_distance_mm: Millimetres
    output: OutputKind
    switching_frequency_hz: (
        Annotated[float, Field(gt=0, le=1e6, allow_inf_nan=False)] | None
    ) = None
    limits: LimitsTable = LimitsTable()
    target: _TargetTable
    temperature_c: _Temperature
    supply_v: _Supply | None = None
    sampling: _SamplingTable | None = None

    def specification(self) -> ProductSpecification:
        """Return it as the rest of the software knows it."""
        supply, sampling = self.supply_v, self.sampling
        return ProductSpecification(
            sensor=Sensor(
                name=self.name,
                principle=self.principle,
                size_mm=self.size_mm,
                rated_distance_mm=self.rated_distance_mm,
                output=self.output,
                switching_frequency_hz=self.switching_frequency_hz,
                data_sheet_limits=data_sheet_limits(self.limits),
            ),
            target=Target(name="", **self.target.model_dump()),
            temperature_c=Bounds(**self.temperature_c.model_dump()),
            supply_v=None if supply is None else Bounds(**supply.model_dump()),
            sampling=None if sampling is None else sampling.sampling(),
        )


def _named_once(entries: tuple[ProductEntry, ...]) -> tuple[ProductEntry, ...]:
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


class _ProductFile(Strict):
    product: Annotated[
        tuple[ProductEntry, ...], Field(min_length=1), AfterValidator(_named_once)
    ]


PRODUCT_COLUMNS = {
    **{
        name: Column(kind=kind, place=(name,))
        for name, kind in {
            "name": CellKind.TEXT,
            "principle": CellKind.TEXT,
            "size_mm": CellKind.NUMBER,
            "rated_distance_mm": CellKind.NUMBER,
            "output": CellKind.TEXT,
            "switching_frequency_hz": CellKind.NUMBER,
        }.items()
    },
    **LIMIT_COLUMNS,
    **{
        column: Column(kind=kind, place=tuple(place.split(".")))
        for column, place, kind in (
            ("target_material", "target.material", CellKind.TEXT),
            ("target_thickness_mm", "target.thickness_mm", CellKind.NUMBER),
            ("target_side_mm", "target.side_mm", CellKind.NUMBER),
            ("target_earthed", "target.earthed", CellKind.TRUTH),
            ("wall_material", "target.wall_material", CellKind.TEXT),
            ("wall_mm", "target.wall_mm", CellKind.NUMBER),
            ("temperature_lower_c", "temperature_c.lower", CellKind.NUMBER),
            ("temperature_upper_c", "temperature_c.upper", CellKind.NUMBER),
            ("supply_lower_v", "supply_v.lower", CellKind.NUMBER),
            ("supply_upper_v", "supply_v.upper", CellKind.NUMBER),
            ("aql_percent", "sampling.aql_percent", CellKind.NUMBER),
            ("method", "sampling.method", CellKind.TEXT),
            ("level", "sampling.level", CellKind.TEXT),
            ("sample", "sampling.sample", CellKind.WHOLE),
            ("figure", "sampling.figure", CellKind.TEXT),
        )
    },
}
PRODUCTS_NEED = (
    "name",
    "principle",
    "size_mm",
    "rated_distance_mm",
    "output",
    "target_material",
    "target_thickness_mm",
    "target_side_mm",
    "target_earthed",
    "temperature_lower_c",
    "temperature_upper_c",
)


def load_products(path: Path) -> tuple[ProductSpecification, ...]:
    """Read product specifications from a file.

    Args:
        path: TOML with a `[[product]]` table for each, or a CSV file with a row for
            each, by the end of its name.

    Raises:
        InputError: It is not there or not right; names file, line and field. All cells
            of a table that are not right are told at once.
    """
    if path.suffix.lower() == ".toml":
        entries: Sequence[ProductEntry] = parse(
            read_text(path), str(path), _ProductFile
        ).product
    elif path.suffix.lower() == ".csv":
        entries = _entries_of_table(path)
    else:
        raise InputError(
            f"{path} is neither .toml nor .csv", hint="save it as one of these"
        )
    return tuple(entry.specification() for entry in entries)


def _entries_of_table(path: Path) -> list[ProductEntry]:
    optional = [name for name in PRODUCT_COLUMNS if name not in PRODUCTS_NEED]
    table = read_csv(path, required=PRODUCTS_NEED, optional=optional)
    rows = [
        (row.line, {name: row.optional_text(name) for name in row.cells})
        for row in table
    ]
    found: Checked[ProductEntry] = check_rows(rows, PRODUCT_COLUMNS, ProductEntry)
    names = [(line, entry.name) for line, entry in found.entries]
    refuse_faults(path, found.faults or named_twice(names, "name"))
    return [entry for _, entry in found.entries]
