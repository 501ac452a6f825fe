"""The wire between a host under trial and a controller: it damages, loses, delays."""

from __future__ import annotations

import random
from collections import deque
from dataclasses import replace
from enum import StrEnum
from typing import Protocol

from firmware_protocol.codec import decode, encode
from firmware_protocol.conformance.hosts.duties import Judge
from firmware_protocol.errors import RemoteProtocolError
from firmware_protocol.messages import (
    END_BYTE,
    START_BYTE,
    STOP_BYTE,
    Answer,
    GoRequest,
    HailRequest,
    HomeRequest,
    LookAnswer,
    Notice,
    State,
    TouchRequest,
)

_MOTION_WORDS = frozenset(each.WORD for each in (HomeRequest, GoRequest, TouchRequest))
_END = bytes([END_BYTE])
_MUTE_US = 1_200_000  # greetings are left unanswered for so long
_DELAY_US = 30_000  # the most that a line to the host is held up
_AT_MOTION = 3  # it has homed, and something is under way
_RESTART_AFTER_US = 300_000
_PRINTABLE = bytes(
    byte for byte in range(0x21, 0x7F) if byte not in (START_BYTE, STOP_BYTE)
)


class Scene(StrEnum):
    """What goes wrong; the value is how it is asked for."""

    NOISE = "noise"
    RESTART = "restart"
    STALL = "stall"


class Controlled(Protocol):
    """The controller behind the wire, in time that others advance."""

    @property
    def now_us(self) -> int:
        """Time."""

    @property
    def hung_up(self) -> bool:
        """Whether its link has gone for good."""

    def receive(self, data: bytes) -> None:
        """Take bytes from the host."""

    def take_output(self) -> bytes:
        """Return the bytes for the host since the last call."""

    def advance_to(self, time_us: int) -> None:
        """Let time pass up to a moment."""

    def next_event_us(self) -> int | None:
        """Return when something happens next; None for never."""

    def restart(self) -> None:
        """Start anew, as after a dip of the supply."""


