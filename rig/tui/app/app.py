"""The app: owns the rig's thread, keeps the situation, leads between the screens."""

from __future__ import annotations

import asyncio
import gc
import os
import time
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events, on, work
from textual.app import SystemCommand
from textual.binding import BindingType
from textual.command import Provider
from textual.filter import LineFilter
from textual.screen import Screen
from textual.signal import Signal
from textual.widgets import Input, TextArea

from rig.errors import InputError, RigError
from rig.model.plain_text import pasted
from rig.procedures.events import RunEnded
from rig.procedures.particulars import Particulars
from rig.records import default_location
from rig.tui.app.details_screen import Details
from rig.tui.app.hang_up import leave_when_hung_up
from rig.tui.app.help_screen import Help
from rig.tui.app.leave_question import LeaveQuestion
from rig.tui.app.paced_app import UNSEEN, PacedApp
from rig.tui.app.palette import InOrder, commands, keys_of
from rig.tui.app.plain_lines import PLAIN_LINES
from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.frame.scan_guard import (
    SCAN_PREFIX_VARIABLE,
    ScanGuard,
    TimeOfKey,
    time_of_key,
)
from rig.tui.frame.screen_list import SCREENS, Way
from rig.tui.rig.bench_job import Connect, ListPorts, Mount
from rig.tui.rig.calibration_job import LookUpCalibration
from rig.tui.rig.declaration_job import LookUpDeclaration
from rig.tui.rig.jobs import Job
from rig.tui.rig.known_rig_job import LookUpRig
from rig.tui.rig.rig_events import (
    Connected,
    Done,
    MountedThere,
    Problem,
    ProcedureReported,
    Reading,
    RigEvent,
)
from rig.tui.rig.rig_thread import RigThread
from rig.tui.state.keys import OPEN, QUIT, STOP, WRITE, bound
from rig.tui.state.memory import (
    IN_WORDS,
    ON,
    REDUCED,
    RIG,
    Memory,
    default_memory,
)
from rig.tui.state.messages import Ask, ReadingCame, RigReported
from rig.tui.state.open_file import open_written
from rig.tui.state.open_records import OpenRecords, folder_beside, folder_for_people
from rig.tui.state.places import Places
from rig.tui.state.situation import LinkState, after_event, after_request
from rig.tui.state.themes import CONTRAST, DARK, LIGHT, THEMES

if TYPE_CHECKING:
    from rig.catalogue.catalogue import Catalogue
    from rig.model.product import ProductVersion
    from rig.records import Store

_CLOCK_S = 1.0
# With these one looks on and changes nothing
_LOOKING_ON = frozenset(
    {"up", "down", "left", "right", "home", "end", "pageup", "pagedown"}
    | {"tab", "shift+tab", "f1", "f8"}
)


def utc_now() -> datetime:
    """Return the time, UTC."""
    return datetime.now(UTC)


