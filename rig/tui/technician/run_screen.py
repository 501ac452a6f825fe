"""One run: figures, verdicts, budget, points, sweeps, notes."""

from __future__ import annotations

from typing import ClassVar, Final

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.reactive import reactive
from textual.widgets import ContentSwitcher, DataTable, Static

from rig.errors import InputError, RigError
from rig.records.notes import NoteBook
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import REPORT, UNDO, WRITE
from rig.tui.state.report_files import report_of_runs
from rig.tui.state.situation import Situation
from rig.tui.technician.note_form import NoteForm, draft_name
from rig.tui.technician.run_sections import (
    SWEEP_HEADS,
    RunFacts,
    budget_lines,
    figure_lines,
    head_lines,
    note_lines,
    points_picture,
    read_facts,
    sweep_cells,
    verdict_lines,
)
from rig.tui.widgets.picture_view import PictureView

SECTIONS: Final = ("Figures", "Verdicts", "Budget", "Points", "Sweeps", "Notes")
_LINES = {
    "Figures": figure_lines,
    "Verdicts": verdict_lines,
    "Budget": budget_lines,
    "Notes": note_lines,
}


class RunScreen(WorkScreen):
    """Read one run, add notes to it, write its report."""

    HEADING = "Run"
    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("tab", "step(1)", "Next", id="run.next", tooltip="Turn the page"),
        Binding("shift+tab", "step(-1)", "Turn back", id="run.turn-back", show=False),
        *(
            Binding(str(number), f"section({number - 1})", name, show=False)
            for number, name in enumerate(SECTIONS, start=1)
        ),
        Binding(
            "t",
            "in_words",
            "In words",
            id="picture.words",
            show=False,
            tooltip="Show the points as text or as a chart",
        ),
        Binding(WRITE, "note", "Note", id="run.note", tooltip="Add a note to this run"),
        Binding(
            UNDO,
            "take_back",
            "Undo note",
            id="run.undo-note",
            tooltip="Withdraw the last note (it stays on record, struck out)",
        ),
        Binding(
            REPORT, "report", "Report", id="run.report", tooltip="Write its report"
        ),
        Binding("escape", "app.pop_screen", "Back", id="run.leave"),
    ]

    section: reactive[int] = reactive(0, init=False)
    """Which section is in view."""

    def __init__(self, run_id: str) -> None:
        super().__init__()
        self._run_id = run_id
        self._facts: RunFacts | None = None

    def compose_body(self) -> ComposeResult:
        """Yield head, list of sections and the sections."""
        yield Static("", id="run-head")
        yield Static(self._strip(), id="run-sections")
        with ContentSwitcher(initial=SECTIONS[0], id="run-switch"):
            for name in SECTIONS:
                if name == "Points":
                    yield PictureView(id=name)
                elif name == "Sweeps":
                    yield DataTable(id=name, cursor_type="row", zebra_stripes=True)
                else:
                    with VerticalScroll(id=name):
                        yield Static("Reading …", id=f"text-{name}")

    def on_mount(self) -> None:
        """Read the run."""
        super().on_mount()
        self.query_one("#Sweeps", DataTable).add_columns(*SWEEP_HEADS)
        self._read()

    def _strip(self) -> Content:
        parts: list[str | tuple[str, str]] = []
        for number, name in enumerate(SECTIONS):
            here = number == self.section
            text = f" {number + 1} {name} "
            parts.append((f"▸{text}", "bold $primary") if here else f" {text}")
        return Content.assemble(*parts)

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            facts = read_facts(self.app.records(), self._run_id)
        except RigError as exc:
            self.app.call_later(self.app.show_problem, exc)
            return
        self.app.call_later(self._take, facts)

    def _take(self, facts: RunFacts) -> None:
        if not self.is_attached:
            return
        self._facts = facts
        self.query_one("#run-head", Static).update(head_lines(facts))
        for name, lines in _LINES.items():
            self.query_one(f"#text-{name}", Static).update(lines(facts))
        self.query_one(PictureView).picture = points_picture(facts)
        table = self.query_one("#Sweeps", DataTable)
        table.clear()
        for cells in sweep_cells(facts):
            table.add_row(*cells)

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Tab or 1 to 6 turn the page. Ctrl+L adds a note, Ctrl+O the report."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the section in view."""
        self.query_one(f"#{SECTIONS[self.section]}").focus()

    def watch_section(self) -> None:
        """Show another section."""
        self.query_one("#run-sections", Static).update(self._strip())
        self.query_one("#run-switch", ContentSwitcher).current = SECTIONS[self.section]
        self.take_focus(self.app.situation)

    def action_step(self, by: int) -> None:
        """Go to the next section, or back."""
        self.section = (self.section + by) % len(SECTIONS)

    def action_section(self, number: int) -> None:
        """Go to a section."""
        self.section = number

    def action_in_words(self) -> None:
        """Show the picture as text, or draw it again."""
        view = self.query_one(PictureView)
        view.in_words = not view.in_words

    # --------------------------------------------------------------------- notes

    @work(exclusive=True, group="note")
    async def action_note(self) -> None:
        """Write a note and add it."""
        text = await self.app.push_screen_wait(NoteForm(self._run_id))
        if text:
            self.section = SECTIONS.index("Notes")
            self._keep_note(text, None)

    def action_take_back(self) -> None:
        """Withdraw the last note that stands."""
        notes = () if self._facts is None else self._facts.found.notes
        standing = [note.entry for note in notes if note.withdrawn_at is None]
        if not standing:
            self.app.show_problem(InputError("there is no note to withdraw"))
            return
        self.section = SECTIONS.index("Notes")
        self._keep_note("", standing[-1])

    @work(thread=True, exit_on_error=False, group="notes")
    def _keep_note(self, text: str, withdrawn: int | None) -> None:
        author, now = self.app.particulars.operator, self.app.now()
        try:
            book = NoteBook(self.app.records())
            if withdrawn is None:
                book.add(self._run_id, text, author=author, entered_at=now)
                self.app.call_later(self.app.keep, draft_name(self._run_id), "")
            else:
                book.withdraw(self._run_id, withdrawn, author=author, entered_at=now)
            facts = read_facts(self.app.records(), self._run_id)
        except RigError as exc:
            self.app.call_later(self.app.show_problem, exc)
            return
        self.app.call_later(self._take, facts)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def action_report(self) -> None:
        """Write the report of this run."""
        name = f"run-{self._run_id}"
        report_of_runs(self.app, [self._run_id], "Sensor measurement", name)
