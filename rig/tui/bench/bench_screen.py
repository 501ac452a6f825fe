"""The second screen: what is mounted, and whether the bench is fit."""

from __future__ import annotations

import asyncio
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Button, Select, Static

from rig.errors import RigError
from rig.inquiry.operators import Operators, operators_on_record
from rig.model.mounted import Sensor, Target
from rig.procedures.bench_finding import Finding, Fitness
from rig.procedures.motions_ahead import (
    MotionsAhead,
    check_ahead,
    touch_off_ahead,
)
from rig.sheets.bench_words import sensor_line, target_line
from rig.tui.bench.confirm_rig_form import ConfirmRigForm
from rig.tui.frame.confirm_screen import Confirm
from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.rig.bench_job import CheckBench, Mount, TouchOff
from rig.tui.rig.jobs import Job
from rig.tui.rig.known_rig_job import ConfirmRig
from rig.tui.state.keys import RECORD, START, START_SHOWN, START_WORD, bound, shown
from rig.tui.state.situation import LinkState, Situation
from rig.tui.widgets.finding_list import FindingList

_DECLARE = "ctrl+e"
_UNDECLARED = (
    f"Nothing is declared of this bench, so its ± is wide. {shown(_DECLARE)} shows what"
    " is assumed, to declare it or to put it off."
)


