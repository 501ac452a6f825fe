"""The third place: sweeps, live, and the figures that they give."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Button, Input, Static

from rig.errors import InputError
from rig.procedures.run import RunOrder
from rig.tui.commands import CarryOutRun
from rig.tui.rig_events import Reading
from rig.tui.ruler_picture import ruler_picture
from rig.tui.screens.place import Place
from rig.tui.situation import LinkState, RunShown, Situation
from rig.tui.typed_order import typed_order
from rig.tui.widgets.figure_list import FigureList
from rig.tui.widgets.gap_ruler import GapRuler
from rig.tui.widgets.sweep_list import SweepTable


class SweepsPlace(Place):
    """Order a run, watch it, read its figures."""

    PLACE = "Sweeps"
    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "z",
            "close_up",
            "Close-up",
            id="ruler.close-up",
            tooltip="Draw only the neighbourhood of the points, or the whole gap",
        ),
        Binding(
            "o",
            "app.details",
            "Details",
            id="run.details",
            tooltip="Operator, part, temperature and note of the next run",
        ),
    ]

    def compose_body(self) -> ComposeResult:
        """Yield order, ruler, sweeps and figures."""
        with Horizontal(id="order"):
            yield Static("Sweeps", classes="name")
            yield Input("10", id="sweeps", compact=True, type="integer", max_length=5)
            yield Static("Speeds", classes="name")
            yield Input("1, 4", id="speeds", compact=True, max_length=30)
            yield Static("mm/s", classes="unit")
            yield Button("Start", id="start", compact=True, variant="primary")
            yield Button("Go on", id="go-on", compact=True)
            yield Static("", id="mounted")
        yield Static("", id="particulars")
        yield GapRuler(id="ruler")
        with Horizontal(id="results"):
            yield SweepTable(id="sweep-table")
            yield FigureList(id="figures", classes="framed")

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.link is not LinkState.LIVE:
            return "F2 goes to the rig: connect to one first."
        if now.datum is None:
            again = " Then go on with the run." if now.unfinished else ""
            return f"F3 goes to the bench: touch off first.{again}"
        if now.unfinished is not None:
            return "Press Enter to go on with the run where it was stopped."
        if now.run is not None and now.run.figures is not None:
            return "Read the figures. Enter sweeps again, F3 mounts another target."
        return "Press Enter to start the sweeps. z draws the ruler in close-up."

    def show(self, now: Situation) -> None:
        """Show order, points and figures."""
        sensor, target, run = now.sensor, now.target, now.run
        mounted = "nothing mounted"
        if sensor is not None and target is not None:
            mounted = f"{sensor.name} : {target.name}"
        self.put("#mounted", mounted)
        can = now.datum is not None and now.under_way is None
        self.query_one("#start", Button).disabled = not can
        go_on = self.query_one("#go-on", Button)
        go_on.display = now.unfinished is not None
        go_on.disabled = not can
        self._show_particulars()
        self.query_one(SweepTable).show(() if run is None else run.rows)
        self.query_one(FigureList).show(run, simulated=_simulated(run))
        self._draw()

    def on_mount(self) -> None:
        """Follow what is written down with the next run."""
        super().on_mount()
        self.watch(self.app, "particulars", self._show_particulars)

    def _show_particulars(self) -> None:
        self.put("#particulars", str(self.app.particulars))

    def show_reading(self, reading: Reading | None) -> None:
        """Move the target on the ruler."""
        self._draw()

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the next step."""
        if now.datum is None or now.under_way is not None:
            # Not in a field, which would take the key for the close-up
            self.query_one(SweepTable).focus()
        else:
            self.query_one("#start" if now.unfinished is None else "#go-on").focus()

    def action_close_up(self) -> None:
        """Draw the ruler at the other scale."""
        ruler = self.query_one(GapRuler)
        ruler.close_up = not ruler.close_up

    @on(GapRuler.CloseUpWanted)
    def _ruler_clicked(self) -> None:
        self.action_close_up()

    @on(Button.Pressed, "#start")
    @on(Input.Submitted)
    def _start(self) -> None:
        now = self.app.situation
        if now.datum is None or now.under_way is not None:
            return
        order = self._order(now)
        if order is not None:
            self.ask(CarryOutRun(order=self.app.particulars.beside(order)))

    @on(Button.Pressed, "#go-on")
    def _go_on(self) -> None:
        run = self.app.situation.unfinished
        if run is None:
            return
        header = run.header
        order = RunOrder(
            sensor=header.sensor,
            target=header.target,
            sweeps=header.sweeps_wanted,
            speeds_mm_s=header.speeds_mm_s,
        )
        order = self.app.particulars.beside(order)
        self.ask(CarryOutRun(order=order, unfinished_run_id=header.run_id))

    def _order(self, now: Situation) -> RunOrder | None:
        """Return what is typed as an order; say what is wrong with it otherwise."""
        if now.sensor is None or now.target is None:
            return None
        try:
            return typed_order(
                now.sensor,
                now.target,
                sweeps=self.query_one("#sweeps", Input).value,
                speeds=self.query_one("#speeds", Input).value,
            )
        except InputError as exc:
            self.app.show_problem(exc)
            return None

    def _draw(self) -> None:
        picture = ruler_picture(self.app.situation, self.app.reading)
        self.query_one(GapRuler).picture = picture


def _simulated(run: RunShown | None) -> bool:
    return run is not None and run.header.conditions.simulated
