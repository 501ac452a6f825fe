"""Readings, ratings and references for a study of the measurement, from tables."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rig.analysis.numbers.given import one_unit
from rig.catalogue.table_input import TableRow, read_table
from rig.errors import InputError
from rig.inquiry.gauge_readings import (
    RATING,
    READING,
    GaugeReading,
    GaugeReadings,
    of_row,
)

_PASSED_OVER = ("order", "trial")


def readings_of_table(path: Path, columns: Sequence[str]) -> GaugeReadings[float]:
    """Take readings from a table.

    Args:
        path: CSV file with the columns reading and unit, those asked for, and order,
            trial, part, appraiser, subgroup or reference where it has them.
        columns: Columns that it must have besides.

    Raises:
        InputError: A column is missing, a cell is not right, or units are mixed.
    """
    rows = _rows(path, (*columns, "reading", "unit"), ("part", "appraiser", "subgroup"))
    return GaugeReadings(
        title=str(path),
        figure=READING,
        unit=one_unit((row.text("unit") for row in rows), str(path)),
        readings=tuple(
            GaugeReading(
                part=row.part("part") if row.optional_text("part") else "",
                appraiser=row.optional_text("appraiser"),
                value=row.number("reading"),
                occasion=row.optional_text("subgroup") or of_row(number),
                reference=row.optional_number("reference"),
            )
            for number, row in enumerate(rows, start=1)
        ),
    )


def ratings_of_table(path: Path) -> GaugeReadings[str]:
    """Take ratings from a table.

    Args:
        path: CSV file with the columns part, appraiser and rating, and reference, order
            or trial where it has them.

    Raises:
        InputError: A column is missing, a cell is empty, or a part has two references.
    """
    rows = _rows(path, ("part", "appraiser", RATING), ())
    return GaugeReadings(
        title=str(path),
        figure=RATING,
        unit="1",
        readings=tuple(
            GaugeReading(
                part=row.part("part"),
                appraiser=row.text("appraiser"),
                value=row.text(RATING),
                occasion=of_row(number),
                reference=row.optional_text("reference") or None,
            )
            for number, row in enumerate(rows, start=1)
        ),
    )


def reference_table(path: Path, unit: str) -> dict[str, float]:
    """Read the reference values of parts.

    Args:
        path: CSV file with the columns part, reference and unit.
        unit: Unit of the readings, which theirs must be.

    Raises:
        InputError: A column is missing, a cell is not right, a part stands there twice,
            or the unit is another one.
    """
    rows = read_table(path, required=("part", "reference", "unit"))
    one_unit([unit, *(row.text("unit") for row in rows)], str(path))
    return {part: row.number("reference") for part, row in _by_part(rows).items()}


def category_table(path: Path) -> dict[str, str]:
    """Read the right category of parts.

    Args:
        path: CSV file with the columns part and reference.

    Raises:
        InputError: A column is missing, a cell is empty, or a part stands there twice.
    """
    rows = read_table(path, required=("part", "reference"))
    return {part: row.text("reference") for part, row in _by_part(rows).items()}


def _rows(
    path: Path, required: Sequence[str], optional: Sequence[str]
) -> list[TableRow]:
    left = [name for name in (*optional, "reference") if name not in required]
    rows = read_table(path, required=required, optional=(*left, *_PASSED_OVER))
    for row in rows:
        for name in required:
            row.text(name)
    return rows


def _by_part(rows: Sequence[TableRow]) -> dict[str, TableRow]:
    found: dict[str, TableRow] = {}
    for row in rows:
        part = row.part("part")
        if part in found:
            raise InputError(
                f"{row.where}: part {part} stands there twice", hint="keep one row"
            )
        found[part] = row
    return found
