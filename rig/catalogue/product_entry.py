"""A product specification as people give it, checked."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from rig.catalogue.catalogue import LimitsTable, Millimetres, data_sheet_limits
from rig.catalogue.toml_input import Strict
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
    aql_percent: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)] | None = (
        None
    )
    plan: Literal["single", "double", "zero"] = "single"
    method: Literal["attributes", "variables"] = "attributes"
    level: str = "II"
    sample: Annotated[int, Field(ge=1, le=100_000)] | None = None
    figure: str = "operate"

    @model_validator(mode="after")
    def _goes_together(self) -> _SamplingTable:
        if self.figure not in KIND_OF_OPTION:
            raise ValueError(f"figure must be one of: {', '.join(KIND_OF_OPTION)}")
        if (self.plan == "zero") != (self.aql_percent is None):
            raise ValueError("aql_percent is needed, but for zero acceptance alone")
        if self.method != _ATTRIBUTES and self.plan != "single":
            raise ValueError("double and zero acceptance go with attributes only")
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
            plan_kind=self.plan,
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
