"""The figures of a run with their uncertainty; before that, what was remarked."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.model.figure_kinds import FIGURE_KINDS
from rig.model.figures import RunFigures
from rig.model.sweeps import Timetable
from rig.sheets.figure_rows import figure_groups
from rig.tui.state.situation import RunShown

_EMPTY = "The figures come when the run has ended."
_WIDEST = max(len(kind.short) for kind in FIGURE_KINDS) + 2


class FigureList(VerticalScroll):
    """Shows what a run gave, and what was remarked on the way."""

    BORDER_TITLE = "Figures (95 %)"

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._shown: RunShown | None = None
        self._lines: list[Content] = [Content(_EMPTY)]

    def compose(self) -> ComposeResult:
        """Begin empty."""
        yield Static(_EMPTY, id="figures-text")

    def show(self, run: RunShown | None, *, simulated: bool) -> None:
        """Show a run."""
        if run is self._shown:
            return
        # A count that goes up takes no other room, and a layout takes time
        layout = not _counts_on(self._shown, run)
        self._shown = run
        if run is None:
            self._lines = [Content(_EMPTY)]
            self._draw(layout=True)
            return
        lines: list[Content] = []
        if run.figures is not None:
            if simulated:
                lines.append(Content.assemble(("SIMULATED", "bold $text-warning")))
            lines += list_lines(run.figures, run.header.timetable)
        else:
            wanted = run.header.sweeps_wanted
            lines.append(Content(f"{run.good} of {wanted} sweeps are good so far."))
        lines += [_remark("✗", sentence) for sentence in run.remarks]
        self._lines = lines
        self._draw(layout=layout)

    def _draw(self, *, layout: bool) -> None:
        text = self.query_one("#figures-text", Static)
        text.update(Content("\n").join(self._lines), layout=layout)


def _counts_on(old: RunShown | None, new: RunShown | None) -> bool:
    if old is None or new is None or old.figures is not new.figures:
        return False
    return old.header == new.header and old.remarks == new.remarks


def list_lines(figures: RunFigures, timetable: Timetable | None) -> list[Content]:
    """Return the figures of a run, without those missing, and their warnings."""
    lines: list[Content] = []
    rows = [row for group in figure_groups(figures, timetable) for row in group.rows]
    for row in rows:
        if row.text is None:
            continue
        lines.append(
            Content.assemble(
                (f"{row.kind.short:<{_WIDEST}}", "$text-muted"),
                (row.text.brief, "bold"),
            )
        )
        lines.append(Content(" " * _WIDEST + row.text.counts))
        if row.text.why_none:
            lines.append(Content(f"no uncertainty: {row.text.why_none}"))
    lines += [_remark("!", sentence) for sentence in figures.warnings]
    return lines


def _remark(glyph: str, sentence: str) -> Content:
    return Content.assemble((f"{glyph} ", "bold $text-warning"), sentence)
