"""One run as plain text for a terminal; chooses the layout, works nothing out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rig.cli.text.table import SIMULATED, table

if TYPE_CHECKING:
    from rig.sheets.bench_words import Pairs
    from rig.sheets.figure_rows import BudgetTable, FigureRow, FigureRows
    from rig.sheets.run_sheet import RunSheet

_SWEEPS_NOTE = (
    "* single readings, datum and backlash applied, delay still in them; their\n"
    "  scatter is in the uncertainty of the figures"
)


def run_text(sheet: RunSheet) -> str:
    """Return a run with its figures and warnings."""
    part = f" part {sheet.part}" if sheet.part else ""
    sensor, _, target = sheet.name.partition(" against ")
    parts = [SIMULATED] if sheet.simulated else []
    parts.append(
        f"Run {sheet.run_id}: sensor {sensor}{part}, target {target},"
        f" {sheet.good} sweeps are good"
    )
    if sheet.void:
        parts.append(f"VOID: {sheet.void}")
    if sheet.outcome:
        parts.append(f"Outcome: {sheet.outcome}")
    parts += sheet.attempts
    if sheet.no_figures:
        parts.append(sheet.no_figures)
    parts += figure_lines(sheet.figure_groups)
    parts += [f"Note: {sentence}" for sentence in sheet.warnings]
    return "\n".join(parts)


def figure_lines(groups: Sequence[FigureRows]) -> list[str]:
    """Return one line a figure."""
    rows = [row for group in groups for row in group.rows]
    width = max((len(row.kind.name) for row in rows), default=0)
    return [f"{row.kind.name.ljust(width)}  {_figure(row)}" for row in rows]


def _figure(row: FigureRow) -> str:
    return f"none: {row.why_missing}" if row.text is None else str(row.text)


def shown_text(sheet: RunSheet) -> str:
    """Return a run with everything behind its figures."""
    # Deferred: it loads what verdicts are made from, and help must answer at once
    from rig.cli.text.standard_text import usable_text, verdicts_text

    parts = [run_text(sheet), _pairs(sheet.particulars), verdicts_text(sheet.verdicts)]
    if sheet.usable:
        parts.append(usable_text(sheet.usable, sheet.usable_statements))
    if sheet.factor is not None:
        head = f"reduction factor against {sheet.factor.against}: {sheet.factor.text}"
        parts.append("\n".join([head, *sheet.factor.statements]))
    parts += [sweeps_text(sheet), budget_text(sheet)]
    parts += [_pairs(sheet.proofs), _notes(sheet)]
    parts.append(f"on record: {sheet.record}; sha256 of the edges {sheet.checksum}")
    return "\n\n".join(part for part in parts if part)


def _pairs(pairs: Pairs) -> str:
    return "\n".join(f"{name}: {value}" for name, value in pairs)


def sweeps_text(sheet: RunSheet) -> str:
    """Return the sweeps of a run as a table."""
    rows = [
        [
            row.number,
            row.speed,
            row.operate_delayed,
            row.release_delayed,
            "" if row.used else row.state,
        ]
        for row in sheet.sweeps
    ]
    head = ["sweep", "speed mm/s", "operate mm*", "release mm*", ""]
    return f"{table(head, rows)}\n{_SWEEPS_NOTE}"


def budget_text(sheet: RunSheet) -> str:
    """Return the budgets of all figures as tables, and what none includes."""
    parts = []
    for budget in sheet.budgets:
        rows = [
            [
                row.name,
                row.evaluation,
                row.standard_uncertainty,
                row.sensitivity,
                row.degrees_of_freedom,
                row.share,
            ]
            for row in budget.rows
        ]
        head = [
            f"budget: {budget.figure_name}",
            "type",
            "standard uncertainty",
            "sensitivity",
            "degrees of freedom",
            "share",
        ]
        parts.append(f"{table(head, rows)}\n{_whole(budget)}")
    return "\n\n".join([*parts, sheet.not_included] if parts else [])


def _whole(budget: BudgetTable) -> str:
    """Return what the contributions of a budget make together."""
    combined = (
        f"combined standard uncertainty {budget.combined},"
        f" {budget.text.degrees_of_freedom} effective degrees of freedom; "
        if budget.combined
        else ""
    )
    return f"{combined}{budget.figure_name}: {budget.text}"


def _notes(sheet: RunSheet) -> str:
    return "\n".join(
        f"note {note.head}: {note.text}"
        + (f" ({note.withdrawn})" if note.withdrawn else "")
        for note in sheet.notes
    )


def truth_text(rows: Pairs) -> str:
    """Return what a simulated rig knows of itself."""
    return "\n".join(
        f"truth: {name} {value} (exact in the simulation)" for name, value in rows
    )
