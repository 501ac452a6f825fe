"""One run: figures, verdicts, budget, points, sweeps, notes."""

from __future__ import annotations

import asyncio
from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from rig.errors import InputError, RigError
from rig.inquiry.operators import Operators, operators_on_record
from rig.model.grounds import Grounds
from rig.records.notes import NoteBook
from rig.tui.frame.document_form import DocumentForm
from rig.tui.frame.framed_screen import VERTICAL_BREAKPOINTS
from rig.tui.frame.grounds_form import GroundsForm
from rig.tui.frame.paged_screen import PagedScreen, section_text
from rig.tui.state.document_files import DocumentWish, write_certificate
from rig.tui.state.keys import CERTIFY, REPORT, UNDO, WRITE, bound
from rig.tui.state.report_files import write_run_report
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
from rig.tui.technician.run_verdict import run_banner
from rig.tui.widgets.fitting_table import FittingTable
from rig.tui.widgets.picture_view import PictureView
from rig.tui.widgets.verdict_panel import VerdictPanel

_LINES = {
    "Figures": figure_lines,
    "Verdicts": verdict_lines,
    "Budget": budget_lines,
    "Notes": note_lines,
}


class RunScreen(PagedScreen):
    """Read one run, add notes to it, write its report."""

    HEADING = "Run"
    CSS_PATH = "run_screen.tcss"
    VERTICAL_BREAKPOINTS = VERTICAL_BREAKPOINTS
    SECTIONS = ("Figures", "Verdicts", "Budget", "Points", "Sweeps", "Notes")
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(WRITE, "note", "Note", id="run.note", tooltip="Add a note to this run"),
        bound(
            UNDO,
            "take_back",
            "Undo note",
            id="run.undo-note",
            tooltip="Withdraw the last note (it stays on record, struck out)",
            show=False,
        ),
        bound(REPORT, "report", "Report", id="run.report", tooltip="Write its report"),
        bound(
            CERTIFY,
            "certificate",
            "Certify",
            id="run.certificate",
            tooltip="Issue a certificate of one page for this run or its part",
        ),
        bound("escape", "app.pop_screen", "Back", id="run.leave"),
    ]

    def __init__(self, run_id: str) -> None:
        super().__init__()
        self._run_id = run_id
        self._facts: RunFacts | None = None

    def make_section(self, name: str) -> Widget:
        """Return a section: text, the picture of the points, or the sweeps."""
        if name == "Points":
            return PictureView(id=name)
        if name == "Verdicts":
            return VerticalScroll(
                VerdictPanel(id="run-verdict"), section_text(name), id=name
            )
        if name == "Sweeps":
            return FittingTable("Sweeps", id=name)
        return super().make_section(name)

    def opened(self) -> None:
        """Read the run."""
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            facts = read_facts(self.app.records(), self._run_id)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, facts)

    def _read_again(self) -> None:
        self._read()

    def _take(self, facts: RunFacts) -> None:
        self._facts = facts
        self.query_one("#page-head", Static).update(head_lines(facts))
        for name, lines in _LINES.items():
            self.put_text(name, lines(facts))
        self.query_one(VerdictPanel).banner = run_banner(facts)
        self.query_one(PictureView).picture = points_picture(facts)
        self.query_one(FittingTable).show(SWEEP_HEADS, [*sweep_cells(facts)])
        self.show_again()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Tab or 1 to 6 turn the page. Ctrl+L adds a note, Ctrl+O the report."

    # --------------------------------------------------------------------- notes

    @work(exclusive=True, group="note")
    async def action_note(self) -> None:
        """Write a note and add it."""
        text = await self.app.push_screen_wait(NoteForm(self._run_id))
        if text:
            self.section = self.SECTIONS.index("Notes")
            self._keep_note(text)

    @work(exclusive=True, group="note")
    async def action_take_back(self) -> None:
        """Ask why the last note that stands is withdrawn, and withdraw it."""
        notes = () if self._facts is None else self._facts.found.notes
        standing = [note for note in notes if note.withdrawn_at is None]
        if not standing:
            self.app.show_problem(InputError("there is no note to withdraw"))
            return
        self.section = self.SECTIONS.index("Notes")
        last = standing[-1]
        words = f"It stays on record, struck out: {last.text}"
        try:
            operators = await asyncio.to_thread(self._operators)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        form = GroundsForm(
            "Withdraw the last note?",
            words,
            operators=operators,
            person=self.app.particulars.operator,
        )
        grounds = await self.app.push_screen_wait(form)
        if grounds is not None:
            self._withdraw_note(last.entry, grounds)

    def _operators(self) -> Operators:
        return operators_on_record(self.app.records())

    @work(thread=True, exit_on_error=False, group="notes")
    def _keep_note(self, text: str) -> None:
        author, now = self.app.particulars.operator, self.app.now()
        try:
            book = NoteBook(self.app.records())
            book.add(self._run_id, text, author=author, entered_at=now)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.app.call_later(self.app.keep, draft_name(self._run_id), "")
        self.hand_over(self._read_again)

    @work(thread=True, exit_on_error=False, group="notes")
    def _withdraw_note(self, entry: int, grounds: Grounds) -> None:
        try:
            NoteBook(self.app.records()).withdraw(
                self._run_id,
                entry,
                author=grounds.person,
                reason=grounds.reason,
                entered_at=self.app.now(),
            )
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._read_again)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def action_report(self) -> None:
        """Write the report of this run."""
        write_run_report(self.app, [self._run_id])

    @work(exclusive=True, group="certificate")
    async def action_certificate(self) -> None:
        """Ask what stands on a certificate of this run or its part, and issue it."""
        if self._facts is None:
            return
        header = self._facts.found.run.header
        form = DocumentForm(f"Certificate of run {self._run_id}", part=header.part)
        wish = await self.app.push_screen_wait(form)
        if wish is not None:
            self._issue(wish, header.part, header.sensor.name)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _issue(self, wish: DocumentWish, part: str, sensor: str) -> None:
        if wish.of_part:
            write_certificate(self.app, wish, "part", part, sensor=sensor)
        else:
            write_certificate(self.app, wish, "run", self._run_id)
