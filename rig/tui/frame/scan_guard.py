"""Leads what a barcode scanner types to the field for the part, and nowhere else.

Sees every key before any screen does. Characters that are typed where no field has the
focus go to the part field, if the screen in view has one. Once it is sure that a burst
is a scan, what it left in another field is taken out of it. The suffix of a scan
starts nothing. A chord that begins something counts once while it is held down.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Protocol, runtime_checkable

from textual import events
from textual.app import App
from textual.widget import Widget
from textual.widgets import Input, TextArea

from rig.errors import InputError
from rig.model.part_number import part_number, part_so_far
from rig.tui.frame.burst import Burst, Stroke
from rig.tui.state.keys import QUIT, START
from rig.tui.widgets.number_field import NUMBER

SHORTEST_PAUSE_S: Final = 0.8
"""Between two chords; a key that is held down repeats after 0.7 s at the latest."""
SCAN_PREFIX_VARIABLE: Final = "GAPSWEEP_SCAN_PREFIX"
"""Names the key or character that a scanner was told to send before each code."""
_NOT_TAKEN = "Scanned text was not taken: no part is asked for here."
_IN_FIELD = "Scanned text stands in the field. Nothing was begun or recorded."
_ONCE_A_PRESS = (START, QUIT)

TimeOfKey = Callable[[events.Key], float]


@runtime_checkable
class TakesPart(Protocol):
    """A screen at which the number of a part is scanned or typed."""

    def part_field(self) -> Input:
        """Return the field for it."""


def time_of_key(event: events.Key) -> float:
    """Return when a key was read from the terminal, in seconds."""
    return event.time


class ScanGuard:
    """Tells scans from typing.

    Args:
        app: The app that it guards.
        time_of: Says when a key was struck.
        prefix: Key or character that the scanner sends before each code; empty for
            none.
    """

    def __init__(self, app: App[None], time_of: TimeOfKey, prefix: str = "") -> None:
        self._app = app
        self._time_of = time_of
        self._burst = Burst(prefix)
        self._begun_in: Widget | None = None
        self._before: dict[Input | TextArea, _Before] = {}
        self._known = False
        self._pressed_at_s: dict[str, float] = {}

    def takes(self, event: events.Key) -> bool:
        """Take a key; return whether nobody else is to see it."""
        at_s = self._time_of(event)
        character = event.character if event.is_printable else None
        stroke = self._burst.take(event.key, character, at_s)
        match stroke:
            case Stroke.FIRST | Stroke.MORE:
                return self._character(event, first=stroke is Stroke.FIRST)
            case Stroke.END:
                self._look()
                self._refuse_unfit()
                return True
            case Stroke.INSIDE | Stroke.PREFIX:
                return True
            case Stroke.OTHER:
                return self._held_down(event.key, at_s)

    def _held_down(self, key: str, at_s: float) -> bool:
        if key not in _ONCE_A_PRESS:
            return False
        before_s = self._pressed_at_s.get(key)
        self._pressed_at_s[key] = at_s
        return before_s is not None and at_s - before_s < SHORTEST_PAUSE_S

    def _character(self, event: events.Key, *, first: bool) -> bool:
        focused = self._app.focused
        typing = isinstance(focused, Input | TextArea)
        if first:
            self._begun_in = focused if typing else None
            self._before = {}
            self._known = False
        self._look()
        part = self._part()
        if self._known:
            return part is not None or not self._stays(focused, None)
        if isinstance(focused, Input | TextArea):
            if focused not in self._before:
                self._before[focused] = _Before(focused)
            return False
        if part is None or (first and event.key == "space"):
            return event.key == "space" and not first
        self._app.screen.set_focus(part)
        part.call_later(_put, part, self._burst.text)
        return True

    def _look(self) -> None:
        """Lead the burst to the part field once it is sure that it is a scan."""
        if not self._burst.sure:
            return
        part = self._part()
        if not self._known:
            self._known = True
            self._take_out(part)
            if part is None:
                stays = self._stays(self._begun_in, None)
                self._app.notify(_IN_FIELD if stays else _NOT_TAKEN)
        if part is not None:
            self._app.screen.set_focus(part)
            part.call_later(_put, part, part_so_far(self._burst.text))

    def _refuse_unfit(self) -> None:
        """Take a whole code out again that is no number of a part, and say why."""
        part = self._part()
        if part is None or not self._burst.sure:
            return
        try:
            part_number(self._burst.text, "the scanned code")
        except InputError as exc:
            part.call_later(_put, part, "")
            self._app.notify(f"{exc}: {exc.hint}.", severity="warning")

    def _take_out(self, part: Input | None) -> None:
        for field, before in self._before.items():
            if not self._stays(field, part):
                before.put_back()

    def _stays(self, field: Widget | None, part: Input | None) -> bool:
        """Whether a scan may stay in a field: it was begun there, for words."""
        if part is not None or field is None:
            return field is part and part is not None
        return field is self._begun_in and not field.has_class(NUMBER)

    def _part(self) -> Input | None:
        screen = self._app.screen
        if not isinstance(screen, TakesPart):
            return None
        field = screen.part_field()
        return field if field.focusable else None


class _Before:
    """What stood in a field before keys that may be a scan.

    Both reading and putting back wait in the field's own queue, among its keys.
    """

    def __init__(self, field: Input | TextArea) -> None:
        self._field = field
        self._text = ""
        field.call_later(self._read)

    def _read(self) -> None:
        field = self._field
        self._text = field.value if isinstance(field, Input) else field.text

    def put_back(self) -> None:
        """Take everything out again that was typed since."""
        self._field.call_later(self._write)

    def _write(self) -> None:
        if isinstance(self._field, Input):
            self._field.value = self._text
        else:
            self._field.text = self._text


def _put(part: Input, text: str) -> None:
    part.value = text
    part.cursor_position = len(text)
