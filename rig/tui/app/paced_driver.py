"""Drivers of the UI library that never wait for the terminal, and stop by themselves.

The library's own queue waits once it is full, and the event loop with it: on a terminal
that takes nothing no key would be acted on. Here writing never waits, `behind` says
that frames are to be dropped, and the stop key is acted on in the thread that reads the
keys, whatever the event loop does.
"""

from __future__ import annotations

import sys
from typing import Any, Final, Protocol, runtime_checkable

from textual import events
from textual.driver import Driver
from textual.message import Message

from rig.tui.app.terminal_writer import TerminalWriter
from rig.tui.state.keys import STOP

_LATE_S: Final = 0.03  # a terminal that keeps up takes a frame in less
_MOST_WAITING_BYTES: Final = 32768
_CLOSING_PATIENCE_S: Final = 1.0


@runtime_checkable
class StopsAtOnce(Protocol):
    """An app whose axis can be stopped from any thread."""

    def stop_if_moving(self) -> bool:
        """Stop the axis if it moves; return whether a stop was sent."""

    def output_drained(self) -> None:
        """Hear, in the thread that writes, that the terminal has taken everything."""


class StopKeyFirst(Driver):
    """Acts on the stop key before it goes to the event loop."""

    def process_message(self, message: Message) -> None:
        """Stop at once; pass on everything else, in the thread that reads the keys."""
        stops = isinstance(message, events.Key) and message.key == STOP
        app: object = self._app
        if stops and isinstance(app, StopsAtOnce) and app.stop_if_moving():
            return
        super().process_message(message)


class PacedOutput(Driver):
    """Writes without ever waiting, and says when frames are to be dropped."""

    _writer: TerminalWriter | None = None

    @property
    def behind(self) -> bool:
        """Whether the terminal has not taken yet what it was given."""
        writer = self._writer
        if writer is None:
            return False
        return writer.waiting_bytes > _MOST_WAITING_BYTES or writer.stuck_s() > _LATE_S

    def stuck_s(self) -> float:
        """Return for how long the terminal has taken nothing of what waits for it."""
        return 0.0 if self._writer is None else self._writer.stuck_s()

    def start_application_mode(self) -> None:
        """Begin to write."""
        app: object = self._app
        assert isinstance(app, StopsAtOnce)
        # Of a terminal that is the file; a tab has a number only
        file = getattr(self, "_file", None)
        number: int = self.fileno if file is None else file.fileno()  # type: ignore[attr-defined]
        self._writer = TerminalWriter(number, app.output_drained)
        super().start_application_mode()  # type: ignore[safe-super]

    def write(self, data: str) -> None:
        """Have text written."""
        if hasattr(self, "_file"):
            self._write(data.encode("utf-8", "replace"))
        else:
            super().write(data)  # type: ignore[safe-super]

    def _write(self, data: bytes) -> None:
        """Have bytes written; the driver of a tab writes its packets by this."""
        if self._writer is not None:
            self._writer.write(data)

    def close(self) -> None:
        """Write what waits, for a while, and end."""
        if self._writer is not None:
            self._writer.close(_CLOSING_PATIENCE_S)
            self._writer = None
        super().close()


def paced(kind: type[Driver]) -> type[Driver]:
    """Return a kind of driver as this app needs it.

    The Windows console keeps the library's way of writing.
    """
    bases: tuple[type[Any], ...] = (StopKeyFirst, PacedOutput, kind)
    if sys.platform == "win32":
        bases = (StopKeyFirst, kind)
    return type(f"Paced{kind.__name__}", bases, {})
