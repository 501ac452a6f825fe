"""The pairs of a plan: what is due, what is done, and the figures that came of it."""

from __future__ import annotations

from dataclasses import dataclass

from rig.model.rounding import FigureText
from rig.sheets.plan_sheet import PlanRow
from rig.tui.state.status_words import BAD, CARE, GOOD, PLAIN, Sign
from rig.tui.widgets.row_table import RowTable

# Names with their widths
_COLUMNS = {
    "pair": 4,
    "sensor": 11,
    "target": 15,
    "state": 9,
    "sweeps": 6,
    "operate mm (95 %)": 17,
    "part": 8,
    "release mm (95 %)": 19,
    "diff. travel mm (95 %)": 22,
}
DUE = Sign("·", "due", PLAIN)
BEGUN = Sign("◐", "begun", CARE)
MEASURING = Sign("▶", "now", CARE)
DONE = Sign("✓", "done", GOOD)
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


class PairTable(RowTable):
    """Shows the pairs of a plan, one row each."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._shown: tuple[PairRow, ...] = ()

    def show(self, rows: tuple[PairRow, ...]) -> None:
        """Show these pairs; a cell that stays the same is left alone."""
        if rows == self._shown:
            return
        if len(rows) != len(self._shown):
            self._fill(rows)
        else:
            for new, old in zip(rows, self._shown, strict=True):
                self._change(new, old)
        self._shown = rows

    def _fill(self, rows: tuple[PairRow, ...]) -> None:
        """Begin anew; without a column of parts if no pair names one."""
        self.clear(columns=True)
        hidden = set() if any(one.row.part != "–" for one in rows) else {"part"}
        for name, width in _COLUMNS.items():
            if name not in hidden:
                self.add_column(name, width=width, key=name)
        for row in rows:
            cells = [cell for name, cell in _cells(row).items() if name not in hidden]
            self.add_row(*cells, key=row.row.number)

    def _change(self, new: PairRow, old: PairRow) -> None:
        before = _cells(old)
        for name, text in _cells(new).items():
            if text != before[name]:
                self.update_cell(new.row.number, name, text)


def _cells(one: PairRow) -> dict[str, str]:
    row = one.row
    texts = (
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
    return dict(zip(_COLUMNS, texts, strict=True))


def _figure(shown: FigureText | None) -> str:
    return "–" if shown is None else shown.cell
