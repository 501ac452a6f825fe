"""What is declared of a bench, what is assumed beside it, and what that costs.

Nothing here moves the axis.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import DataTable, Static

from rig.errors import RigError
from rig.inquiry.declared_bench import DeclaredBench, benches_on_record
from rig.records import Store
from rig.sheets.bench_sheet import BenchSheet, bench_sheet
from rig.tui.bench.declaration_file_form import DeclarationFileForm
from rig.tui.bench.declaration_form import DeclarationForm
from rig.tui.frame.record_question import RecordQuestion
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.rig.declaration_job import DeclareBench, ImportBench, PutOffBench
from rig.tui.rig.rig_events import DeclarationStands, RigEvent
from rig.tui.state.keys import IMPORT, OTHER, RECORD, bound
from rig.tui.state.situation import Situation
from rig.tui.widgets.fitting_table import FittingTable

HEADS = ("key", "number", "source", "what it is", "why")
# Rows from which there is room for what no budget includes
_VERTICAL_BREAKPOINTS = [(0, "-low"), (34, "-tall")]
_LATER = (
    "Every number of {rig} stays assumed, and the ± as wide as that asks for. The Bench"
    " screen and runs no longer remind of it. It can be declared at any time."
)


class DeclarationScreen(WorkScreen):
    """Look at every item of a bench, declare it, or take it back."""

    HEADING = "Declaration"
    AUTO_FOCUS = "#items"
    VERTICAL_BREAKPOINTS = _VERTICAL_BREAKPOINTS
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            IMPORT,
            "import_file",
            "Import",
            id="declaration.import",
            tooltip="Declare the whole bench from a TOML file",
        ),
        bound(
            RECORD,
            "put_off",
            "Put off",
            id="declaration.later",
            tooltip="Leave all assumed for now; nobody asks again",
        ),
        bound(
            OTHER,
            "other_rig",
            "Other rig",
            id="declaration.rig",
            tooltip="Show the bench of another rig on record",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._benches: tuple[DeclaredBench, ...] = ()
        self._shown = 0

    def compose_body(self) -> ComposeResult:
        """Yield whose bench it is, the items, and the one that is marked."""
        # Names of rigs and people come from elsewhere
        yield Static("Reading …", id="declaration-lead", markup=False)
        yield FittingTable("What the ± rests on", id="items")
        yield Static("", id="item-words")
        yield Static("", id="declaration-effect", classes="caption", markup=False)
        yield Static("", id="not-included", classes="caption", markup=False)

    def resumed(self) -> None:
        """Read what came since."""
        self._read()

    def hear(self, event: RigEvent) -> None:
        """Show what was declared."""
        if isinstance(event, DeclarationStands) and self.is_current:
            self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        traits = self.app.situation.traits
        try:
            found = _benches(
                self.app.records(), None if traits is None else traits.rig_id
            )
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: tuple[DeclaredBench, ...]) -> None:
        before = self._bench.rig_id if self._benches else None
        self._benches = found
        rigs = [one.rig_id for one in found]
        self._shown = rigs.index(before) if before and before in rigs else 0
        self._fill()

    @property
    def _bench(self) -> DeclaredBench:
        return self._benches[self._shown]

    @property
    def _sheet(self) -> BenchSheet:
        return bench_sheet(self._bench)

    def _fill(self) -> None:
        sheet = self._sheet
        count = len(self._benches)
        place = f" ({self._shown + 1} of {count} rigs)" if count > 1 else ""
        self.put("#declaration-lead", f"{sheet.lead}{place}")
        self.put("#declaration-effect", sheet.effect)
        self.put("#not-included", sheet.not_included)
        table = self.query_one("#items", FittingTable)
        table.show(HEADS, [_cells(row) for row in sheet.rows])
        self._explain(max(table.cursor_row, 0))
        self.show_again()
        self.refresh_bindings()

    @on(DataTable.RowHighlighted, "#items")
    def _highlighted(self, event: DataTable.RowHighlighted) -> None:
        if self._benches:
            self._explain(event.cursor_row)

    def _explain(self, row: int) -> None:
        key, words, number, source, why = self._sheet.rows[row]
        because = f": {why}" if why else ""
        self.query_one("#item-words", Static).update(
            Content.assemble((key, "bold"), f", {words}\n{number}, {source}{because}")
        )

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.moving:
            return "The bench can be declared when the axis is at rest."
        if not self._benches or self._bench.rig_id is None:
            return "F2 goes to the rig: a declaration belongs to one. Connect first."
        if self._bench.entered_at is None:
            return "Enter declares what is marked. Ctrl+R leaves all assumed for now."
        return "Enter declares what is marked, or takes it back."

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done now."""
        match action:
            case "other_rig":
                return len(self._benches) > 1
            case "put_off":
                can = self._can_declare()
                return can and self._bench.entered_at is None
            case "import_file":
                return self._can_declare() or None
        return True

    def _can_declare(self) -> bool:
        known = bool(self._benches) and self._bench.rig_id is not None
        return known and not self.app.situation.moving

    def action_other_rig(self) -> None:
        """Show the next rig on record."""
        self._shown = (self._shown + 1) % len(self._benches)
        self._fill()

    @on(DataTable.RowSelected, "#items")
    def _chosen(self, event: DataTable.RowSelected) -> None:
        if self._can_declare():
            self._declare(event.cursor_row)

    @work(exclusive=True, group="form")
    async def _declare(self, row: int) -> None:
        """Ask for the number of an item, and have it put on record."""
        self.app.clear_problem()
        bench = self._bench
        form = DeclarationForm(bench, self._sheet.rows[row][0], self._by())
        answer = await self.app.push_screen_wait(form)
        if answer is not None and bench.rig_id is not None:
            self.ask(
                DeclareBench(
                    rig_id=bench.rig_id,
                    declaration=answer.declaration,
                    take_back=answer.take_back,
                    author=answer.author,
                )
            )

    @work(exclusive=True, group="form")
    async def action_import_file(self) -> None:
        """Ask for a file, and have all that it says put on record."""
        self.app.clear_problem()
        rig_id = self._bench.rig_id or ""
        form = DeclarationFileForm(rig_id, self._by())
        answer = await self.app.push_screen_wait(form)
        if answer is not None:
            path, author = answer
            self.ask(ImportBench(rig_id=rig_id, path=path, author=author))

    @work(exclusive=True, group="form")
    async def action_put_off(self) -> None:
        """Ask whether all stays assumed for now."""
        self.app.clear_problem()
        rig_id = self._bench.rig_id or ""
        words = Content(_LATER.format(rig=rig_id))
        question = RecordQuestion("Leave this bench undeclared for now?", words)
        if await self.app.push_screen_wait(question):
            self.ask(PutOffBench(rig_id=rig_id, author=self._by()))

    def _by(self) -> str:
        return self.app.particulars.operator


def _benches(store: Store, connected: str | None) -> tuple[DeclaredBench, ...]:
    """Return the bench of the connected rig, then those of others on record."""
    others: Iterable[DeclaredBench] = benches_on_record(store).benches
    if connected is None:
        return tuple(others)
    own = benches_on_record(store, connected).benches
    return (*own, *(one for one in others if one.rig_id not in (None, connected)))


def _cells(row: tuple[str, ...]) -> tuple[str, ...]:
    key, words, number, source, why = row
    return key, number, source, words, why
