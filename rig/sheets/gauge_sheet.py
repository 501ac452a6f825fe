"""A study of a gauge in rows, words and rounded numbers; draws nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.inquiry.gauge_readings import GaugeReading, GaugeReadings, of_row
from rig.inquiry.gauge_study import (
    AgreementResult,
    ComponentsResult,
    GaugeResult,
    LinearityResult,
    SingleGaugeResult,
    StabilityResult,
)
from rig.model.figure_kinds import FIGURE_KINDS, figure_name
from rig.model.rounding import format_without_uncertainty
from rig.sheets.agreement_rows import agreement_matter
from rig.sheets.component_rows import component_matter
from rig.sheets.gauge_matter import GaugeMatter, SheetTable
from rig.sheets.linearity_rows import linearity_matter
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.single_gauge_rows import single_gauge_matter
from rig.sheets.stability_rows import stability_matter

_OURS = {kind.unit for kind in FIGURE_KINDS}


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeSheet:
    """A study of a gauge worked out.

    Attributes:
        name: Where the readings come from.
        figure: Trade name of what was read.
        unit: Unit of the readings; "1" for ratings.
        noun: What one of them is: reading or rating.
        total: How many there are.
        simulated: How many of them a simulated rig made.
        matter: What the study says.
        readings: Every reading or rating, in its order.
        runs: The runs behind the readings; None for others.
        statements: What to know before trusting the figures.
    """

    name: str
    figure: str
    unit: str
    noun: str
    total: int
    simulated: int
    matter: GaugeMatter
    readings: SheetTable
    runs: RunsBehindSheet | None
    statements: tuple[str, ...]


def gauge_sheet(result: GaugeResult) -> GaugeSheet:
    """Lay a study of a gauge out."""
    source, matter = result.source, _matter(result)
    behind = runs_behind_sheet(source.runs) if source.runs else None
    of_runs = () if behind is None else behind.altered + behind.warnings
    return GaugeSheet(
        name=source.title,
        figure=figure_name(source.figure),
        unit=source.unit,
        noun="rating" if isinstance(result, AgreementResult) else "reading",
        total=len(source.readings),
        simulated=source.simulated,
        matter=matter,
        readings=_readings(source),
        runs=behind,
        statements=(*matter.statements, *source.statements, *of_runs),
    )


def _readings(source: GaugeReadings[float] | GaugeReadings[str]) -> SheetTable:
    """Lay every reading out; a column that says nothing is left out."""
    readings: Sequence[GaugeReading[float] | GaugeReading[str]] = source.readings
    last = "rating" if source.unit == "1" else f"reading, {source.unit}"
    head = ("no.", "part", "appraiser", "taken", "reference", last)
    rows = [
        (
            str(number),
            one.part,
            one.appraiser,
            "" if one.occasion == of_row(number) else one.occasion,
            "" if one.reference is None else _shown(one.reference, source.unit),
            _shown(one.value, source.unit),
        )
        for number, one in enumerate(readings, start=1)
    ]
    kept = [k for k in range(len(head)) if any(row[k] for row in rows)]
    return SheetTable(
        caption="Readings, in order of time or of the table",
        head=tuple(head[k] for k in kept),
        rows=tuple(tuple(row[k] for k in kept) for row in rows),
    )


def _shown(value: float | str, unit: str) -> str:
    if isinstance(value, str):
        return value
    # Other units than ours are those of a table, whose digits somebody meant
    return format_without_uncertainty(value, unit) if unit in _OURS else f"{value:.9g}"


def _matter(result: GaugeResult) -> GaugeMatter:
    match result:
        case ComponentsResult():
            return component_matter(result)
        case AgreementResult():
            return agreement_matter(result)
        case LinearityResult():
            return linearity_matter(result)
        case StabilityResult():
            return stability_matter(result)
        case SingleGaugeResult():
            return single_gauge_matter(result)
