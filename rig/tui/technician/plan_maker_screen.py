"""Makes a plan by ticking sensors and targets; saves it as the text of a plan file."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Input, Static

from rig.catalogue.plan_draft import PlanDraft, plan_toml, save_plan
from rig.catalogue.plan_file import Plan, parse_plan
from rig.errors import InputError, RigError
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import REDO, SAVE, SAVE_WORD, UNDO, bound
from rig.tui.state.situation import Situation
from rig.tui.state.undo import History
from rig.tui.technician.plan_day_screen import PlanDay
from rig.tui.technician.plan_lines import FOLDER
from rig.tui.widgets.number_field import NUMBER
from rig.tui.widgets.tick_list import TickList

_DRAFT = "plan.draft"
_FIELDS = ("title", "sweeps", "speeds", "parts")
_LISTS = ("sensors", "targets")


class PlanMaker(WorkScreen):
    """Tick, type, save. What is begun is kept until it is saved."""

    HEADING = "New plan"
    AUTO_FOCUS = "#plan-title"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            SAVE, "save", SAVE_WORD, id="plan.save", tooltip="Save the plan, open it"
        ),
        bound(
            UNDO,
            "undo",
            "Undo",
            id="plan.undo",
            priority=True,
            tooltip="Undo what was typed or ticked",
        ),
        bound(REDO, "redo", "Redo", id="plan.redo", priority=True, show=False),
        bound("escape", "app.pop_screen", "Back", id="plan.back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._history = History(_draft_of(self.app.kept(_DRAFT)))

    def compose_body(self) -> ComposeResult:
        """Yield fields, ticks and the text that they make."""
        draft = self._history.present
        with Vertical(id="plan-fields"):
            with Horizontal():
                yield Static("Title", classes="name")
                yield _field(draft.title, "title", "e.g. Tuesday, incoming", 80)
                yield Static("Sweeps", classes="name")
                yield _field(draft.sweeps, "sweeps", "empty: 10", 5, NUMBER)
                yield Static("Speeds", classes="name")
                yield _field(draft.speeds, "speeds", "empty: 1, 4", 30, NUMBER)
                yield Static("mm/s", classes="unit")
            with Horizontal():
                yield Static("Parts, by commas", classes="name")
                yield _field(draft.parts, "parts", "empty: every pair once", 400)
        with Horizontal(id="plan-ticks"):
            yield self._ticks("sensors", "Sensors", draft.sensors)
            yield self._ticks("targets", "Targets", draft.targets)
            with VerticalScroll(id="plan-preview", classes="framed") as preview:
                preview.border_title = "Plan"
                yield Static("", id="plan-text")

    def _ticks(self, name: str, title: str, ticked: tuple[str, ...]) -> TickList:
        known = getattr(self.app.catalogue, name)
        ticks = TickList(known, ticked, id=f"plan-{name}", classes="framed")
        ticks.border_title = title
        return ticks

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        draft = self._history.present
        if not draft.title.strip():
            return "Type a title. Tab goes on to the ticks."
        if not (draft.sensors and draft.targets):
            return "Tick sensors and targets: arrow keys, then the space bar or Enter."
        return "Ctrl+S saves the plan and opens it. Ctrl+Z undoes what was typed."

    def show(self, now: Situation) -> None:
        """Show the plan that the ticks make."""
        try:
            plan = self._plan()
        except RigError as exc:
            hint = f"\n{exc.hint}." if exc.hint else ""
            self.query_one("#plan-text", Static).update(Content(f"{exc}.{hint}"))
            return
        lines = [
            f"{len(plan.runs)} runs, {sum(run.sweeps for run in plan.runs)} sweeps"
        ]
        for number, run in enumerate(plan.runs, start=1):
            part = f" {run.part}" if run.part else ""
            lines.append(f"{number}. {run.sensor.name}{part} : {run.target.name}")
        self.query_one("#plan-text", Static).update(Content("\n".join(lines)))

    def _plan(self) -> Plan:
        text = plan_toml(self._history.present)
        return parse_plan(text, "the plan", self.app.catalogue)

    # ------------------------------------------------------------------- changes

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        name = str(event.input.id).removeprefix("plan-")
        self._change(name, event.value, field=name)

    @on(TickList.Ticked)
    def _ticked(self, event: TickList.Ticked) -> None:
        name = str(event.ticks.id).removeprefix("plan-")
        self._change(name, event.ticks.ticked, field="")

    def _change(self, name: str, value: object, *, field: str) -> None:
        state: dict[str, Any] = {**asdict(self._history.present), name: value}
        draft = PlanDraft(**state)
        if draft != self._history.present:
            self._history.change(draft, field=field)
            self._keep()

    def _keep(self) -> None:
        draft = self._history.present
        kept = "" if draft == PlanDraft() else json.dumps(asdict(draft))
        self.app.keep(_DRAFT, kept)
        self.show_again()

    def action_undo(self) -> None:
        """Undo what was typed or ticked."""
        if self._history.undo():
            self._fill()

    def action_redo(self) -> None:
        """Take the undo back."""
        if self._history.redo():
            self._fill()

    def _fill(self) -> None:
        draft = self._history.present
        with self.prevent(Input.Changed):
            for name in _FIELDS:
                self.query_one(f"#plan-{name}", Input).value = getattr(draft, name)
        for name in _LISTS:
            self.query_one(f"#plan-{name}", TickList).put(getattr(draft, name))
        self._keep()

    # -------------------------------------------------------------------- saving

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    def action_save(self) -> None:
        """Save the plan and open it."""
        try:
            plan = self._plan()
            path = save_plan(plan.text, plan.title, self.app.folder / FOLDER)
        except InputError as exc:
            self.app.show_problem(exc)
            return
        self.app.keep(_DRAFT, "")
        self.app.notify(f"gapsweep run {path}", title="The command line runs it too")
        self.app.switch_screen(PlanDay(plan=plan))


def _field(
    text: str, name: str, hint: str, longest: int, classes: str | None = None
) -> Input:
    return Input(
        text,
        placeholder=hint,
        id=f"plan-{name}",
        max_length=longest,
        compact=True,
        classes=classes,
    )


def _draft_of(kept: str) -> PlanDraft:
    """Return the draft that was kept; a fresh one if there is none that fits."""
    try:
        found = json.loads(kept)
        ticked = {name: tuple(found[name]) for name in _LISTS}
        return PlanDraft(**{**found, **ticked})
    except (ValueError, TypeError, KeyError, AttributeError):
        return PlanDraft()
