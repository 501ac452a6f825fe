"""The third screen: sweeps, live, and the figures that they give."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Horizontal
from textual.widgets import Button, Input, Static

from rig.errors import InputError
from rig.model.part_number import part_so_far
from rig.procedures.motions_ahead import hands_clear, run_ahead
from rig.procedures.run_order import RunOrder, order_on_record
from rig.tui.frame.framed_screen import VERTICAL_BREAKPOINTS, FramedScreen
from rig.tui.rig.bench_job import CarryOutRun
from rig.tui.rig.rig_events import Reading
from rig.tui.state.keys import REPORT, START, START_SHOWN, START_WORD, WRITE, bound
from rig.tui.state.report_files import write_run_report
from rig.tui.state.situation import LinkState, RunShown, Situation
from rig.tui.state.typed_order import typed_order
from rig.tui.widgets.chord_button import StartButton
from rig.tui.widgets.figure_list import FigureList
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.sweep_list import SweepTable
from rig.tui.widgets.tick_box import TickBox


class SweepsScreen(FramedScreen):
    """Order a run, watch it, read its figures."""

    HEADING = "Sweeps"
    AUTO_FOCUS = None
    VERTICAL_BREAKPOINTS = VERTICAL_BREAKPOINTS
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            START,
            "start",
            START_WORD,
            id="run.start",
            tooltip="Sweep what is mounted, or resume the run that was cut short",
        ),
        bound(
            WRITE,
            "app.details",
            "Details",
            id="run.details",
            tooltip="Operator, part, temperature and note of the next run",
        ),
        bound(
            REPORT,
            "report",
            "Report",
            id="run.report",
            show=False,
            tooltip="Write the report of the run that has ended",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._part = ""

    def compose_body(self) -> ComposeResult:
        """Yield order, motion, sweeps and figures."""
        with Horizontal(id="order"):
            yield Static("Sweeps", classes="name")
            yield Input("10", id="sweeps", compact=True, type="integer", max_length=5)
            yield Static("Speeds", classes="name")
            yield Input("1, 4", id="speeds", compact=True, max_length=30)
            yield Static("mm/s", classes="unit")
            yield StartButton(id="start", compact=True)
            yield TickBox("resume", value=True, id="go-on", compact=True)
            yield Static("", id="mounted")
        with Horizontal(id="sweeps-part"):
            yield Static("Part", classes="name")
            yield Input(id="part", compact=True, max_length=60)
            yield Static("", id="particulars")
        with Container(id="sweeps-job"):
            yield MotionView(id="motion")
            with Container(id="results"):
                yield SweepTable(id="sweep-table")
                yield FigureList(id="figures", classes="framed")

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.link is not LinkState.LIVE:
            return "F2 goes to the rig: connect to one first."
        if now.datum is None:
            again = " Then resume the run." if now.unfinished else ""
            return f"F3 goes to the bench: touch off first.{again}"
        if self._to_go_on_with(now) is not None:
            return f"{START_SHOWN} resumes, {hands_clear(run_ahead())}."
        return f"{START_SHOWN}, {hands_clear(run_ahead())}."

    def show(self, now: Situation) -> None:
        """Show order, points and figures."""
        sensor, target, run = now.sensor, now.target, now.run
        mounted = "nothing mounted"
        if sensor is not None and target is not None:
            mounted = f"{sensor.name} : {target.name}"
        self.put("#mounted", mounted)
        self.query_one("#start", Button).disabled = not _can_start(now)
        self.query_one("#go-on").display = self._to_go_on_with(now) is not None
        self.part_field().disabled = now.moving
        self._show_particulars()
        self.query_one(SweepTable).show_sweeps(() if run is None else run.rows)
        self.query_one(FigureList).show(run, simulated=_simulated(run))
        self.set_class(now.moving or run is None, "-watching")
        self.query_one(MotionView).show(now)

    def opened(self) -> None:
        """Follow what is written down with the next run."""
        self.watch(self.app, "particulars", self._show_particulars)

    def _show_particulars(self) -> None:
        told = self.app.particulars
        # Not what was typed here: more may stand in the field by now
        if told.part != self._part:
            self._part = told.part
            self.part_field().value = told.part
        self.put("#particulars", told.beside_part())

    def part_field(self) -> Input:
        """Return the field for the part."""
        return self.query_one("#part", Input)

    @on(Input.Changed, "#part")
    def _part_typed(self) -> None:
        self._part = part_so_far(self.part_field().value)
        told = replace(self.app.particulars, part=self._part)
        if told != self.app.particulars:
            self.app.particulars = told
            self.show_again()

    def show_reading(self, reading: Reading | None) -> None:
        """Move the target."""
        self.query_one(MotionView).show_reading(self.app.situation, reading)

    def take_focus(self, now: Situation) -> None:
        """Put the focus in the field for the part, where scans belong."""
        if now.moving:
            self.query_one(SweepTable).focus()
        else:
            self.part_field().focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done now."""
        return (action != "start" or _can_start(self.app.situation)) or None

    @on(Button.Pressed, "#start")
    def action_start(self) -> None:
        """Sweep, or resume the run that was cut short."""
        now = self.app.situation
        if not _can_start(now):
            return
        begun = self._to_go_on_with(now)
        if begun is not None and self.query_one("#go-on", TickBox).value:
            self._go_on(begun)
            return
        order = self._order(now)
        if order is not None:
            self.ask(CarryOutRun(order=order))

    def _to_go_on_with(self, now: Situation) -> RunShown | None:
        """Return the run that was cut short; None if it was of another part."""
        run = now.unfinished
        same = run is not None and run.header.part == self.app.particulars.part
        return run if same else None

    def _go_on(self, run: RunShown) -> None:
        order = self.app.particulars.beside(order_on_record(run.header))
        self.ask(CarryOutRun(order=order, unfinished_run_id=run.header.run_id))

    def _order(self, now: Situation) -> RunOrder | None:
        """Return what is typed as an order; say what is wrong with it otherwise."""
        if now.sensor is None or now.target is None:
            return None
        told = self.app.particulars
        try:
            order = typed_order(
                now.sensor,
                now.target,
                sweeps=self.query_one("#sweeps", Input).value,
                speeds=self.query_one("#speeds", Input).value,
            )
            return replace(told.beside(order), product=told.product)
        except InputError as exc:
            self.app.show_problem(exc)
            return None

    def action_report(self) -> None:
        """Write the report of the run that has ended."""
        run = self.app.situation.run
        if run is None or run.figures is None:
            self.app.show_problem(InputError("there are no figures to report yet"))
        else:
            self._report(run.header.run_id)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _report(self, run_id: str) -> None:
        write_run_report(self.app, [run_id])


def _can_start(now: Situation) -> bool:
    return now.datum is not None and now.under_way is None


def _simulated(run: RunShown | None) -> bool:
    return run is not None and run.header.conditions.simulated