class GapsweepApp(PacedApp):
    """The terminal UI.

    Args:
        records: Where the records are; by default where they are for this user.
        rig_name: A rig to offer first.
        catalogue: Sensors and targets; by default the standard ones.
        memory: Where the screens keep habits and drafts; by default for this user.
        now: The time, UTC.
        time_of_key: Says when a key was struck, in seconds.
    """

    TITLE = "Gapsweep"
    CSS_PATH: ClassVar[list[str | PurePath]] = [
        "../frame/framed_screen.tcss",
        "../frame/list_screen.tcss",
        *(f"../{entry.module.replace('.', '/')}.tcss" for entry in SCREENS),
        "../frame/document_form.tcss",
        "../frame/confirm_screen.tcss",
        "../frame/grounds_form.tcss",
        "../frame/mount_prompt.tcss",
        "../frame/paged_screen.tcss",
        "../frame/record_question.tcss",
        "../bench/declaration_form.tcss",
        "../bench/confirm_rig_form.tcss",
        "../inspector/product_form_screen.tcss",
        "../technician/calibration_form.tcss",
        "../technician/gauge_screen.tcss",
        "../technician/note_form.tcss",
        "../technician/reading_form.tcss",
        "../technician/study_form_screen.tcss",
        "../technician/study_readings_screen.tcss",
        "../technician/plan_day_screen.tcss",
        "../technician/plan_maker_screen.tcss",
        "details_screen.tcss",
        "help_screen.tcss",
        "leave_question.tcss",
    ]
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = {
        entry.name: entry.make for entry in SCREENS
    }
    DEFAULT_MODE = "rig"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {InOrder}
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("f1,question_mark", "help", "Help", key_display="f1", id="app.help"),
        *(
            bound(
                entry.key,
                f"open_screen('{entry.name}')",
                entry.title,
                id=f"screen.{entry.name}",
                show=entry.way is Way.EVERYBODY,
            )
            for entry in SCREENS
            if entry.key
        ),
        bound(WRITE, "details", "Details", id="run.details", show=False),
        bound("f8", "light_or_dark", "Theme", id="app.theme", show=False),
        bound(
            OPEN,
            "open_written",
            "Open",
            id="report.open",
            show=False,
            priority=True,
            tooltip="Open the report or the export that was written last",
        ),
        bound("ctrl+p", "command_palette", "Palette", id="app.palette"),
        bound(QUIT, "quit", "Quit", id="app.quit", show=False, priority=True),
        bound("ctrl+c", "help_quit", show=False, system=True),
    ]

    def __init__(
        self,
        records: str | None = None,
        rig_name: str | None = None,
        catalogue: Catalogue | None = None,
        *,
        memory: Path | None = None,
        now: Callable[[], datetime] = utc_now,
        time_of_key: TimeOfKey = time_of_key,
    ) -> None:
        super().__init__()
        self._memory = Memory(memory or default_memory())
        self.rig_name = rig_name
        self._catalogue = catalogue
        self._now = now
        self._heard_s = time.monotonic()
        self._begun: set[type[Job]] = set()
        self._stopped_unseen = False
        self._problem_of_screen: Problem | None = None
        prefix = os.environ.get(SCAN_PREFIX_VARIABLE, "")
        self._scan_guard = ScanGuard(self, time_of_key, prefix)
        self.unsaved = set()
        self.rig_events = Signal(self, "rig-events")
        where = records or default_location()
        self.folder = folder_beside(where)
        self.papers, self.written = folder_for_people(records), None
        self._open_records = OpenRecords(where)
        self.places = Places(where, self.kept, self.keep)
        self.rig_thread = RigThread(self._post, records=where)
        for theme in THEMES:
            self.register_theme(theme)
        if "TEXTUAL_THEME" not in os.environ:
            kept = self.kept("theme")
            known = {theme.name for theme in THEMES}
            self.theme = kept if kept in known else DARK.name
        self.particulars = Particulars(operator=self.kept("operator"))
        self.turned = set()

    # ------------------------------------------------------------ the rig's thread

    def _post(self, event: RigEvent) -> None:
        """Take what the thread tells; runs in that thread, so it only posts."""
        if isinstance(event, Reading):
            self.post_message(ReadingCame(event))
        else:
            self.post_message(RigReported(event))

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return what every line goes through before it is shown."""
        return (*super().get_line_filters(), PLAIN_LINES)

    def on_mount(self) -> None:
        """Start the thread and the clock."""
        self.rig_thread.start()
        self.rig_thread.submit(ListPorts())
        self.clock = self._now()
        self.set_interval(_CLOCK_S, self._tick)
        leave_when_hung_up(self, self.rig_thread.stop)
        if self.places.newest_first():
            self.switch_mode("carry_on")

    def _tick(self) -> None:
        self.clock = self._now()
        if self.unseen_too_long() and self.stop_if_moving():
            self._stopped_unseen = True
        if self.situation.moving:
            # Redrawing leaves much behind; taken away when it is due by itself, all of
            # it holds the keys up for a tenth of a second
            gc.collect()

    @property
    def catalogue(self) -> Catalogue:
        """Sensors and targets by name; the standard ones are loaded when asked for."""
        if self._catalogue is None:
            from rig.catalogue.catalogue import load_catalogue
            from rig.catalogue.own_catalogue import own_catalogue

            self._catalogue = load_catalogue(own_catalogue())
        return self._catalogue

    def now(self) -> datetime:
        """Return the time, UTC."""
        return self._now()

    def records(self) -> Store:
        """Return the records, opened; for thread workers, as opening may take a while.

        Raises:
            RecordsError: They cannot be opened.
        """
        return self._open_records.records()

    def link_age_s(self) -> float:
        """Return how long ago the rig was heard."""
        return time.monotonic() - self._heard_s

    @on(ReadingCame)
    def _reading_came(self, message: ReadingCame) -> None:
        self._heard_s = time.monotonic()
        self.reading = message.reading

    @on(RigReported)
    def _rig_reported(self, message: RigReported) -> None:
        event = message.event
        self._heard_s = time.monotonic()
        self.situation = after_event(self.situation, event)
        self._say_if_unseen()
        if self.situation.link is not LinkState.LIVE:
            self.reading = None
        self.rig_events.publish(event)
        if isinstance(event, Connected):
            self.submit(LookUpCalibration())
            self.submit(LookUpDeclaration())
            self.submit(LookUpRig())
            self._note_mounted(event.mounted)
            if self.kept(RIG) != self.situation.rig_name:
                self.keep(RIG, self.situation.rig_name)
        elif isinstance(event, Done) and isinstance(event.job, Connect):
            if self.current_mode == "rig":
                self.switch_mode("bench")
        elif isinstance(event, ProcedureReported) and isinstance(event.event, RunEnded):
            self._ring()

    def _say_if_unseen(self) -> None:
        """Say of a stop by the terminal why it came, once somebody can see it."""
        problem = self.situation.problem
        if self._stopped_unseen and problem is not None and problem.stopped:
            self._stopped_unseen = False
            told = replace(problem, hint=UNSEEN)
            self.situation = replace(self.situation, problem=told)

    def _ring(self) -> None:
        if self.kept("bell") == ON:
            self.bell()

    def _note_mounted(self, there: MountedThere | None) -> None:
        """Say what a rig that can tell has mounted, if the catalogue knows it."""
        if there is None:
            return
        target = self.catalogue.targets.get(there.target_name)
        for sensor in self.catalogue.sensors.values():
            same = (sensor.principle, sensor.output) == (there.principle, there.output)
            if same and target is not None:
                self.submit(Mount(sensor=sensor, target=target))
                return

    @on(Ask)
    def _asked(self, message: Ask) -> None:
        # Whatever was wrong before, something else is wanted now
        self.situation = replace(self.situation, problem=None)
        self.submit(message.job)

    def submit(self, job: Job) -> None:
        """Give a job to the thread of the rig."""
        self._keep_memory(job)
        self.situation = after_request(self.situation, job)
        self.rig_thread.submit(job)

    def _keep_memory(self, job: Job) -> None:
        """Leave what is loaded out of garbage collection, once for each kind of motion.

        A full collection holds up every thread, the rig's too, while it walks all
        objects; modules, screens and styles stay for good, so the walk is for nothing.
        """
        if job.MOVES and type(job) not in self._begun:
            self._begun.add(type(job))
            gc.freeze()

    def kept(self, name: str) -> str:
        """Return what the screens keep under a name; empty if there is nothing."""
        return self._memory.kept(name)

    def keep(self, name: str, text: str) -> None:
        """Keep a habit or what somebody has begun to type, at once and on disk."""
        try:
            self._memory.keep(name, text)
        except InputError as exc:
            self.show_problem(exc)

    def pictures_in_words(self) -> bool:
        """Whether pictures are told in words."""
        return self.kept("pictures") == IN_WORDS

    def motion_reduced(self) -> bool:
        """Whether nothing glides or falls: as set here, or for all programs."""
        return self.kept("motion") == REDUCED or self.animation_level == "none"

    def show_problem(self, error: RigError) -> None:
        """Show what is wrong with what was asked for."""
        problem = Problem(sentence=str(error), hint=error.hint)
        self.situation = replace(self.situation, problem=problem)
        self._problem_of_screen = problem

    def clear_problem(self) -> None:
        """Show no longer what `show_problem` has shown; a problem of the rig stays."""
        problem = self.situation.problem
        if problem is not None and problem is self._problem_of_screen:
            self.situation = replace(self.situation, problem=None)

    # -------------------------------------------------------------------- actions

    async def on_event(self, event: events.Event) -> None:
        """Stop at the stop key before anything else sees it, while the axis moves.

        No binding does this: even one with priority leaves a key that prints to the
        field that has the focus. While nothing moves, the key is the field's. What a
        scanner types is led to the field for the part, and what is pasted is text. What
        was wrong with something typed or chosen stands until the next key that changes
        anything.
        """
        if isinstance(event, events.Paste) and not event.is_forwarded:
            # The one way in besides keys, which print what can be seen or nothing
            event = events.Paste(pasted(event.text))
        if isinstance(event, events.Key) and not event.is_forwarded:
            if event.key == STOP and self.situation.moving:
                self.action_stop_now()
                return
            if self._scan_guard.takes(event):
                return
            if event.key not in _LOOKING_ON:
                self.clear_problem()
            self._say_why_not(event)
        await super().on_event(event)

    def _say_why_not(self, event: events.Key) -> None:
        """Say why a key that the screen has does nothing now."""
        screen, typed = self.screen, isinstance(self.focused, Input | TextArea)
        active = screen.active_bindings.get(event.key)
        if active is None or active.enabled or (typed and event.is_printable):
            return
        if active.node is screen and isinstance(screen, FramedScreen):
            action = active.binding.action
            self.show_problem(screen.why_not(action, self.situation))

    def action_stop_now(self) -> None:
        """Stop the axis at once; straight from here, past every queue."""
        try:
            self.rig_thread.stop()
        except RigError as exc:
            self.show_problem(exc)

    def stop_if_moving(self) -> bool:
        """Stop the axis if it moves; from any thread, past the event loop."""
        if not self.rig_thread.moving:
            return False
        try:
            self.rig_thread.stop()
        except RigError:
            return False  # the event loop tries again, and says why
        return True

    def action_help(self) -> None:
        """Explain keys and words."""
        if not isinstance(self.screen, Help):
            self.push_screen(Help(keys_of(self.screen)))

    async def action_open_screen(self, name: str) -> None:
        """Go to a screen; what was wrong with an order on another one is left there."""
        self.clear_problem()
        while isinstance(self.screen, Help) or (
            self.current_mode == name and len(self.screen_stack) > 1
        ):
            await self.pop_screen()
        await self.switch_mode(name)

    def action_light_or_dark(self) -> None:
        """Change between light and dark, and keep to it."""
        self.theme = LIGHT.name if self.current_theme.dark else DARK.name
        self.keep("theme", self.theme)

    def action_open_written(self) -> None:
        """Open what was written last, or the folder that it would go to."""
        try:
            open_written(self, self.written or self.papers)
        except InputError as exc:
            self.show_problem(exc)

    def action_high_contrast(self) -> None:
        """Take the colours that stand out most, or those of the dark again."""
        there = self.theme == CONTRAST.name
        self.theme = DARK.name if there else CONTRAST.name
        self.keep("theme", self.theme)

    def action_motion_full_or_reduced(self) -> None:
        """Let things glide and fall on the screen from now on, or no longer."""
        reduced = self.kept("motion") != REDUCED
        self.keep("motion", REDUCED if reduced else "")
        self.notify("Motion is reduced." if reduced else "Motion is shown in full.")

    def action_bell_on_or_off(self) -> None:
        """Ring at the end of a run from now on, or no longer."""
        ringing = self.kept("bell") != ON
        self.keep("bell", ON if ringing else "")
        self.notify("A bell rings at the end of a run." if ringing else "No sound.")

    @work(exclusive=True, group="details")
    async def action_details(self) -> None:
        """Ask for operator, part, temperature, note and product of the next runs."""
        names: tuple[str, ...] = ()
        products: dict[str, ProductVersion] = {}
        # Records that cannot be opened are told of when something is measured
        with suppress(RigError):
            names = await asyncio.to_thread(self._operator_names)
            products = await asyncio.to_thread(self._products_in_force)
        form = Details(self.particulars, names, products)
        told_now = await self.push_screen_wait(form)
        if told_now is not None:
            self.particulars = told_now
            self.keep("operator", told_now.operator)

    def _operator_names(self) -> tuple[str, ...]:
        from rig.inquiry.operators import operators_on_record

        return operators_on_record(self.records()).names

    def _products_in_force(self) -> dict[str, ProductVersion]:
        from rig.inquiry.products import products_in_force

        return products_in_force(self.records())

    async def action_quit(self) -> None:
        """Leave; ask first if something moves or would be lost."""
        lost = sorted(self.unsaved)
        if isinstance(self.screen, LeaveQuestion):
            self.screen.dismiss(True)
        elif self.situation.moving or lost:
            self._leave_if_wanted(self.situation.doing, lost)
        else:
            await self.action_leave()

    @work(exclusive=True, group="leave")
    async def _leave_if_wanted(self, doing: str, lost: list[str]) -> None:
        moving = doing if self.situation.moving else ""
        if await self.push_screen_wait(LeaveQuestion(moving=moving, lost=lost)):
            await self.action_leave()

    async def action_leave(self) -> None:
        """Stop the axis, let go of the rig, leave."""
        await asyncio.to_thread(self.rig_thread.close)
        self.exit()

    async def on_unmount(self) -> None:
        """End the thread whichever way the app ended."""
        await asyncio.to_thread(self.rig_thread.close)
        self._open_records.close()
        gc.unfreeze()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Offer what the keys do, by name."""
        return commands(self, screen)