class BenchScreen(FramedScreen):
    """Say what is mounted; check the bench or touch off."""

    HEADING = "Bench"
    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            START,
            "check",
            START_WORD,
            id="bench.check",
            tooltip="Check the bench, touch-off included; it asks first",
        ),
        bound(
            RECORD,
            "record",
            "Confirm",
            id="bench.confirm-rig",
            tooltip="Show how the rig changed, and ask who confirms that it is meant",
        ),
        bound(
            # No letter: a scan must not lead away from here
            _DECLARE,
            "app.open_screen('declaration')",
            "Declaration",
            id="bench.declare",
            show=False,
            tooltip="Show what is declared and assumed of the bench",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._shown_findings: tuple[Finding, ...] = ()
        self._shown_mounting: tuple[Sensor | None, Target | None] = (None, None)

    def compose_body(self) -> ComposeResult:
        """Yield what is mounted, what to do, and what was found."""
        catalogue = self.app.catalogue
        with Horizontal():
            with Vertical(classes="side"):
                yield Static("Sensor that is mounted", classes="caption")
                yield Select(
                    [(name, name) for name in catalogue.sensors],
                    prompt="choose",
                    id="sensor",
                    compact=True,
                )
                yield Static("", id="sensor-text", classes="caption indent")
                yield Static("Target that is mounted", classes="caption")
                yield Select(
                    [(name, name) for name in catalogue.targets],
                    prompt="choose",
                    id="target",
                    compact=True,
                )
                yield Static("", id="target-text", classes="caption indent")
                yield Button("Check the bench", id="check")
                yield Button("Touch off only", id="touch-off")
                yield Button("Go to the sweeps", id="to-sweeps")
            with Vertical():
                yield FindingList(id="findings", classes="framed")
                yield Static("", id="rig-changed")
                yield Static(_UNDECLARED, id="undeclared")

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.link is not LinkState.LIVE:
            return "F2 goes to the rig: connect to one first."
        if now.changes:
            return "The rig changed: Ctrl+R shows it all and asks who confirms it."
        if now.sensor is None or now.target is None:
            return "Choose the sensor and the target that are mounted."
        if any(finding.fitness is Fitness.UNFIT for finding in now.findings):
            return f"Something is unfit: put it right, then {START_SHOWN} checks again."
        if now.datum is None:
            return f"{START_SHOWN} starts the bench check, which touches off too."
        return "The datum is known. Press Enter to go to the sweeps."

    def show(self, now: Situation) -> None:
        """Show what is mounted and what can be done."""
        for kind, mounted in (("sensor", now.sensor), ("target", now.target)):
            select = self.query_one(f"#{kind}", Select)
            if mounted is not None and select.value != mounted.name:
                select.value = mounted.name
            select.disabled = now.moving or now.link is not LinkState.LIVE
        sensor, target = now.sensor, now.target
        self.put("#sensor-text", "" if sensor is None else sensor_line(sensor))
        self.put("#target-text", "" if target is None else target_line(target))
        self.query_one("#undeclared").display = now.undeclared and not now.changes
        self._show_changes(now)
        can = self._can_start(now)
        for name in ("check", "touch-off"):
            self.query_one(f"#{name}", Button).disabled = not can
        self.query_one("#to-sweeps", Button).disabled = not can or now.datum is None
        if (sensor, target) != self._shown_mounting:
            self._shown_mounting = (sensor, target)
            self.take_focus(now)
        if now.findings != self._shown_findings:
            self._shown_findings = now.findings
            self._show_findings(now.findings)

    def _show_changes(self, now: Situation) -> None:
        told = self.query_one("#rig-changed", Static)
        told.display = bool(now.changes)
        if now.changes and now.traits is not None:
            lines = [f"✗ {now.traits.rig_id} is not the rig that measured before."]
            lines += [f"  {one}" for one in now.changes]
            lines.append("It measures nothing until somebody confirms that.")
            self.put("#rig-changed", "\n".join(lines))

    @work(exclusive=True, group="findings")
    async def _show_findings(self, findings: tuple[Finding, ...]) -> None:
        await self.query_one(FindingList).show(findings)

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the next step."""
        if now.under_way is not None or now.link is not LinkState.LIVE:
            self.query_one(FindingList).focus()
        elif now.sensor is None:
            self.query_one("#sensor").focus()
        elif now.target is None:
            self.query_one("#target").focus()
        elif now.datum is None:
            self.query_one("#check").focus()
        else:
            self.query_one("#to-sweeps").focus()

    @on(Select.Changed)
    def _mounted(self) -> None:
        catalogue, now = self.app.catalogue, self.app.situation
        names = [self.query_one(f"#{kind}", Select).value for kind in _KINDS]
        if now.link is not LinkState.LIVE:
            return
        if Select.NULL in names:
            # What was said to be mounted stays so until something else is
            self.show(now)
            if names[0] is not Select.NULL:
                self.query_one("#target").focus()
            return
        sensor = catalogue.sensor(str(names[0]))
        target = catalogue.target(str(names[1]))
        if (sensor, target) != (now.sensor, now.target):
            self.ask(Mount(sensor=sensor, target=target))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done now."""
        now = self.app.situation
        if action == "record":
            return bool(now.changes) and now.under_way is None
        return (action != "check" or self._can_start(now)) or None

    def _can_start(self, now: Situation) -> bool:
        mounted = now.sensor is not None and now.target is not None
        free = now.under_way is None
        return mounted and free and now.link is LinkState.LIVE

    @on(Button.Pressed, "#check")
    def action_check(self) -> None:
        """Ask whether the way is free, then check the bench."""
        self._after_consent(CheckBench(), check_ahead())

    @on(Button.Pressed, "#touch-off")
    def _touch_off(self) -> None:
        self._after_consent(TouchOff(), touch_off_ahead())

    @work(exclusive=True, group="consent")
    async def action_record(self) -> None:
        """Ask who confirms that the rig changed, and put it on record."""
        now = self.app.situation
        if now.traits is None or not now.changes:
            return
        try:
            operators = await asyncio.to_thread(self._operators)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        form = ConfirmRigForm(
            now.traits.rig_id,
            now.changes,
            operators=operators,
            person=self.app.particulars.operator,
        )
        person = await self.app.push_screen_wait(form)
        if person:
            self.ask(
                ConfirmRig(rig_id=now.traits.rig_id, changes=now.changes, person=person)
            )

    def _operators(self) -> Operators:
        return operators_on_record(self.app.records())

    @on(Button.Pressed, "#to-sweeps")
    def _to_sweeps(self) -> None:
        self.app.switch_mode("sweeps")

    @work(exclusive=True, group="consent")
    async def _after_consent(self, job: Job, motions: MotionsAhead) -> None:
        if await self.app.push_screen_wait(Confirm(motions)):
            self.ask(job)


_KINDS = ("sensor", "target")
