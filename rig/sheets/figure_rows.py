"""The figures of a run and their budgets as rows of text; knows no page."""

from __future__ import annotations

from dataclasses import dataclass

from rig.model.bench_items import NOT_INCLUDED
from rig.model.figure_kinds import (
    FigureGroup,
    FigureKind,
    figures_by_kind,
    figures_with_budget,
    why_missing,
)
from rig.model.figures import Contribution, Figure, RunFigures
from rig.model.rounding import (
    FigureText,
    format_decimals,
    format_degrees_of_freedom,
    format_figure,
    format_significant,
    unit_words,
)
from rig.model.sweeps import Timetable


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureRow:
    """A figure with its name, or the words why it is missing.

    Attributes:
        kind: Kind of the figure: name, meaning, unit.
        text: The figure; None if it could not be had.
        why_missing: Why it could not be had; empty if it could.
    """

    kind: FigureKind
    text: FigureText | None
    why_missing: str = ""

    @property
    def name(self) -> str:
        """Name of the figure at the beginning of a row."""
        return self.kind.name[0].upper() + self.kind.name[1:]

    @property
    def meaning(self) -> str:
        """What the figure is, in a few words."""
        pooled = "" if self.text is None else self.text.pooled
        return f"{self.kind.meaning}; {pooled}" if pooled else self.kind.meaning


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureRows:
    """Figures that are read together, under one heading."""

    heading: str
    rows: tuple[FigureRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """One contribution; all text.

    Attributes:
        name: What it is.
        evaluation: "A" or "B".
        standard_uncertainty: Standard uncertainty with its unit.
        sensitivity: Sensitivity, with its unit if it has one.
        degrees_of_freedom: Whole, or "∞".
        share: Share of the combined variance, with the sign %.
        share_percent: Share of the combined variance as a number, for a bar.
    """

    name: str
    evaluation: str
    standard_uncertainty: str
    sensitivity: str
    degrees_of_freedom: str
    share: str
    share_percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetTable:
    """The budget behind one figure.

    Attributes:
        figure_name: Name of the figure that the budget belongs to.
        rows: The contributions; those of 0 are left out unless all are.
        combined: Combined standard uncertainty with its unit; empty without one.
        text: The figure itself.
    """

    figure_name: str
    rows: tuple[BudgetRow, ...]
    combined: str
    text: FigureText


def figure_groups(
    figures: RunFigures, timetable: Timetable | None
) -> tuple[FigureRows, ...]:
    """Lay out all figures of a run, each with its uncertainty or the words why none."""
    rows = [
        (kind.group, _row(kind, one, figures))
        for kind, one in figures_by_kind(figures, timetable)
    ]
    return tuple(
        FigureRows(
            heading=group.value, rows=tuple(row for own, row in rows if own is group)
        )
        for group in FigureGroup
        if any(own is group for own, _ in rows)
    )


def budget_tables(figures: RunFigures) -> tuple[BudgetTable, ...]:
    """Lay out the budgets of all figures that have one."""
    return tuple(
        budget_table(kind.name, figure) for kind, figure in figures_with_budget(figures)
    )


def not_included_words() -> str:
    """Say what no budget includes."""
    return f"Not included: {'; '.join(NOT_INCLUDED)}."


def budget_table(name: str, figure: Figure) -> BudgetTable:
    """Lay out the budget of a figure that has one."""
    variance = sum(_effect(line) ** 2 for line in figure.budget)
    expanded, factor = figure.expanded_uncertainty, figure.coverage_factor
    return BudgetTable(
        figure_name=name,
        rows=tuple(
            _budget_row(line, variance, figure.unit)
            for line in figure.budget
            if line.standard_uncertainty > 0.0 or variance == 0.0
        ),
        combined=(
            f"{format_significant(expanded / factor, 3)} {unit_words(figure.unit)}"
            if expanded is not None and factor
            else ""
        ),
        text=format_figure(figure),
    )


def _row(kind: FigureKind, figure: Figure | None, figures: RunFigures) -> FigureRow:
    return FigureRow(
        kind=kind,
        text=None if figure is None else format_figure(figure),
        why_missing=why_missing(kind.field, figures) if figure is None else "",
    )


def share_words(share_percent: float) -> str:
    """Write a share of a combined variance, with the sign %."""
    if 0.0 < share_percent < 1.0:
        return "< 1 %"
    return f"{format_decimals(share_percent, 0)} %"


def _effect(line: Contribution) -> float:
    return line.sensitivity * line.standard_uncertainty


def _factor_unit(line_unit: str, unit: str) -> str:
    """Return the unit of a sensitivity after a space; empty for a plain number."""
    if line_unit == unit:
        return ""
    # A share of the way is a plain number: what turns it into the figure has its unit
    words = unit_words(unit) if line_unit == "mm/mm" else f"{unit}/{line_unit}"
    return f" {words}" if words else ""


def _budget_row(line: Contribution, variance: float, unit: str) -> BudgetRow:
    share = 100.0 * _effect(line) ** 2 / variance if variance > 0.0 else 0.0
    factor_unit = _factor_unit(line.unit, unit)
    return BudgetRow(
        name=line.name,
        evaluation=line.evaluation.value,
        standard_uncertainty=(
            f"{format_significant(line.standard_uncertainty)} {line.unit}"
        ),
        sensitivity=f"{format_significant(line.sensitivity, 3)}{factor_unit}",
        degrees_of_freedom=format_degrees_of_freedom(line.degrees_of_freedom),
        share=share_words(share),
        share_percent=round(share, 1),
    )
