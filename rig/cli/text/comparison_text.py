"""Two runs of one part beside one another as plain text."""

from __future__ import annotations

from rig.cli.text.table import SIMULATED, table
from rig.sheets.comparison_sheet import ComparedBudget, ComparisonSheet


def comparison_text(sheet: ComparisonSheet) -> str:
    """Return figures, budgets and what they rest on, of both runs."""
    parts = [SIMULATED] if sheet.simulated else []
    parts += [compared_figures_text(sheet), _knowledge(sheet)]
    parts += [_budget(budget, sheet.heads) for budget in sheet.budgets]
    if sheet.budgets:
        parts.append(sheet.left_out)
    parts.append(sheet.not_included)
    return "\n\n".join(parts)


def compared_figures_text(sheet: ComparisonSheet) -> str:
    """Return the figures of both runs and what their differences say."""
    parts = [
        f"{sheet.name}\n{sheet.lead}",
        _figures(sheet),
        "\n".join([*sheet.statements, sheet.common]),
    ]
    return "\n\n".join(parts)


def _figures(sheet: ComparisonSheet) -> str:
    rows = [
        [
            row.name,
            row.earlier.brief,
            row.later.brief,
            row.ratio,
            f"{row.difference.brief}, {row.agreement}",
        ]
        for row in sheet.figures
    ]
    earlier, later = (head.lower() for head in sheet.heads)
    return table(
        ["figure", earlier, later, "± in % of earlier", "later minus earlier"], rows
    )


def _knowledge(sheet: ComparisonSheet) -> str:
    lines = []
    for name, values in sheet.knowledge:
        lines.append(name)
        lines += [
            f"  {head.lower()}: {value}"
            for head, value in zip(sheet.heads, values, strict=True)
        ]
    return "\n".join(lines)


def _budget(budget: ComparedBudget, heads: tuple[str, str]) -> str:
    rows = [
        [
            row.cause,
            _sourced(row.earlier, row.earlier_source),
            _sourced(row.later, row.later_source),
            row.change,
        ]
        for row in budget.rows
    ]
    rows.append(["expanded", budget.earlier, budget.later, ""])
    earlier, later = (head.lower() for head in heads)
    return table([f"budget: {budget.name}", earlier, later, "change"], rows)


def _sourced(size: str, source: str) -> str:
    return f"{size}, {source}" if source else size
