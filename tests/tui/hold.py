"""Holds the simulated rig still, so that it does not outrun a test."""

from __future__ import annotations

import threading

import pytest

from firmware_protocol.messages import State
from rig.model.sweeps import Sweep
from rig.records import Writer
from rig.tui.rig.live_view import LiveView
from rig.wiring import SimTransport
from tests.patience import PATIENCE_S

IN_MOTION = (State.SEEKING, State.MOVING)


class Hold:
    """Keeps the rig's thread waiting for an answer of the rig until it is let go on.

    A stop that is asked for meanwhile is the first that the rig then hears.

    Attributes:
        waiting: Set once the thread waits.
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.waiting = threading.Event()
        self._go_on = threading.Event()
        self._go_on.set()
        self._index: int | None = None
        self._in_motion = False
        read, add_sweep, see = SimTransport.read, Writer.add_sweep, LiveView.see

        def held_read(transport: SimTransport, longest_wait_s: float) -> bytes:
            if not self._go_on.is_set():
                self.waiting.set()
                assert self._go_on.wait(PATIENCE_S)
            return read(transport, longest_wait_s)

        def counted(writer: Writer, run_id: str, sweep: Sweep) -> None:
            add_sweep(writer, run_id, sweep)
            if sweep.index == self._index:
                self.now()

        def seen(view: LiveView, item: object) -> None:
            see(view, item)
            if self._in_motion and view._state in IN_MOTION:
                view.post_now()
                self.now()

        monkeypatch.setattr(LiveView, "see", seen)
        monkeypatch.setattr(SimTransport, "read", held_read)
        monkeypatch.setattr(Writer, "add_sweep", counted)

    def now(self) -> None:
        """Hold it from its next look at the rig on."""
        self._index, self._in_motion = None, False
        self._go_on.clear()

    def in_motion(self) -> None:
        """Hold it once the app has been shown that the axis moves."""
        self._in_motion = True

    def after_sweep(self, index: int) -> None:
        """Hold it once this sweep of a run is on record."""
        self._index = index

    def let_go(self) -> None:
        """Let it go on."""
        self.waiting.clear()
        self._go_on.set()