class HostTrial:
    """A controller as a host under trial sees it.

    It is used as the controller itself: bytes in, bytes out, time that others advance.
    Every kind of mistake that it makes is one that SPEC.md allows a wire or a
    controller to make. In every scene it leaves the first greetings unanswered, and
    damages, loses, repeats and delays lines. Nothing is damaged into a stop byte: that
    stops the axis, which would end every trial.

    Attributes:
        judge: What the host has kept until now.
        damaged: Lines damaged to the controller and to the host.
    """

    def __init__(
        self,
        controller: Controlled,
        *,
        seed: int,
        share: float,
        scene: Scene = Scene.NOISE,
    ) -> None:
        """Stand between a host and a controller.

        Args:
            controller: The controller.
            seed: Seed of all that goes wrong.
            share: Share of the lines that is damaged, each way.
            scene: What goes wrong beyond that, in the third motion.
        """
        self.judge = Judge()
        self.damaged = [0, 0]
        self._controller = controller
        self._chance = random.Random(seed)
        self._share = share
        self._scene = scene
        self._from_host = bytearray()
        self._from_controller = bytearray()
        self._coming: deque[tuple[int, bytes]] = deque()
        self._arrived = bytearray()
        self._first_hail_us: int | None = None
        self._motions = 0
        self._restart_us: int | None = None
        self._stalled: LookAnswer | None = None
        self._stalling = False

    # --------------------------------------------------- as a controller is seen

    @property
    def now_us(self) -> int:
        """Time, by the controller."""
        return self._controller.now_us

    @property
    def hung_up(self) -> bool:
        """Whether the controller's link has gone for good."""
        return self._controller.hung_up

    def receive(self, data: bytes) -> None:
        """Take bytes from the host; stop bytes pass at once."""
        for byte in data:
            if byte == STOP_BYTE:
                self._from_host.clear()
                self._stalling = False
                self.judge.stopped(self.now_us)
                self._controller.receive(bytes([byte]))
                continue
            if byte == START_BYTE:
                self._from_host.clear()
            self._from_host.append(byte)
            if byte == END_BYTE:
                self._take_from_host(bytes(self._from_host))
                self._from_host.clear()

    def take_output(self) -> bytes:
        """Return what has reached the host since the last call."""
        self._collect()
        arrived = bytes(self._arrived)
        self._arrived.clear()
        return arrived

    def advance_to(self, time_us: int) -> None:
        """Let time pass; what falls on it happens."""
        while (due_us := self.next_event_us()) is not None and due_us <= time_us:
            self._step_to(max(due_us, self.now_us))
        self._step_to(time_us)

    def advance_once(self, time_us: int) -> None:
        """Let the next thing happen, or time pass up to a moment if that is sooner."""
        due_us = self.next_event_us()
        soonest_us = time_us if due_us is None else min(due_us, time_us)
        self._step_to(max(soonest_us, self.now_us))

    def next_event_us(self) -> int | None:
        """Return when something happens next; None for never."""
        times = [self._controller.next_event_us(), self._restart_us]
        if self._coming:
            times.append(self._coming[0][0])
        return min((time for time in times if time is not None), default=None)

    # ------------------------------------------------------------------- inside

    def _step_to(self, time_us: int) -> None:
        self._controller.advance_to(time_us)
        if self._restart_us is not None and self._restart_us <= time_us:
            self._restart_us = None
            self.judge.restarted()
            self._controller.restart()
        self._collect()

    def _take_from_host(self, line: bytes) -> None:
        body = _body(line)
        self.judge.sent(body, self.now_us)
        if _is(body, HailRequest) and self._mute():
            self.judge.muted()
            return
        if self._chance.random() < self._share:
            self.damaged[0] += 1
            line = self._spoilt(line)
        self._controller.receive(line)

    def _mute(self) -> bool:
        if self._first_hail_us is None:
            self._first_hail_us = self.now_us
        return self.now_us - self._first_hail_us < _MUTE_US

    def _collect(self) -> None:
        """Take what the controller sent; let what is due reach the host."""
        self._from_controller += self._controller.take_output()
        while (end := self._from_controller.find(_END)) >= 0:
            line = bytes(self._from_controller[: end + 1])
            del self._from_controller[: end + 1]
            self._take_from_controller(line)
        while self._coming and self._coming[0][0] <= self.now_us:
            _, line = self._coming.popleft()
            self._arrived += line
            self._tell_delivered(line)

    def _take_from_controller(self, line: bytes) -> None:
        message = decode(_body(line))
        if isinstance(message, Answer) and message.WORD in _MOTION_WORDS:
            self._begin_motion()
        if self._stalling and isinstance(message, Notice):
            return
        if self._stalling and isinstance(message, LookAnswer):
            line = self._as_it_stood(message)
        notice = isinstance(message, Notice)
        if notice and self._chance.random() < self._share:
            self.judge.withheld(_body(line))
            return
        if self._chance.random() < self._share:
            self.damaged[1] += 1
            if notice:
                self.judge.withheld(_body(line))
            self._put(self._spoilt(line))
            return
        self._put(line)
        if notice and self._chance.random() < self._share:
            self._put(line)

    def _begin_motion(self) -> None:
        self._motions += 1
        if self._motions != _AT_MOTION:
            return
        if self._scene is Scene.RESTART:
            self._restart_us = self.now_us + _RESTART_AFTER_US
        elif self._scene is Scene.STALL:
            self._stalling, self._stalled = True, None
            self.judge.stalls()

    def _as_it_stood(self, look: LookAnswer) -> bytes:
        """Return the answer of a controller whose axis goes on and gets nowhere."""
        if self._stalled is None:
            self._stalled = replace(look, state=State.MOVING)
        stood = self._stalled
        return encode(replace(stood, number=look.number, time=look.time))

    def _put(self, line: bytes) -> None:
        held_up = self._chance.random() < self._share
        delay_us = self._chance.randrange(_DELAY_US) if held_up else 0
        due_us = self.now_us + delay_us
        if self._coming:
            due_us = max(due_us, self._coming[-1][0])  # lines keep their order
        self._coming.append((due_us, line))

    def _spoilt(self, line: bytes) -> bytes:
        at = self._chance.randrange(1, len(line) - 1)
        other = [byte for byte in _PRINTABLE if byte != line[at]]
        return line[:at] + bytes([self._chance.choice(other)]) + line[at + 1 :]

    def _tell_delivered(self, line: bytes) -> None:
        try:
            decode(_body(line))
        except RemoteProtocolError:
            return
        self.judge.delivered(_body(line), self.now_us)


def _body(line: bytes) -> bytes:
    """Return what stands between start byte and end."""
    return line.rstrip(b"\r\n").removeprefix(bytes([START_BYTE]))


def _is(body: bytes, kind: type[HailRequest]) -> bool:
    try:
        return isinstance(decode(body), kind)
    except RemoteProtocolError:
        return False
