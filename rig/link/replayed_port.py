"""A port that plays a trace back: what came then comes again, and at the same times."""

from __future__ import annotations

from collections.abc import Callable

from firmware_protocol.messages import STOP_BYTE
from rig.errors import LinkError, LinkLost
from rig.link.trace import Mark, Trace, TraceEvent

_MICRO = 1e-6


class ReplayedPort:
    """A transport on which nothing is but a trace.

    The host does what it did then, or the replay ends with the first byte that differs.

    Attributes:
        name: The trace, as the user calls it.
        on_stop: Asks the link for stop, where somebody did at that moment.

    Args:
        name: The trace, as the user calls it.
        trace: What is played back.
    """

    def __init__(self, name: str, trace: Trace) -> None:
        self.name = name
        self.on_stop: Callable[[], None] = lambda: None
        self._events = trace.events
        self._next = 0
        self._now_us = 0
        self._has_rate = "rate yes" in trace.head

    @property
    def has_rate(self) -> bool:
        """As the port had it."""
        return self._has_rate

    def read(self, longest_wait_s: float) -> bytes:
        """Return what came then."""
        self._stop_as_then()
        return self._take(Mark.FROM_RIG, "waits for the rig").data

    def write(self, data: bytes) -> None:
        """See that this was sent then."""
        words = f"sends {data.decode('ascii', 'backslashreplace').strip()!r}"
        event = self._take(Mark.TO_RIG, words)
        if event.data != data:
            raise self._other(words, event)

    def set_rate(self, bits_s: int) -> None:
        """See that the rate was changed then."""
        self._take(Mark.RATE, f"sets the rate {bits_s}")

    def now_s(self) -> float:
        """Return the time as the host read it then."""
        event = self._at()
        if event is not None and event.mark is Mark.TIME:
            self._next += 1
            self._now_us = event.time_us
        return self._now_us * _MICRO

    def close(self) -> None:
        """Let go; there is nothing to close."""

    def _at(self) -> TraceEvent | None:
        return self._events[self._next] if self._next < len(self._events) else None

    def _stop_as_then(self) -> None:
        """Ask for stop while a stop is what comes next and nobody here sends it."""
        event = self._at()
        sent = event is not None and event.mark is Mark.TO_RIG
        if event is not None and sent and not event.data.strip(bytes([STOP_BYTE])):
            self.on_stop()

    def _take(self, mark: Mark, words: str) -> TraceEvent:
        event = self._at()
        if event is None:
            raise LinkLost(f"the trace {self.name} ends here: the host {words}")
        if event.mark is not mark:
            raise self._other(words, event)
        self._next += 1
        self._now_us = event.time_us
        return event

    def _other(self, words: str, event: TraceEvent) -> LinkError:
        then = f"{event.mark} {event.data.decode('ascii', 'backslashreplace')!r}"
        return LinkError(
            f"the replay of {self.name} parts from its trace at"
            f" {event.time_us * _MICRO:.6f} s: the host {words}, and the trace has"
            f" {then}",
            hint="give the same command, options and version, and records as they were",
        )
