"""A line between a host and a simulated controller on which everything goes wrong.

It is used as the controller itself: bytes in, bytes out, on the controller's clock.
What goes wrong is drawn from a seed and counted by its class.
"""

from __future__ import annotations

import heapq
import random
from collections import Counter, deque
from dataclasses import dataclass, field
from enum import StrEnum

from firmware_protocol import LocalProtocolError, RemoteProtocolError
from firmware_protocol.codec import Incoming, decode
from firmware_protocol.messages import (
    END_BYTE,
    STOP_BYTE,
    EdgeNotice,
    Order,
    RestCause,
    RestNotice,
    Source,
)
from sim.device import Controller
from sim.machine import Truth

_END = bytes([END_BYTE])
_SECOND_US = 1_000_000


class Fault(StrEnum):
    """A class of faults of the line."""

    FLIP = "bytes flipped"
    DROP = "bytes dropped"
    DOUBLE = "bytes doubled"
    NOISE = "bytes put in"
    BURST = "bursts"
    LOSE = "lines lost"
    REPEAT = "lines doubled"
    DELAY = "lines delayed"
    REORDER = "lines reordered"
    LATE = "late copies"
    CUT = "cuts"
    RESTART = "restart in mid-sweep"


OF_BYTES = (Fault.FLIP, Fault.DROP, Fault.DOUBLE, Fault.NOISE)
OF_LINES = (
    Fault.BURST,
    Fault.LOSE,
    Fault.REPEAT,
    Fault.DELAY,
    Fault.REORDER,
    Fault.LATE,
)


@dataclass(frozen=True, kw_only=True)
class Cut:
    """The line carries nothing for a while, either way.

    Attributes:
        begin_us: When, by the controller's clock.
        end_us: Until when.
    """

    begin_us: int
    end_us: int


@dataclass(kw_only=True)
class _Way:
    """What goes one way: lines by when they are due, and one that waits for the next.

    Lines keep their order, but for those that are to lose it.
    """

    due: list[tuple[int, int, bytes]] = field(default_factory=list)
    last_us: int = 0
    held: bytes | None = None
    count: int = 0

    def put(self, at_us: int, line: bytes) -> None:
        self.count += 1
        heapq.heappush(self.due, (at_us, self.count, line))


