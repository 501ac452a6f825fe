"""Chooses the parts of a batch, and what is worked out of them."""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Grid, Horizontal, Vertical
from textual.widgets import Button, Input, Select, Static

from rig.errors import RigError
from rig.inquiry.batch import BatchOptions, BatchResult, batch_on_record
from rig.inquiry.batch_choices import BatchChoices, batch_choices
from rig.inquiry.parts import RunSelection
from rig.model.figure_kinds import KIND_OF_OPTION, figure_name
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import WORK_OUT, bound
from rig.tui.state.situation import Situation
from rig.tui.state.typed_numbers import typed_count, typed_number, typed_share
from rig.tui.technician.batch_result_screen import BatchResultScreen
from rig.tui.technician.batch_source import Sources, found_words, sources_of
from rig.tui.widgets.number_field import NUMBER
from rig.tui.widgets.tick_list import TickList

_RULES = (("guarded, band U", "guarded"), ("simple, no band", "simple"))
_SHARE = f"{BatchOptions().content:g}"


class BatchScreen(WorkScreen):
    """Choose sensor, target, figure, plans or lots; see the batch."""

    HEADING = "Batch"
    AUTO_FOCUS = "#work-out"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            WORK_OUT,
            "work_out",
            "Work out",
            id="batch.work-out",
            tooltip="Work the batch out that is chosen; reads the records only",
        ),
        bound("escape", "leave_field", "Leave field", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._choices: BatchChoices | None = None
        self._sources = Sources()

    def compose_body(self) -> ComposeResult:
        """Yield what is chosen, and the plans and lots on record."""
        with Horizontal(id="batch-place"):
            with Vertical(id="batch-choice", classes="framed") as choice:
                choice.border_title = "Parts and figure"
                with Grid(id="batch-fields"):
                    yield from self._fields()
                yield Button("Work out", id="work-out", compact=True)
            with Vertical(id="batch-source"):
                ticks = TickList((), (), id="batch-ticks", classes="framed")
                ticks.border_title = "Plans, lots (none: all)"
                yield ticks
        yield Static("Reading …", id="batch-found")

    def _fields(self) -> ComposeResult:
        figures = [(figure_name(name), name) for name in KIND_OF_OPTION]
        yield from _row("Sensor", _select("sensor"))
        yield from _row("Target", _select("target"))
        yield from _row("Figure", _select("figure", figures, BatchOptions().figure))
        yield from _row("Over that to", _select("against", empty="no ratio"))
        yield from _row("Lower limit", _field("lower", hint="empty: the data sheet's"))
        yield from _row("Upper limit", _field("upper", hint="empty: the data sheet's"))
        yield from _row("Rule", _select("rule", _RULES, BatchOptions().rule))
        yield from _row("Content", _field("content", _SHARE))
        yield from _row("Confidence", _field("confidence", _SHARE))
        yield from _row("Subgroup of", _field("subgroup", hint="empty: no such chart"))

    def resumed(self) -> None:
        """Read what came since."""
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            found = batch_choices(self.app.records())
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: BatchChoices) -> None:
        self.query_one("#batch-found", Static).update(found_words(found))
        if found == self._choices:
            return
        first = self._choices is None
        self._choices, self._sources = found, sources_of(found)
        for name, names in (
            ("sensor", found.sensors),
            ("target", found.targets),
            ("against", found.targets),
        ):
            select = self.query_one(f"#batch-{name}", Select)
            before = select.value
            select.set_options([(text, text) for text in names])
            if before in names:
                select.value = before
            elif first and names and name != "against":
                select.value = names[0]
        self.query_one(TickList).offer(self._sources.names)
        self.show_again()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._choices is not None and not self._choices.runs:
            return "Measure runs that say which part they are of: at F4, or by a plan."
        if self.query_one(TickList).has_focus:
            return "The space bar ticks plans and lots; several are compared."
        return "Choose, then Enter on the button works the batch out. It only reads."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the button: what was measured last is chosen already."""
        if self.focused is None:
            self.action_leave_field()

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    def action_leave_field(self) -> None:
        """Leave a field, so that single keys work again."""
        self.query_one("#work-out").focus()

    # ------------------------------------------------------------- working it out

    @on(Button.Pressed, "#work-out")
    def action_work_out(self) -> None:
        """Work the batch out that is chosen."""
        self.app.clear_problem()
        try:
            selection, options = self._selection(), self._options()
        except RigError as exc:
            self.app.show_problem(exc)
            return
        self.put("#batch-found", "Working it out …")
        self._work_out(selection, options)

    @work(thread=True, exclusive=True, exit_on_error=False, group="batch")
    def _work_out(self, selection: RunSelection, options: BatchOptions) -> None:
        try:
            result = batch_on_record(self.app.records(), selection, options)
        except RigError as exc:
            self.hand_over(self._failed, exc)
            return
        self.hand_over(self._open, result)

    def _failed(self, error: RigError) -> None:
        self.app.show_problem(error)
        self.put("#batch-found", "No batch: say it otherwise, then work it out again.")

    def _open(self, result: BatchResult) -> None:
        if self.is_current:
            self.app.push_screen(BatchResultScreen(result))

    def _selection(self) -> RunSelection:
        ticked = self.query_one(TickList).ticked
        return RunSelection(
            plan_ids=self._sources.plan_ids(ticked),
            lot_ids=self._sources.lot_ids(ticked),
            sensor=self._chosen("sensor"),
            target=self._chosen("target"),
            against=self._chosen("against"),
        )

    def _options(self) -> BatchOptions:
        """Return what is typed.

        Raises:
            InputError: A field is not right.
        """
        return BatchOptions(
            figure=self._chosen("figure") or BatchOptions().figure,
            lower=typed_number(self._typed("lower"), "Lower limit"),
            upper=typed_number(self._typed("upper"), "Upper limit"),
            rule=self._chosen("rule") or BatchOptions().rule,
            content=typed_share(self._typed("content"), "Content"),
            confidence=typed_share(self._typed("confidence"), "Confidence"),
            subgroup=typed_count(self._typed("subgroup"), "Subgroup", 2, 25),
        )

    def _chosen(self, name: str) -> str | None:
        value = self.query_one(f"#batch-{name}", Select).value
        return None if value is Select.NULL else str(value)

    def _typed(self, name: str) -> str:
        return self.query_one(f"#batch-{name}", Input).value.strip()


def _row(words: str, field: Select[str] | Input) -> ComposeResult:
    yield Static(words, classes="name")
    yield field


def _field(name: str, text: str = "", hint: str = "") -> Input:
    return Input(
        text,
        placeholder=hint,
        id=f"batch-{name}",
        compact=True,
        max_length=20,
        classes=NUMBER,
    )


def _select(
    name: str,
    options: tuple[tuple[str, str], ...] | list[tuple[str, str]] = (),
    usual: str = "",
    *,
    empty: str = "any",
) -> Select[str]:
    return Select(
        options,
        prompt=empty,
        value=usual or Select.NULL,
        allow_blank=not usual,
        id=f"batch-{name}",
        compact=True,
    )
