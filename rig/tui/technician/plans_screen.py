"""All plans: make one, begin one, go on with one where it ended."""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, VerticalScroll
from textual.widgets import DataTable, Static

from rig.errors import RigError
from rig.records import Reader
from rig.tui.frame.resting_cursor import RestingCursor
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import NEW, bound
from rig.tui.state.situation import Situation
from rig.tui.technician.plan_day_screen import PlanDay
from rig.tui.technician.plan_lines import (
    FOLDER,
    HEADS,
    NOT_BEGUN,
    UNFINISHED,
    PlanLine,
    read_plans,
)
from rig.tui.technician.plan_maker_screen import PlanMaker
from rig.tui.technician.plan_state import PlanStanding, not_begun, on_record
from rig.tui.widgets.fitting_table import FittingTable
from rig.tui.widgets.pair_table import pair_words
from rig.tui.widgets.progress_line import ProgressLine


class PlansScreen(WorkScreen):
    """Choose a plan for the day."""

    HEADING = "Plans"
    AUTO_FOCUS = "#plans"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(NEW, "make", "New plan", id="plan.new", tooltip="Make a plan by ticking"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._lines: list[PlanLine] | None = None
        self._resting = RestingCursor(self, self._look_closer)

    def compose_body(self) -> ComposeResult:
        """Yield the list, and the pairs of the plan under the cursor."""
        with Container(id="plans-and-pairs"):
            yield FittingTable("Plans", id="plans")
            with VerticalScroll(id="plan-detail", classes="framed", can_focus=False):
                yield ProgressLine(id="plan-share")
                yield Static("", id="plan-pairs")

    def resumed(self) -> None:
        """Read what has changed since."""
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        folder = self.app.folder / FOLDER
        try:
            reader = Reader(self.app.records())
            lines, errors = read_plans(reader, folder, self.app.catalogue)
        except RigError as exc:
            lines, errors = [], [exc]
        for error in errors[:1]:
            self.hand_over(self.app.show_problem, error)
        self.hand_over(self._take, lines)

    def _take(self, lines: list[PlanLine]) -> None:
        if lines != self._lines:
            self._lines = lines
            table = self.query_one(FittingTable)
            table.show(HEADS, [line.cells() for line in lines])
        self.show_again()

    # ---------------------------------------------------------- beside the list

    @on(DataTable.RowHighlighted, "#plans")
    def _moved(self) -> None:
        self._resting.moved()

    def _under_cursor(self) -> PlanLine | None:
        row = self.query_one(FittingTable).cursor_row
        lines = self._lines or []
        return lines[row] if 0 <= row < len(lines) else None

    def _look_closer(self) -> None:
        line = self._under_cursor()
        if line is None:
            return
        if line.entry is not None:
            self._read_pairs(line, line.entry.plan_id)
        elif line.plan is not None:
            self._take_pairs(line, not_begun(line.plan))

    @work(thread=True, exclusive=True, exit_on_error=False, group="detail")
    def _read_pairs(self, line: PlanLine, plan_id: str) -> None:
        try:
            standing = on_record(plan_id, self.app.records(), None)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take_pairs, line, standing)

    def _take_pairs(self, line: PlanLine, standing: PlanStanding) -> None:
        if line == self._under_cursor():
            simulated = line.entry is not None and line.entry.simulated
            made = "  SIMULATED" if simulated else ""
            self.query_one("#plan-detail").border_title = f"Its pairs{made}"
            self.query_one(ProgressLine).progress = standing.bar()
            self.put("#plan-pairs", "\n".join(map(pair_words, standing.rows())))

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        lines = self._lines or []
        states = {line.state for line in lines}
        if not lines:
            return "There is no plan yet. Press n to make one by ticking."
        if UNFINISHED in states:
            return "Enter resumes the plan where it ended. n makes a new one."
        if NOT_BEGUN in states:
            return "Enter opens the plan to begin it. n makes a new one."
        return "All plans are done: Enter shows results. n makes a new plan."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the list."""
        self.query_one("#plans").focus()

    @on(DataTable.RowSelected, "#plans")
    def _chosen(self, event: DataTable.RowSelected) -> None:
        line = (self._lines or [])[event.cursor_row]
        if line.entry is not None:
            self.app.push_screen(PlanDay(plan_id=line.entry.plan_id))
        elif line.plan is not None:
            self.app.push_screen(PlanDay(plan=line.plan))

    def action_make(self) -> None:
        """Make a plan."""
        self.app.push_screen(PlanMaker())
