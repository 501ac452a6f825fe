"""The trimmer helper: hold the target at the wanted gap, turn until the output sits."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Button, Input, Static

from rig.errors import InputError
from rig.model.number_input import number
from rig.procedures.motions_ahead import (
    hands_clear,
    hold_ahead,
    in_brief,
    trimmer_check_ahead,
)
from rig.procedures.trimmer import Check, Finish, Turned, Wish
from rig.procedures.trimmer_guide import Screw, TrimmerAdvice, TrimmerCheck, Turn
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.rig.rig_events import Failed, ProcedureReported, RigEvent
from rig.tui.state.keys import START, START_SHOWN, START_WORD, bound
from rig.tui.state.situation import LinkState, Situation
from rig.tui.state.status_words import CARE, GOOD, PLAIN
from rig.tui.trimmer.trimmer_job import SetTrimmer
from rig.tui.widgets.chord_button import StartButton
from rig.tui.widgets.number_field import NUMBER
from rig.tui.widgets.verdict_panel import Banner, VerdictPanel

_MANY = 5.0


class TrimmerScreen(WorkScreen):
    """Say at which gap it should operate; turn as the screen says; check; lock."""

    HEADING = "Set trimmer"
    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            START,
            "start",
            START_WORD,
            id="trimmer.start",
            tooltip="Hand away: take the target to the gap, or move a little and look",
        ),
        bound(
            "right",
            "turned('clockwise', 1)",
            "Clockwise",
            id="trimmer.clockwise",
            key_display="→",
            tooltip="I turned the screw clockwise; on the simulated rig this turns it",
        ),
        bound(
            "left",
            "turned('anticlockwise', 1)",
            "Anticlockw.",
            id="trimmer.anticlockwise",
            key_display="←",
            tooltip="I turned it anticlockwise; on the simulated rig this turns it",
        ),
        bound(
            "shift+right",
            f"turned('clockwise', {_MANY:g})",
            "Clockwise, far",
            id="trimmer.clockwise-far",
            show=False,
        ),
        bound(
            "shift+left",
            f"turned('anticlockwise', {_MANY:g})",
            "Anticlockwise, far",
            id="trimmer.anticlockwise-far",
            show=False,
        ),
        bound("escape", "finish", "Done", id="trimmer.done"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._advice: TrimmerAdvice | None = None

    def compose_body(self) -> ComposeResult:
        """Yield the wanted gap, what to do in large letters, and why."""
        with Horizontal(id="trimmer-order"):
            yield Static("Should operate at", classes="name")
            yield Input(
                "", id="trimmer-gap", compact=True, max_length=8, classes=NUMBER
            )
            yield Static("mm", classes="unit")
            yield StartButton(id="hold", words="Hold there", compact=True)
            yield Static("", id="trimmer-sensor")
        yield VerdictPanel(id="trimmer-turn")
        yield Static("", id="trimmer-why")
        yield Static("", id="trimmer-check")

    # ------------------------------------------------------------------- showing

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.link is not LinkState.LIVE:
            return "F2 goes to the rig: connect to one first."
        if now.datum is None:
            return "F3 goes to the bench: touch off first."
        return f"{START_SHOWN}, {hands_clear(hold_ahead())}."

    def show(self, now: Situation) -> None:
        """Show order, advice and the last check."""
        sensor = now.sensor
        field = self.query_one("#trimmer-gap", Input)
        if not field.value and sensor is not None:
            field.value = f"{sensor.rated_distance_mm:g}"
        field.disabled = now.moving
        self.query_one("#hold", Button).disabled = not _can_hold(now)
        self.put("#trimmer-sensor", "" if sensor is None else sensor.name)
        advice = self._advice
        banner = Banner() if advice is None else _banner(advice, self._holding(now))
        self.query_one(VerdictPanel).banner = banner
        self.put("#trimmer-why", banner.reason)
        text = Content() if advice is None else _check_text(advice.check)
        self.query_one("#trimmer-check", Static).update(text)
        self.refresh_bindings()

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the next step; none while arrow keys turn the screw."""
        if self._holding(now) is not None:
            self.set_focus(None)
        elif now.datum is not None and now.under_way is None:
            self.query_one("#trimmer-gap").focus()

    def hear(self, event: RigEvent) -> None:
        """Take advice."""
        if isinstance(event, ProcedureReported) and isinstance(
            event.event, TrimmerAdvice
        ):
            self._advice = event.event
        elif isinstance(event, Failed) and isinstance(event.job, SetTrimmer):
            self._advice = None
        else:
            return
        if self.is_current:
            self.show_again()

    # ------------------------------------------------------------------- actions

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done now."""
        now = self.app.situation
        if action in ("turned", "finish"):
            return (self._holding(now) is not None) or None
        if action == "start":
            return (self._holding(now) is not None or _can_hold(now)) or None
        return True

    def action_start(self) -> None:
        """Hold the target at the gap; if it is held, look where the output operates."""
        if self._holding(self.app.situation) is None:
            self._hold()
        else:
            self._wish(Check())

    @on(Button.Pressed, "#hold")
    def _hold(self) -> None:
        if not _can_hold(self.app.situation):
            return
        try:
            wanted_mm = _gap(self.query_one("#trimmer-gap", Input).value)
        except InputError as exc:
            self.app.show_problem(exc)
            return
        self._advice = None
        self.ask(SetTrimmer(wanted_mm=wanted_mm))

    def action_turned(self, screw: str, turns: float) -> None:
        """Note a turn of the screw."""
        self._wish(Turned(screw=Screw(screw), turns=float(turns)))

    def action_finish(self) -> None:
        """Leave the trimmer as it is."""
        self._wish(Finish())

    def _wish(self, wish: Wish) -> None:
        job = self._holding(self.app.situation)
        if job is not None:
            job.wishes.put(wish)

    def _holding(self, now: Situation) -> SetTrimmer | None:
        job = now.under_way
        return job if isinstance(job, SetTrimmer) else None


def _can_hold(now: Situation) -> bool:
    return now.datum is not None and now.under_way is None


def _banner(advice: TrimmerAdvice, job: SetTrimmer | None) -> Banner:
    reason = advice.sentence
    if advice.settled:
        return Banner(shape="✓", word="SET", reason=reason, style=GOOD, frame="-good")
    if job is None:
        return Banner(shape="?", word="NOT SET", reason=reason, style=CARE)
    if advice.confirm:
        return Banner(shape="◉", word="CHECK", reason=reason, style=GOOD, frame="-open")
    word = "MORE" if advice.turn is Turn.MORE else "LESS"
    shape = "+" if advice.turn is Turn.MORE else "-"
    return Banner(shape=shape, word=word, reason=reason, style=PLAIN, frame="-open")


def _check_text(check: TrimmerCheck | None) -> Content:
    if check is None:
        return Content(
            f"Report each turn with → or ←. {START_SHOWN}, hands clear, checks:"
            f" {in_brief(trimmer_check_ahead())}."
        )
    if check.always_on:
        return Content("Last check: operated even far away.")
    if check.operate_mm is None:
        return Content("Last check: not operated, down to the nearest gap.")
    spread = "" if check.range_mm is None else f", range {check.range_mm:.3f} mm"
    return Content.assemble(
        "Last check: operates at ",
        (f"{check.operate_mm:.3f} mm", "bold"),
        f" (n = {check.n}{spread}, at 1 mm/s).\n",
        ("No ±: an aid for setting, delay still in it. Sweeps give the figure.", "dim"),
    )


def _gap(text: str) -> float:
    return number(text, "the gap, mm,")
