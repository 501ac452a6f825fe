"""The trail of a lot: who changed what, when, before, after, why."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.errors import RigError
from rig.inquiry.lot_trail import LotTrail, lot_trail
from rig.sheets.lot_sheet import LotHead
from rig.sheets.trail_rows import NOTHING, TrailRow, lot_trail_words, trail_rows
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.inspector.lot_lines import head_line
from rig.tui.state.keys import bound
from rig.tui.state.local_time import with_local_times
from rig.tui.state.situation import Situation


class LotTrailScreen(WorkScreen):
    """Read the trail of one lot.

    Args:
        head: The lot.
    """

    HEADING = "Trail"
    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("escape", "app.pop_screen", "Back", id="trail.back"),
    ]

    def __init__(self, head: LotHead) -> None:
        super().__init__()
        self._head = head

    def compose_body(self) -> ComposeResult:
        """Yield the lot and its trail."""
        yield Static(head_line(self._head))
        with VerticalScroll(id="trail-scroll"):
            yield Static("Reading …", id="trail-rows")

    def opened(self) -> None:
        """Read the trail."""
        self._read()

    def take_focus(self, now: Situation) -> None:
        """Put the focus on what scrolls."""
        self.query_one("#trail-scroll").focus()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Arrow keys scroll. Escape leads back to the lot."

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            with self.app.records().snapshot() as moment:
                found = lot_trail(moment, self._head.lot_id)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._show_trail, found)

    def _show_trail(self, found: LotTrail) -> None:
        rows = [line for row in trail_rows(found.entries) for line in _lines(row)]
        said = [Content(words) for words in lot_trail_words(found)]
        words = Content("\n").join([*said, *rows])
        self.query_one("#trail-rows", Static).update(words)


def _lines(row: TrailRow) -> list[Content]:
    states = [("before", row.before), ("after", row.after), ("why", row.why)]
    return [
        Content.assemble(
            f"{row.number}. ",
            (row.action, "bold"),
            f"  {with_local_times(row.when)}, by {row.who}",
        ),
        *(
            Content.assemble((f"   {name}: ", "$text-muted"), words)
            for name, words in states
            if words != NOTHING
        ),
    ]
