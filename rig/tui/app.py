"""The app: owns the rig's thread, keeps the situation, leads between the places."""

from __future__ import annotations

import asyncio
import gc
import os
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import PurePath
from typing import Any, ClassVar

from textual import events, on
from textual.app import SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from rig.catalogue.catalogue import Catalogue, load_catalogue
from rig.errors import RigError
from rig.records import default_location
from rig.tui.commands import Command, Connect, ListPorts, Mount
from rig.tui.host import Host
from rig.tui.messages import Ask, ReadingCame, RigTold
from rig.tui.rig_events import (
    Connected,
    Done,
    MountedThere,
    Problem,
    Reading,
    RigEvent,
)
from rig.tui.rig_thread import RigThread
from rig.tui.screens.bench_place import BenchPlace
from rig.tui.screens.help import Help
from rig.tui.screens.rig_place import RigPlace
from rig.tui.screens.sweeps_place import SweepsPlace
from rig.tui.situation import LinkState, asked, told
from rig.tui.themes import DARK, LIGHT

STOP_KEY = "space"
_CLOCK_S = 1.0


def utc_now() -> datetime:
    """Return the time, UTC."""
    return datetime.now(UTC)


class GapsweepApp(Host):
    """The terminal UI.

    Args:
        records: Where the records are; by default where they are for this user.
        rig_name: A rig to offer first.
        catalogue: Sensors and targets; by default the standard ones.
        now: The time, UTC.
    """

    TITLE = "Gapsweep"
    CSS_PATH: ClassVar[list[str | PurePath]] = [
        "screens/place.tcss",
        "screens/rig_place.tcss",
        "screens/bench_place.tcss",
        "screens/sweeps_place.tcss",
        "screens/confirm.tcss",
        "screens/help.tcss",
    ]
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = {
        "rig": RigPlace,
        "bench": BenchPlace,
        "sweeps": SweepsPlace,
    }
    DEFAULT_MODE = "rig"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,question_mark", "help", "Help", key_display="f1", id="app.help"),
        Binding("f2", "place('rig')", "Rig", id="place.rig"),
        Binding("f3", "place('bench')", "Bench", id="place.bench"),
        Binding("f4", "place('sweeps')", "Sweeps", id="place.sweeps"),
        Binding("f8", "light_or_dark", "Theme", id="app.theme"),
        Binding("ctrl+p", "command_palette", "Palette", id="app.palette"),
        Binding("ctrl+q", "quit", "Quit", id="app.quit", priority=True),
        Binding("ctrl+c", "help_quit", show=False, system=True),
    ]

    def __init__(
        self,
        records: str | None = None,
        rig_name: str | None = None,
        catalogue: Catalogue | None = None,
        *,
        now: Callable[[], datetime] = utc_now,
    ) -> None:
        super().__init__()
        self.rig_name = rig_name
        self.catalogue = catalogue or load_catalogue()
        self._now = now
        self._heard_s = time.monotonic()
        self._begun: set[type[Command]] = set()
        self.rig_thread = RigThread(self._post, records=records or default_location())
        self.register_theme(DARK)
        self.register_theme(LIGHT)
        if "TEXTUAL_THEME" not in os.environ:
            self.theme = DARK.name

    # ------------------------------------------------------------ the rig's thread

    def _post(self, event: RigEvent) -> None:
        """Take what the thread tells; runs in that thread, so it only posts."""
        if isinstance(event, Reading):
            self.post_message(ReadingCame(event))
        else:
            self.post_message(RigTold(event))

    def on_mount(self) -> None:
        """Start the thread and the clock."""
        self.rig_thread.start()
        self.rig_thread.submit(ListPorts())
        self.clock = self._now()
        self.set_interval(_CLOCK_S, self._tick)

    def _tick(self) -> None:
        self.clock = self._now()

    def link_age_s(self) -> float:
        """Return how long ago the rig was heard."""
        return time.monotonic() - self._heard_s

    @on(ReadingCame)
    def _reading_came(self, message: ReadingCame) -> None:
        self._heard_s = time.monotonic()
        self.reading = message.reading

    @on(RigTold)
    def _rig_told(self, message: RigTold) -> None:
        event = message.event
        self._heard_s = time.monotonic()
        self.situation = told(self.situation, event)
        if self.situation.link is not LinkState.LIVE:
            self.reading = None
        if isinstance(event, Connected):
            self._note_mounted(event.mounted)
        elif isinstance(event, Done) and isinstance(event.command, Connect):
            self.switch_mode("bench")

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
        self.submit(message.command)

    def submit(self, command: Command) -> None:
        """Give a command to the thread of the rig."""
        self._keep_memory(command)
        self.situation = asked(self.situation, command)
        self.rig_thread.submit(command)

    def _keep_memory(self, command: Command) -> None:
        """Leave what is loaded out of garbage collection, once for each kind of motion.

        A full collection holds up every thread, the rig's too, while it walks all
        objects; modules, screens and styles stay for good, so the walk is for nothing.
        """
        if command.MOVES and type(command) not in self._begun:
            self._begun.add(type(command))
            gc.freeze()

    def show_problem(self, error: RigError) -> None:
        """Show what is wrong with what was asked for."""
        problem = Problem(sentence=str(error), hint=error.hint)
        self.situation = replace(self.situation, problem=problem)

    # -------------------------------------------------------------------- actions

    async def on_event(self, event: events.Event) -> None:
        """Stop at the stop key before anything else sees it, while the axis moves.

        No binding does this: even one with priority leaves a key that prints to the
        field that has the focus. While nothing moves, the key is the field's.
        """
        key = isinstance(event, events.Key) and event.key == STOP_KEY
        if key and self.situation.moving and not event.is_forwarded:
            self.action_stop_now()
            return
        await super().on_event(event)

    def action_stop_now(self) -> None:
        """Stop the axis at once; straight from here, past every queue."""
        try:
            self.rig_thread.stop()
        except RigError as exc:
            self.show_problem(exc)

    def action_help(self) -> None:
        """Explain keys and words."""
        if not isinstance(self.screen, Help):
            self.push_screen(Help())

    def action_place(self, place: str) -> None:
        """Go to a place."""
        if isinstance(self.screen, Help):
            self.pop_screen()
        self.switch_mode(place)

    def action_light_or_dark(self) -> None:
        """Change between light and dark."""
        self.theme = LIGHT.name if self.current_theme.dark else DARK.name

    async def action_quit(self) -> None:
        """Stop the axis, let go of the rig, leave."""
        await asyncio.to_thread(self.rig_thread.close)
        self.exit()

    async def on_unmount(self) -> None:
        """End the thread whichever way the app ended."""
        await asyncio.to_thread(self.rig_thread.close)
        gc.unfreeze()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Offer what the keys do, by name."""
        yield SystemCommand("axis: Stop", "Stop the axis at once", self.action_stop_now)
        for place, words in (
            ("rig", "Connect to a rig"),
            ("bench", "Check the bench, touch off"),
            ("sweeps", "Measure"),
        ):
            yield SystemCommand(
                f"place: {place.capitalize()}",
                words,
                lambda place=place: self.action_place(place),
            )
        yield SystemCommand(
            "help: Keys and words", "Explain keys and words", self.action_help
        )
        yield SystemCommand(
            "theme: Light or dark", "Change the colours", self.action_light_or_dark
        )
        yield SystemCommand("app: Quit", "Stop the axis and leave", self.action_quit)
