"""The figures of a run and their budgets as rows of text; knows no page."""

from __future__ import annotations

from dataclasses import dataclass

from rig.model.figures import Contribution, Figure, RunFigures
from rig.model.rounding import (
    FigureText,
    format_decimals,
    format_degrees_of_freedom,
    format_figure,
    format_significant,
)

NO_TIME = "all sweeps ran at one speed, and a response time needs two"


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureRow:
    """A figure with its name, or the words why it is missing.

    Attributes:
        name: As the trade calls it.
        meaning: What it is, in a few words.
        text: The figure; None if it could not be had.
        why_missing: Why it could not be had; empty if it could.
    """

    name: str
    meaning: str
    text: FigureText | None
    why_missing: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureGroup:
    """Figures that are read together, under one heading."""

    heading: str
    rows: tuple[FigureRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """One contribution; all text.

    Attributes:
        name: What it is.
        evaluation: "A" or "B".
        standard_uncertainty: With its unit.
        sensitivity: With its unit if it has one.
        degrees_of_freedom: Whole, or "∞".
        share: Of the combined variance, with the sign %.
        share_percent: The same as a number, for a bar.
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
        figure_name: Whose it is.
        rows: The contributions.
        combined: Combined standard uncertainty with its unit; empty without one.
        text: The figure itself.
    """

    figure_name: str
    rows: tuple[BudgetRow, ...]
    combined: str
    text: FigureText


def figure_groups(figures: RunFigures) -> tuple[FigureGroup, ...]:
    """Lay out all figures of a run, each with its uncertainty or the words why none."""
    return (
        FigureGroup(heading="Observed points", rows=_observed(figures)),
        FigureGroup(heading="Noise-free thresholds", rows=_thresholds(figures)),
        FigureGroup(heading="Timing", rows=_timing(figures)),
    )


def budget_tables(figures: RunFigures) -> tuple[BudgetTable, ...]:
    """Lay out the budgets of the three main figures."""
    return (
        _budget("operate point", figures.operate),
        _budget("release point", figures.release),
        _budget("differential travel", figures.differential_travel),
    )


def _observed(figures: RunFigures) -> tuple[FigureRow, ...]:
    return (
        _row("Operate point", "gap at which the output operates", figures.operate),
        _row("Release point", "gap at which it goes back", figures.release),
        _row(
            "Differential travel", "release less operate", figures.differential_travel
        ),
        _row(
            "Differential travel, share",
            "of the operate point",
            figures.differential_travel_percent,
        ),
        _row(
            "Repeat accuracy, short term",
            f"short term, n = {figures.repeat_accuracy_short_term.n},"
            " not the standard's 8 h test",
            figures.repeat_accuracy_short_term,
        ),
    )


def _thresholds(figures: RunFigures) -> tuple[FigureRow, ...]:
    early = "how much earlier noise makes it"
    return (
        _row(
            "First-passage bias, operate",
            f"{early} operate",
            figures.first_passage_bias_operate,
        ),
        _row(
            "First-passage bias, release",
            f"{early} release",
            figures.first_passage_bias_release,
        ),
        _row(
            "Threshold of operating",
            "operate point less its bias",
            figures.threshold_operate,
        ),
        _row(
            "Threshold of releasing",
            "release point plus its bias",
            figures.threshold_release,
        ),
    )


def _timing(figures: RunFigures) -> tuple[FigureRow, ...]:
    meaning = "from switching to the latch, by the slope over speed"
    return (
        _row("Response time, operate", meaning, figures.response_time_operate),
        _row("Response time, release", meaning, figures.response_time_release),
    )


def _row(name: str, meaning: str, figure: Figure | None) -> FigureRow:
    if figure is None:
        return FigureRow(name=name, meaning=meaning, text=None, why_missing=NO_TIME)
    return FigureRow(name=name, meaning=meaning, text=format_figure(figure))


def _budget(name: str, figure: Figure) -> BudgetTable:
    variance = sum(_effect(line) ** 2 for line in figure.budget)
    expanded, factor = figure.expanded_uncertainty, figure.coverage_factor
    return BudgetTable(
        figure_name=name,
        rows=tuple(_budget_row(line, variance, figure.unit) for line in figure.budget),
        combined=(
            f"{format_significant(expanded / factor, 3)} {figure.unit}"
            if expanded is not None and factor
            else ""
        ),
        text=format_figure(figure),
    )


def _effect(line: Contribution) -> float:
    return line.sensitivity * line.standard_uncertainty


def _budget_row(line: Contribution, variance: float, unit: str) -> BudgetRow:
    share = 100.0 * _effect(line) ** 2 / variance if variance > 0.0 else 0.0
    factor_unit = "" if line.unit == unit else f" {unit}/{line.unit}"
    return BudgetRow(
        name=line.name,
        evaluation=line.evaluation.value,
        standard_uncertainty=(
            f"{format_significant(line.standard_uncertainty)} {line.unit}"
        ),
        sensitivity=f"{format_significant(line.sensitivity, 3)}{factor_unit}",
        degrees_of_freedom=format_degrees_of_freedom(line.degrees_of_freedom),
        share="< 1 %" if 0.0 < share < 1.0 else f"{format_decimals(share, 0)} %",
        share_percent=round(share, 1),
    )