class FaultyWire:
    """A controller behind a line that is not to be trusted.

    Attributes:
        shares: Share of the bytes, or of the lines, that each class hits, each way.
        stops_from_noise: Whether damage may make a stop byte of another byte.
        cuts: When the line carries nothing; in order.
        restart_us: When the controller restarts; None for never.
        seen: How often each class struck.
        edges: Every edge of the output that the controller told, before any damage.
        orders: Every order that the host gave, in its session.
        stopped_us: For each cut that fell into a motion, how long that went on.
        forged_stops: Stop bytes that reached the controller and nobody sent.
    """

    def __init__(
        self,
        controller: Controller,
        *,
        seed: int,
        shares: dict[Fault, float],
        cuts: tuple[Cut, ...] = (),
        restart_us: int | None = None,
        stops_from_noise: bool = True,
    ) -> None:
        self.controller = controller
        self.shares = shares
        self.stops_from_noise = stops_from_noise
        self.cuts = deque(cuts)
        self.restart_us = restart_us
        self.seen: Counter[Fault] = Counter()
        self.edges: list[EdgeNotice] = []
        self.orders: set[tuple[int, int]] = set()
        self.stopped_us: list[int] = []
        self.forged_stops = 0
        self._chance = random.Random(seed)
        self._to_rig = _Way()
        self._to_host = _Way()
        self._from_controller = bytearray()
        self._arrived = bytearray()
        self._cut: Cut | None = None
        self._cut_in_motion = False

    # --------------------------------------------------- as a controller is seen

    @property
    def now_us(self) -> int:
        return self.controller.now_us

    @property
    def hung_up(self) -> bool:
        return self.controller.hung_up

    def truth(self) -> Truth:
        return self.controller.truth()

    def receive(self, data: bytes) -> None:
        message = _decoded(data)
        if isinstance(message, Order):
            self.orders.add((message.session, message.number))
        self._pass(data, self._to_rig)
        self._deliver()

    def take_output(self) -> bytes:
        self._collect()
        arrived = bytes(self._arrived)
        self._arrived.clear()
        return arrived

    def advance_to(self, time_us: int) -> None:
        while (due_us := self.next_event_us()) is not None and due_us <= time_us:
            self._step_to(max(due_us, self.now_us))
        self._step_to(time_us)

    def advance_once(self, time_us: int) -> None:
        due_us = self.next_event_us()
        soonest_us = time_us if due_us is None else min(due_us, time_us)
        self._step_to(max(soonest_us, self.now_us))

    def next_event_us(self) -> int | None:
        times = [self.controller.next_event_us(), self.restart_us]
        times += [way.due[0][0] for way in (self._to_rig, self._to_host) if way.due]
        if self._cut is not None:
            times.append(self._cut.end_us)
        elif self.cuts:
            times.append(self.cuts[0].begin_us)
        return min((time for time in times if time is not None), default=None)

    # ------------------------------------------------------------------- inside

    def _step_to(self, time_us: int) -> None:
        self.controller.advance_to(time_us)
        if self.restart_us is not None and self.restart_us <= time_us:
            self.restart_us = None
            self.seen[Fault.RESTART] += 1
            self.controller.restart()
        self._begin_or_end_cut()
        self._collect()
        self._deliver()

    def _begin_or_end_cut(self) -> None:
        if self._cut is None and self.cuts and self.cuts[0].begin_us <= self.now_us:
            self._cut = self.cuts.popleft()
            self.seen[Fault.CUT] += 1
            self._cut_in_motion = self._moving()
        if self._cut is None:
            return
        if self._cut_in_motion and not self._moving():
            self._cut_in_motion = False
            self.stopped_us.append(self.now_us - self._cut.begin_us)
        if self._cut.end_us <= self.now_us:
            if self._cut_in_motion:
                self.stopped_us.append(self.now_us - self._cut.begin_us)
            self._cut = None

    def _moving(self) -> bool:
        return self.controller._orders.busy

    def _collect(self) -> None:
        self._from_controller += self.controller.take_output()
        while (end := self._from_controller.find(_END)) >= 0:
            line = bytes(self._from_controller[: end + 1])
            del self._from_controller[: end + 1]
            message = _decoded(line)
            if isinstance(message, EdgeNotice) and message.source is Source.OUT:
                self.edges.append(message)
            if isinstance(message, RestNotice) and message.cause is RestCause.SILENT:
                self._take_note_of_silence(message)
            self._pass(line, self._to_host)

    def _take_note_of_silence(self, rest: RestNotice) -> None:
        """The motion ended at the time told, which may be before it was looked at."""
        if self._cut_in_motion and self._cut is not None:
            self._cut_in_motion = False
            now_us = self.now_us
            ago_us = (self.controller.clock(now_us) - rest.time) % 2**32
            self.stopped_us.append(now_us - ago_us - self._cut.begin_us)

    def _pass(self, line: bytes, way: _Way) -> None:
        """Let a line go one way, with what goes wrong on it."""
        if self._cut is not None:
            return
        line = self._spoilt(line)
        at_us = max(self.now_us, way.last_us)
        struck = [one for one in OF_LINES if self._strikes(one)]
        if Fault.LOSE in struck:
            return
        if Fault.DELAY in struck:
            at_us += self._chance.randrange(1_000, 400_000)
        if Fault.LATE in struck:
            late_us = at_us + self._chance.randrange(500_000, 20 * _SECOND_US)
            way.put(late_us, line)
        if Fault.REORDER in struck and way.held is None:
            way.held = line
            return
        way.last_us = at_us
        for _ in range(2 if Fault.REPEAT in struck else 1):
            way.put(at_us, line)
        if way.held is not None:
            way.put(at_us, way.held)
            way.held = None

    def _strikes(self, fault: Fault) -> bool:
        share = self.shares.get(fault, 0.0)
        if share and self._chance.random() < share:
            self.seen[fault] += 1
            return True
        return False

    def _spoilt(self, line: bytes) -> bytes:
        chance, spoilt = self._chance, line
        if self._strikes(Fault.BURST):
            length = chance.randrange(2, len(line) + 1)
            at = chance.randrange(len(line) - length + 1)
            spoilt = line[:at] + chance.randbytes(length) + line[at + length :]
        for fault in OF_BYTES:
            share = self.shares.get(fault, 0.0)
            if not share:
                continue
            at = 0
            while at < len(spoilt):
                if chance.random() < share:
                    self.seen[fault] += 1
                    spoilt = spoilt[:at] + self._hit(spoilt, at, fault)
                    at += fault in (Fault.DOUBLE, Fault.NOISE)
                at += 1
        return spoilt if spoilt == line else self._without_stops(line, spoilt)

    def _hit(self, line: bytes, at: int, fault: Fault) -> bytes:
        """Return the line from a place on, with that byte hit."""
        byte, rest = line[at : at + 1], line[at + 1 :]
        if fault is Fault.DROP:
            return rest
        if fault is Fault.DOUBLE:
            return byte + byte + rest
        if fault is Fault.NOISE:
            return self._chance.randbytes(1) + byte + rest
        return bytes([byte[0] ^ (1 << self._chance.randrange(8))]) + rest

    def _without_stops(self, line: bytes, spoilt: bytes) -> bytes:
        stop = bytes([STOP_BYTE])
        if stop in line:
            return spoilt
        if not self.stops_from_noise:
            return spoilt.replace(stop, b"~")
        self.forged_stops += spoilt.count(stop)
        return spoilt

    def _deliver(self) -> None:
        for way, take in (
            (self._to_rig, self.controller.receive),
            (self._to_host, self._arrived.extend),
        ):
            while way.due and way.due[0][0] <= self.now_us:
                _, _, line = heapq.heappop(way.due)
                if line and self._cut is None:
                    take(line)


def _decoded(line: bytes) -> Incoming | None:
    try:
        return decode(line.rstrip(b"\n").removeprefix(b"&"))
    except (RemoteProtocolError, LocalProtocolError):
        return None
