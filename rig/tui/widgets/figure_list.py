"""The figures of a run with their uncertainty; before that, what was remarked."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.model.figure_kinds import FIGURE_KINDS
from rig.model.figures import RunFigures
from rig.model.rounding import FigureText, format_figure
from rig.model.sweeps import Timetable
from rig.sheets.figure_rows import figure_groups
from rig.tui.pictures.block_letters import block_letters
from rig.tui.state.situation import RunShown

_BESIDE_LARGE = 3  # lines: its name, one below, and one to spare
_SMALLEST_LETTERS = 5
_EMPTY = "The figures come when the run has ended."
_WIDEST = max(len(kind.short) for kind in FIGURE_KINDS) + 2


class FigureList(VerticalScroll):
    """Shows what a run gave, and what was remarked on the way."""

    BORDER_TITLE = "Figures (95 %)"

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._shown: RunShown | None = None
        self._lines: list[Content] = [Content(_EMPTY)]
        self._large: FigureText | None = None

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
        self._large = None
        if run is None:
            self._lines = [Content(_EMPTY)]
            self._draw(layout=True)
            return
        lines: list[Content] = []
        if run.figures is not None:
            if simulated:
                lines.append(Content.assemble(("SIMULATED", "bold $text-warning")))
            lines += list_lines(run.figures, run.header.timetable)
            self._large = format_figure(run.figures.operate)
        else:
            wanted = run.header.sweeps_wanted
            lines.append(Content(f"{run.good} of {wanted} sweeps are good so far."))
        lines += [_remark("✗", sentence) for sentence in run.remarks]
        self._lines = lines
        self._draw(layout=layout)

    def on_resize(self) -> None:
        """Draw the operate point large where there is room for it."""
        self._draw(layout=True)

    def _draw(self, *, layout: bool) -> None:
        """Show the lines, above them the operate point as large as the rest leaves."""
        width = self.scrollable_content_region.width
        taken = sum(-(-len(line.plain) // max(1, width)) or 1 for line in self._lines)
        left = self.size.height - taken
        large = large_lines(self._large, width, left)
        text = self.query_one("#figures-text", Static)
        text.update(Content("\n").join([*large, *self._lines]), layout=layout)


def large_lines(figure: FigureText | None, width: int, height: int) -> list[Content]:
    """Return a figure in block letters below its name; none where they do not fit."""
    if figure is None or figure.why_none:
        return []
    letters = block_letters(
        f"{figure.cell} {figure.unit}", width, height - _BESIDE_LARGE
    )
    if len(letters) < _SMALLEST_LETTERS:
        return []
    return [
        Content.assemble(("operate point, 95 %", "$text-muted"), f", {figure.counts}"),
        *(Content.styled(line, "bold $primary") for line in letters),
        Content(""),
    ]


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
