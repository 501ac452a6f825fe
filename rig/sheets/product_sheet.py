"""Product specifications in rows and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from rig.analysis.limits.limit_table import LimitEntry
from rig.analysis.limits.verdict import Limits
from rig.analysis.standard.run_against_standard import sensor_limits
from rig.inquiry.products import ProductRow, Products
from rig.model.figure_kinds import figure_name
from rig.model.product import (
    Bounds,
    ProductSpecification,
    ProductVersion,
    Sampling,
)
from rig.sheets.bench_words import Pairs, sensor_line, sensor_words, target_words, utc
from rig.sheets.verdict_rows import limits_words

HEAD: Final = ("product", "version", "state", "sensor", "approved by", "entered")
NONE_ON_RECORD: Final = (
    "No product is on record; `gapsweep product add FILE --by NAME` enters one."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductSheet:
    """One version of a product specification.

    Attributes:
        title: Name and version.
        state: Whether it is in force, approved once or not approved.
        pairs: All that is specified.
        row: Cells of the list of products, under `HEAD`.
    """

    title: str
    state: str
    pairs: Pairs
    row: tuple[str, ...]


def product_sheets(found: Products) -> tuple[ProductSheet, ...]:
    """Put every version into words."""
    return tuple(map(_sheet, found.products))


def specified_pairs(specified: ProductSpecification) -> Pairs:
    """Say all that is specified of a product.

    Raises:
        InputError: A limit is not possible.
    """
    supply = specified.supply_v
    limits = sensor_limits(specified.sensor)
    return (
        ("Sensor", sensor_words(specified.sensor)),
        *((symbol, _limit_words(one.limits(), one)) for symbol, one in limits.items()),
        ("Target", target_words(specified.target)),
        ("Temperature", _bounds_words(specified.temperature_c, "°C")),
        ("Supply", "any" if supply is None else _bounds_words(supply, "V")),
        ("Sampling", _sampling_words(specified.sampling)),
    )


def specified_lines(specified: ProductSpecification) -> tuple[str, ...]:
    """Say all that is specified of a product in few lines, for a narrow place.

    Raises:
        InputError: A limit is not possible.
    """
    known, supply = sensor_limits(specified.sensor), specified.supply_v
    own = [
        f"{one.symbol} {limits_words(known[one.symbol].limits())}"
        for one in specified.sensor.data_sheet_limits
    ]
    others = "the others the standard's" if own else "the standard's"
    volts = "any" if supply is None else _bounds_words(supply, "V")
    return (
        f"{sensor_line(specified.sensor)}.",
        f"Limits, as shares: {', '.join([*own, others])}.",
        f"Target: {target_words(specified.target)}.",
        f"Temperature {_bounds_words(specified.temperature_c, '°C')}, supply {volts}.",
        f"Sampling: {_sampling_words(specified.sampling)}.",
    )


def _sheet(row: ProductRow) -> ProductSheet:
    version, state = row.version, _state(row)
    approval = version.approval
    specified = version.specification
    return ProductSheet(
        title=version.title,
        state=state,
        pairs=(
            *specified_pairs(specified),
            ("Entered", f"{utc(version.entered_at)} by {version.entered_by}"),
            ("Approved", _approved(version)),
        ),
        row=(
            version.name,
            str(version.version),
            state,
            sensor_line(specified.sensor),
            "–" if approval is None else approval.approved_by,
            utc(version.entered_at),
        ),
    )


def _state(row: ProductRow) -> str:
    if row.in_force:
        return "in force"
    return "not approved" if row.version.approval is None else "replaced"


def _approved(version: ProductVersion) -> str:
    approval = version.approval
    if approval is None:
        return "no: nothing refers to it yet"
    return f"{utc(approval.approved_at)} by {approval.approved_by}"


def _limit_words(limits: Limits, entry: LimitEntry) -> str:
    return f"{limits_words(limits)} of {entry.reference} ({limits.source})"


def _bounds_words(bounds: Bounds, unit: str) -> str:
    return f"{bounds.lower:g} to {bounds.upper:g} {unit}"


def _sampling_words(sampling: Sampling | None) -> str:
    if sampling is None:
        return "said for each lot"
    aql = sampling.aql_percent
    quality = f"{sampling.plan_kind} sampling, AQL {aql:g} %" if aql else "Ac 0"
    how = (
        f"level {sampling.level}"
        if sampling.sample is None
        else f"{sampling.sample} parts"
    )
    kept = figure_name(sampling.figure)
    return f"by {sampling.method}, {how}, {quality}; figure kept: {kept}"
