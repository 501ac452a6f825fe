"""A plan with its figures as plain text; all numbers come from its sheet."""

from __future__ import annotations

from collections.abc import Callable

from rig.cli.text.table import SIMULATED, table
from rig.model.rounding import FigureText
from rig.sheets.plan_sheet import PlanRow, PlanSheet

_EXPANDED = "± expanded uncertainty, about 95 % coverage"
_FACTOR = "factor: operate point over that of the same sensor on the standard target"
_COLUMNS: dict[str, Callable[[PlanRow], str]] = {
    "run": lambda row: row.run_id or "–",
    "sensor": lambda row: row.sensor,
    "part": lambda row: row.part,
    "target": lambda row: row.target,
    "outcome": lambda row: row.outcome or "–",
    "operate mm": lambda row: _cell(row.operate),
    "release mm": lambda row: _cell(row.release),
    "differential travel mm": lambda row: _cell(row.travel),
    "n": lambda row: row.readings,
    "factor": lambda row: _cell(row.factor),
}


def plan_text(sheet: PlanSheet) -> str:
    """Return the items of a plan as a table, with what goes with their figures."""
    hidden = set() if sheet.has_factors else {"factor"}
    if all(row.part == "–" for row in sheet.rows):
        hidden.add("part")
    if not any(row.outcome for row in sheet.rows):
        hidden.add("outcome")
    shown = {name: of for name, of in _COLUMNS.items() if name not in hidden}
    rows = [[of(row) for of in shown.values()] for row in sheet.rows]
    return "\n".join(
        [
            *([SIMULATED] if sheet.simulated else []),
            sheet.name,
            table(list(shown), rows),
            _EXPANDED,
            *([_FACTOR] if sheet.has_factors else []),
            *sheet.statements,
        ]
    )


def _cell(text: FigureText | None) -> str:
    return "–" if text is None else text.cell
