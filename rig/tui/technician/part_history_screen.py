"""Scan a part, or type its number, and see all that is on record of it."""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.widgets import DataTable, Input, Static

from rig.errors import InputError, RecordsError, RigError
from rig.inquiry.part_history import part_history
from rig.model.part_number import part_so_far
from rig.records import Store
from rig.records.run_names import run_named
from rig.sheets.part_history_sheet import PartHistorySheet, part_history_sheet
from rig.sheets.run_list_sheet import DASH
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import REPORT, bound
from rig.tui.state.local_time import with_local_times
from rig.tui.state.report_files import write_label
from rig.tui.state.situation import Situation
from rig.tui.technician.run_screen import RunScreen
from rig.tui.widgets.fitting_table import FittingTable

_HEADS = ("at (UTC)", "result", "value", "verdict", "what", "kind", "by", "rig", "run")


class PartHistoryScreen(WorkScreen):
    """Show the history of one part; a code of a report leads to its run.

    Args:
        part: Number of the part to begin with; empty to wait for a scan.
    """

    HEADING = "Part"
    AUTO_FOCUS = "#history-part"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            REPORT,
            "label",
            "Label",
            id="part.label",
            tooltip="Write a label with a QR code for this part",
        ),
        bound("escape", "back", "Back", id="part.back"),
    ]

    def __init__(self, part: str = "") -> None:
        super().__init__()
        self._first = part
        self._sheet: PartHistorySheet | None = None
        self._run_id = ""

    def compose_body(self) -> ComposeResult:
        """Yield the field, what there is, and the table."""
        with Horizontal(id="history-row"):
            yield Static("Part", classes="name")
            yield Input(self._first, id="history-part", compact=True, max_length=120)
        yield Static("", id="history-lead")
        yield FittingTable("On record, oldest first", id="history")

    def part_field(self) -> Input:
        """Return the field for the part."""
        return self.query_one("#history-part", Input)

    def resumed(self) -> None:
        """Read what came since."""
        self._look_up()

    @on(Input.Changed, "#history-part")
    def _look_up(self) -> None:
        part = part_so_far(self.part_field().value)
        if part:
            self._read(part)
        else:
            self._take(None, "")

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self, part: str) -> None:
        store = self.app.records()
        try:
            found, run_id = part_history(store, part), ""
            if not found.events:
                run_id = _run_of(store, part)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, part_history_sheet(found), run_id)

    def _take(self, sheet: PartHistorySheet | None, run_id: str) -> None:
        self._sheet, self._run_id = sheet, run_id
        lead = ""
        if sheet is not None:
            made = f"  SIMULATED: {sheet.simulated} of {len(sheet.rows)}."
            lead = f"{sheet.lead}{made if sheet.simulated else ''}"
        self.put("#history-lead", f"This is run {run_id}." if run_id else lead)
        rows = () if sheet is None else sheet.rows
        self.query_one(FittingTable).show(
            _HEADS,
            [
                (
                    with_local_times(f"{row.at} UTC").removesuffix(" UTC"),
                    row.result,
                    row.value,
                    row.verdict,
                    row.what,
                    row.kind,
                    row.person,
                    "SIMULATED" if row.simulated else "real",
                    row.run_id,
                )
                for row in rows
            ],
        )
        self.show_again()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._run_id:
            return "Enter opens this run. Scan another label, or type a number."
        if self._sheet is None or not self._sheet.rows:
            return (
                "Scan the label of a part, or type its number. Ctrl+O writes a label."
            )
        return "Tab leads to the table, Enter opens a run. Ctrl+O writes a label."

    def take_focus(self, now: Situation) -> None:
        """Put the focus in the field, where scans belong."""
        if self.focused is None:
            self.part_field().focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer the way back where it was opened from a list."""
        return action != "back" or bool(self._first)

    def action_back(self) -> None:
        """Go back to the list."""
        self.app.pop_screen()

    def action_label(self) -> None:
        """Write the label of the part, whether it was ever measured or not."""
        part = part_so_far(self.part_field().value)
        if part:
            self._write_label(part)
        else:
            self.app.show_problem(InputError("scan or type the number of a part first"))

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _write_label(self, part: str) -> None:
        write_label(self.app, part)

    @on(Input.Submitted, "#history-part")
    def _go(self) -> None:
        """Open the run that was typed; of a part, go to the table."""
        if self._run_id:
            self.app.push_screen(RunScreen(self._run_id))
        else:
            self.query_one(FittingTable).focus()

    @on(DataTable.RowSelected, "#history")
    def _chosen(self, event: DataTable.RowSelected) -> None:
        if self._sheet is None:
            return
        row = self._sheet.rows[event.cursor_row]
        if row.run_id != DASH:
            self.app.push_screen(RunScreen(row.run_id))


def _run_of(store: Store, typed: str) -> str:
    """Return the run whose identity is typed or scanned; empty if it is none."""
    try:
        found = run_named(store, typed.lower())
    except (InputError, RecordsError):
        return ""
    # Not by its beginning alone: that may be the number of a part
    return found if found == typed.lower() else ""
