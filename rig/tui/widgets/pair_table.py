"""The pairs of a plan: what is due, what is done, and the figures that came of it."""

from __future__ import annotations

from dataclasses import dataclass

from textual.widgets import DataTable

from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.records import PlanItem
from rig.tui.state.status_words import BAD, CARE, GOOD, PLAIN, Sign

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
VOID = Sign("✗", "void", BAD)


@dataclass(frozen=True, slots=True, kw_only=True)
class PairRow:
    """One pair as the table shows it.

    Attributes:
        item: What the plan asks for.
        state: One of the signs above.
        good: Good sweeps.
        operate: None until it is measured.
        release: None until it is measured.
        travel: Differential travel; None until it is measured.
    """

    item: PlanItem
    state: Sign
    good: int
    operate: Figure | None = None
    release: Figure | None = None
    travel: Figure | None = None


class PairTable(DataTable[str]):
    """Shows the pairs of a plan, one row each."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, cursor_type="row", zebra_stripes=True)
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
        hidden = set() if any(row.item.part for row in rows) else {"part"}
        for name, width in _COLUMNS.items():
            if name not in hidden:
                self.add_column(name, width=width, key=name)
        for row in rows:
            cells = [cell for name, cell in _cells(row).items() if name not in hidden]
            self.add_row(*cells, key=str(row.item.index))

    def _change(self, new: PairRow, old: PairRow) -> None:
        before = _cells(old)
        for name, text in _cells(new).items():
            if text != before[name]:
                self.update_cell(str(new.item.index), name, text)


def _cells(row: PairRow) -> dict[str, str]:
    item = row.item
    texts = (
        str(item.index + 1),
        item.sensor.name,
        item.target.name,
        str(row.state),
        f"{row.good}/{item.sweeps_wanted}",
        _figure(row.operate),
        item.part or "–",
        _figure(row.release),
        _figure(row.travel),
    )
    return dict(zip(_COLUMNS, texts, strict=True))


def _figure(figure: Figure | None) -> str:
    if figure is None:
        return "–"
    shown = format_figure(figure)
    if shown.why_none:
        return f"{shown.value} (no ±)"
    return f"{shown.value} ± {shown.expanded_uncertainty}"
