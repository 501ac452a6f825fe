"""A study of a gauge in rows, words and rounded numbers; draws nothing."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.gauge_study import (
    AgreementResult,
    ComponentsResult,
    GaugeResult,
    LinearityResult,
    SingleGaugeResult,
    StabilityResult,
)
from rig.model.figure_kinds import figure_name
from rig.sheets.agreement_rows import agreement_matter
from rig.sheets.component_rows import component_matter
from rig.sheets.gauge_matter import GaugeMatter
from rig.sheets.linearity_rows import linearity_matter
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.single_gauge_rows import single_gauge_matter
from rig.sheets.stability_rows import stability_matter


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
        runs=behind,
        statements=(*matter.statements, *source.statements, *of_runs),
    )


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
