"""Product specifications as cells by column: rows of a table, or fields of a form."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from rig.catalogue.product_entry import ProductEntry
from rig.catalogue.row_input import (
    CellKind,
    Column,
    check_rows,
    named_twice,
    refuse_faults,
)
from rig.catalogue.table_import import LIMIT_COLUMNS
from rig.catalogue.table_input import read_table
from rig.errors import InputError
from rig.model.product import ProductSpecification

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
            ("plan", "sampling.plan", CellKind.TEXT),
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


def products_of_table(path: Path) -> list[ProductEntry]:
    """Read products from a table with a row for each.

    Raises:
        InputError: It is not there or not right; all cells that are not are told.
    """
    optional = [name for name in PRODUCT_COLUMNS if name not in PRODUCTS_NEED]
    table = read_table(path, required=PRODUCTS_NEED, optional=optional)
    rows = [
        (row.line, {name: row.optional_text(name) for name in row.cells})
        for row in table
    ]
    found = check_rows(rows, PRODUCT_COLUMNS, ProductEntry, table[0].mark)
    names = [(line, entry.name) for line, entry in found.entries]
    refuse_faults(path, found.faults or named_twice(names, "name"))
    return [entry for _, entry in found.entries]


def product_of_cells(
    cells: Mapping[str, str], words: Mapping[str, str]
) -> ProductSpecification:
    """Return the product that the fields of a form specify.

    Args:
        cells: What is typed, by column; an empty cell counts as left out.
        words: What a field is called, by column, for complaints.

    Raises:
        InputError: A field is not right or missing.
    """
    found = check_rows([(1, cells)], PRODUCT_COLUMNS, ProductEntry)
    if found.faults:
        fault = found.faults[0]
        raise InputError(f"{words.get(fault.column, fault.column)} {fault.sentence}")
    return found.entries[0][1].specification()


def cells_of_product(found: ProductSpecification) -> dict[str, str]:
    """Return what the fields of a form hold for a product, by column."""
    sensor, target, sampling = found.sensor, found.target, found.sampling
    cells: dict[str, object] = {
        "name": found.name,
        "principle": sensor.principle.value,
        "size_mm": sensor.size_mm,
        "rated_distance_mm": sensor.rated_distance_mm,
        "output": sensor.output.value,
        "switching_frequency_hz": sensor.switching_frequency_hz,
        "target_material": target.material,
        "target_thickness_mm": target.thickness_mm,
        "target_side_mm": target.side_mm,
        "target_earthed": "yes" if target.earthed else "no",
        "wall_material": target.wall_material,
        "wall_mm": target.wall_mm or None,
        "temperature_lower_c": found.temperature_c.lower,
        "temperature_upper_c": found.temperature_c.upper,
    }
    for limit in sensor.data_sheet_limits:
        cells[f"{limit.symbol}_lower"] = limit.lower
        cells[f"{limit.symbol}_upper"] = limit.upper
    if found.supply_v is not None:
        cells["supply_lower_v"] = found.supply_v.lower
        cells["supply_upper_v"] = found.supply_v.upper
    if sampling is not None:
        cells |= {
            "plan": sampling.plan_kind,
            "method": sampling.method,
            "aql_percent": sampling.aql_percent,
            "level": sampling.level,
            "sample": sampling.sample,
            "figure": sampling.figure,
        }
    return {
        name: "" if cell is None else _text(cell)
        for name, cell in ((name, cells.get(name)) for name in PRODUCT_COLUMNS)
    }


def _text(cell: object) -> str:
    # Whole numbers without a point; others as they read back to the same number
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell)
