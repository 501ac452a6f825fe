"""The pairs of a plan: what is due, what is done, and the figures that came of it."""

from __future__ import annotations

from dataclasses import dataclass

from rig.model.rounding import FigureText
from rig.sheets.plan_sheet import PlanRow
from rig.tui.state.status_words import BAD, CARE, GOOD, PLAIN, Sign
from rig.tui.widgets.fitting_table import FittingTable

_HEADS = (
    *("pair", "sensor", "target", "state", "sweeps", "operate mm (95 %)"),
    *("part", "release mm (95 %)", "diff. travel mm (95 %)"),
)
_PART = _HEADS.index("part")
DUE = Sign("·", "due", PLAIN)
BEGUN = Sign("◐", "begun", CARE)
MEASURING = Sign("▶", "now", CARE)
DONE = Sign("✓", "done", GOOD)
CUT_REPEAT = Sign("◐", "repeat", CARE)
SKIPPED = Sign("↷", "skipped", PLAIN)
NO_FIGURES = Sign("✗", "none", BAD)
VOID = Sign("✗", "void", BAD)


@dataclass(frozen=True, slots=True, kw_only=True)
class PairRow:
    """One pair as the table shows it.

    Attributes:
        row: What the plan asks for, and its figures.
        state: One of the signs above.
        sweeps: Good sweeps, and how many are wanted.
    """

    row: PlanRow
    state: Sign
    sweeps: str


class PairTable(FittingTable):
    """Shows the pairs of a plan, one row each."""

    def __init__(self, *, id: str) -> None:
        super().__init__("Pairs of this plan", id=id)
        self._shown: tuple[PairRow, ...] | None = None

    def show_pairs(self, rows: tuple[PairRow, ...]) -> None:
        """Show these pairs; without a column of parts if no pair names one."""
        if rows == self._shown:
            return
        self._shown = rows
        named = any(one.row.part != "–" for one in rows)
        self.show(*_columns([_HEADS, *map(_cells, rows)], parts=named))


def _columns(
    lines: list[tuple[str, ...]], *, parts: bool
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return heads and rows, with the column of parts or without it."""
    if not parts:
        lines = [(*line[:_PART], *line[_PART + 1 :]) for line in lines]
    return lines[0], lines[1:]


def _cells(one: PairRow) -> tuple[str, ...]:
    row = one.row
    return (
        row.number,
        row.sensor,
        row.target,
        str(one.state),
        one.sweeps,
        row.outcome or _figure(row.operate),
        row.part,
        _figure(row.release),
        _figure(row.travel),
    )


def pair_words(one: PairRow) -> str:
    """Return a pair in one line: state, what it is of, and the operate point in mm."""
    row = one.row
    part = "" if row.part == "–" else f", part {row.part}"
    found = row.outcome or ("" if row.operate is None else f"{row.operate.brief}")
    what = f"{one.state.glyph} {row.number} {row.sensor} : {row.target}{part}"
    return f"{what}  {found or one.state.word}"


def _figure(shown: FigureText | None) -> str:
    return "–" if shown is None else shown.cell
