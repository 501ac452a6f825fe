"""Controllers that are wrong in one way each, and the clauses that catch them.

Every one is run through the whole suite: it fails the clauses named here and no others.
"""

from __future__ import annotations

import binascii
import re
from collections.abc import Callable
from typing import Any

import pytest

from firmware_protocol import StopMark
from firmware_protocol.checksum import check_digits
from firmware_protocol.conformance.clause import Verdict
from firmware_protocol.conformance.run import run
from firmware_protocol.conformance.subject import Subject
from firmware_protocol.framing import LineAssembler
from firmware_protocol.messages import (
    END_BYTE,
    STOP_BYTE,
    ErrorCode,
    HailRequest,
    RestCause,
    Source,
    State,
)
from sim.device import Controller
from sim.drive import Drive, Happening
from sim.orders import Orders, Part
from sim.requests import Desk, Reply
from sim.ring import Ring
from sim.traits import Traits

SubjectFor = Callable[..., Subject]


class SoundDesk(Desk):
    """Leaves the rate as it is when a `rate` is repeated."""

    def answer(self, body: bytes) -> Reply | None:
        kept = self._remembered
        reply = super().answer(body)
        again = kept is not None and reply is kept[2]
        return Reply(lines=reply.lines) if again and reply is not None else reply


class Wrong(Controller):
    """A controller some of whose parts are of another class."""

    desk: type[Desk] = SoundDesk
    orders: type[Orders] = Orders
    ring: type[Ring] = Ring
    drive: type[Drive] = Drive
    assembler: type[LineAssembler] = LineAssembler

    def _start(self, *arguments: Any) -> None:
        self._drive.__class__ = self.drive
        self._inbox.assembler = self.assembler()
        super()._start(*arguments)
        for part, cls in (
            (self._desk, self.desk),
            (self._orders, self.orders),
            (self._ring, self.ring),
        ):
            part.__class__ = cls


# ---- lines


class Right(Wrong):
    """Nothing is wrong."""


class OtherCheck(Wrong):
    """The check begins with 0."""

    def _hear(self, body: bytes) -> None:
        fits = f"{binascii.crc_hqx(body[:-5], 0):04x}".encode() == body[-4:]
        super()._hear(body[:-4] + check_digits(body[:-5]) if fits else b"")

    def take_output(self) -> bytes:
        lines = super().take_output().split(b"\n")
        return b"\n".join(
            line[:-4] + f"{binascii.crc_hqx(line[1:-5], 0):04x}".encode()
            if line
            else line
            for line in lines
        )


class UpperCase(Wrong):
    """The case of the check does not matter."""

    def _hear(self, body: bytes) -> None:
        super()._hear(body[:-4] + body[-4:].lower())


class NoCheck(Wrong):
    """A damaged line is answered with an error."""

    def _hear(self, body: bytes) -> None:
        if body[-5:-4] == b" " and check_digits(body[:-5]) != body[-4:]:
            body = b"q5 damaged"
            body += b" " + check_digits(body)
            self._damaged += 1
        super()._hear(body)


class LongLines(LineAssembler):
    def _take(self, byte: int, done: list[bytes | StopMark]) -> None:
        if byte != END_BYTE and 63 <= len(self._line) < 70 and 32 <= byte < 127:
            self._line.append(byte)
        else:
            super()._take(byte, done)


class TakesLongLines(Wrong):
    """A line of 70 bytes is taken."""

    assembler = LongLines


class CountsTwiceLines(LineAssembler):
    def feed(self, data: bytes) -> list[bytes | StopMark]:
        before = self.dropped
        done = super().feed(data)
        self.dropped += self.dropped - before
        return done


class CountsTwice(Wrong):
    """A damaged line counts twice."""

    assembler = CountsTwiceLines


class NoReturn(LineAssembler):
    def _take(self, byte: int, done: list[bytes | StopMark]) -> None:
        if byte == 0x0D:
            self._drop_if(True)
        else:
            super()._take(byte, done)


class RefusesReturn(Wrong):
    """A CR before the LF spoils the line."""

    assembler = NoReturn


class StopOutside(LineAssembler):
    def feed(self, data: bytes) -> list[bytes | StopMark]:
        done: list[bytes | StopMark] = []
        for byte in data:
            if byte == STOP_BYTE and self._inside:
                self._drop_if(True)
            else:
                done += super().feed(bytes([byte]))
        return done


class IgnoresStopInLine(Wrong):
    """The stop byte is another byte in the middle of a line."""

    assembler = StopOutside


class StopTakenOut(LineAssembler):
    def feed(self, data: bytes) -> list[bytes | StopMark]:
        done: list[bytes | StopMark] = []
        for byte in data:
            inside = self._inside
            done += super().feed(bytes([byte]))
            self._inside = inside if byte == STOP_BYTE else self._inside
        return done


class KeepsLineAtStop(Wrong):
    """The line around the stop byte is carried out all the same."""

    assembler = StopTakenOut


class StopCounted(LineAssembler):
    def feed(self, data: bytes) -> list[bytes | StopMark]:
        done: list[bytes | StopMark] = []
        for byte in data:
            self.dropped += byte == STOP_BYTE and self._inside
            done += super().feed(bytes([byte]))
        return done


class CountsStop(Wrong):
    """The line around the stop byte is counted as damaged."""

    assembler = StopCounted


# ---- requests


def _reworded(change: Callable[[bytes], bytes]) -> type[Desk]:
    class Reworded(SoundDesk):
        def answer(self, body: bytes) -> Reply | None:
            content = change(body[:-5])
            return super().answer(content + b" " + check_digits(content))

    return Reworded


class TakesMinusZero(Wrong):
    """`-0` is a number."""

    desk = _reworded(lambda body: body.replace(b" -0", b" 0"))


def _wrapped(body: bytes) -> bytes:
    words = body.split(b" ")
    for index, word in enumerate(words):
        if index and re.fullmatch(rb"-?[1-9][0-9]*", word):
            words[index] = str((int(word) + 2**31) % 2**32 - 2**31).encode()
    return b" ".join(words)


class WrapsNumbers(Wrong):
    """A number beyond 32 bits wraps."""

    desk = _reworded(_wrapped)


class ForgetfulDesk(SoundDesk):
    def answer(self, body: bytes) -> Reply | None:
        self._remembered = None
        return super().answer(body)


class CarriesOutTwice(Wrong):
    """A repeated request is carried out again."""

    desk = ForgetfulDesk


class ZeroDesk(SoundDesk):
    def answer(self, body: bytes) -> Reply | None:
        reply = super().answer(body)
        if body.startswith(b"q0 "):
            self._remembered = None
        return reply


class ForgetsByZero(Wrong):
    """Request number 0 makes it forget the remembered one."""

    desk = ZeroDesk


class LoyalDesk(SoundDesk):
    def _hail(self, request: Any) -> Reply:
        kept = self._kept
        reply = super()._hail(request)
        self._remembered = kept
        return reply

    def answer(self, body: bytes) -> Reply | None:
        self._kept = self._remembered
        return super().answer(body)


class HailForgetsNothing(Wrong):
    """`hail` leaves the remembered request."""

    desk = LoyalDesk


class LatchedHail(SoundDesk):
    def answer(self, body: bytes) -> Reply | None:
        head, _, words = body[:-5].partition(b" ")
        reply = super().answer(body)
        if words.startswith(b"hail") and reply is not None and head != b"q0":
            self._remembered = (int(head[1:]), words, reply)
        return reply


class RemembersHail(Wrong):
    """`hail` is remembered like another request."""

    desk = LatchedHail


class HastyDesk(SoundDesk):
    def _bad_state(self, request: Any) -> Any:
        if not self._orders.homed and request.WORD in ("fence", "go", "touch"):
            return ErrorCode.NOT_HOMED, 0
        return super()._bad_state(request)


class WrongOrder(Wrong):
    """Error 5 comes before 8 and 7."""

    desk = HastyDesk


class FencedDesk(SoundDesk):
    def _out_of_bounds(self, request: Any) -> Any:
        fence = self._orders.fence
        if request.WORD in ("go", "touch") and request.target == fence[1] + 1:
            return None
        return super()._out_of_bounds(request)


class FenceOffByOne(Wrong):
    """A step beyond the upper soft limit is allowed."""

    desk = FencedDesk


class AnyonesDesk(SoundDesk):
    def _objection(self, request: Any, verb: str) -> Any:
        found = super()._objection(request, verb)
        return None if found == (ErrorCode.NEEDS_NUMBER, 0) else found


class TakesZero(Wrong):
    """`rearm` may have number 0."""

    def _start(self, *arguments: Any) -> None:
        super()._start(*arguments)
        answer = self._desk.answer

        def wrong(body: bytes) -> Reply | None:
            if body[:-5] != b"q0 rearm":
                return answer(body)
            self._orders.rearm()
            return Reply(lines=(_line(f"a0 rearm {self._orders.state}"),))

        self._desk.answer = wrong


def _line(body: str) -> bytes:
    content = body.encode()
    return b"&" + content + b" " + check_digits(content) + b"\n"


class OpenDesk(SoundDesk):
    def answer(self, body: bytes) -> Reply | None:
        self._greeted = True
        return super().answer(body)


class NeedsNoGreeting(Wrong):
    """Requests are carried out before `hail`."""

    desk = OpenDesk


class OtherMajorDesk(SoundDesk):
    def _hail(self, request: Any) -> Reply:
        if isinstance(request, HailRequest):
            request = HailRequest(number=request.number, major=1)
        return super()._hail(request)


class AnyMajor(Wrong):
    """`hail` with any major version is a greeting."""

    desk = OtherMajorDesk


class DropsThird(Wrong):
    """What there is no room for is not counted."""

    def _hear(self, body: bytes) -> None:
        if len(self._waiting) < 2:
            super()._hear(body)


class SameBoot(Wrong):
    """`boot` does not change with a start."""

    def restart(self, *arguments: Any) -> None:
        self.boot -= 1
        super().restart(*arguments)


# ---- states and motion


class NoDeadMan(Wrong):
    """Silence stops nothing."""

    def _silent_at_us(self) -> int | None:
        return None


class NoDeadManSeeking(Wrong):
    """Silence stops nothing while seeking."""

    def _silent_at_us(self) -> int | None:
        seeking = self._orders.state is State.SEEKING
        return None if seeking else super()._silent_at_us()


class LateDeadMan(Wrong):
    """Silence stops the axis 0.1 s late."""

    def _silent_at_us(self) -> int | None:
        at_us = super()._silent_at_us()
        return None if at_us is None else at_us + 100_000


class HearsEcho(Wrong):
    """Any sound line counts against silence."""

    def _hear(self, body: bytes) -> None:
        if check_digits(body[:-5]) == body[-4:]:
            self._heard_us = self.now_us
        super()._hear(body)


class HearsNoise(Wrong):
    """Damaged lines count against silence."""

    def _hear(self, body: bytes) -> None:
        self._heard_us = self.now_us
        super()._hear(body)


class KeptOrders(Orders):
    def halt(self, cause: RestCause, now_us: int) -> None:
        kept = self.homed, self.fence
        super().halt(cause, now_us)
        self.homed, self.fence = kept


class KeepsHome(Wrong):
    """A stop in motion keeps home and soft limits."""

    orders = KeptOrders


class LostOrders(Orders):
    def halt(self, cause: RestCause, now_us: int) -> None:
        super().halt(cause, now_us)
        self.homed, self.fence = False, None


class LosesHome(Wrong):
    """A stop at rest loses home and soft limits."""

    orders = LostOrders


class CoastingOrders(Orders):
    def halt(self, cause: RestCause, now_us: int) -> None:
        if self.busy and cause is RestCause.STOPPED:
            self._drive.end_after(self._drive._gone(now_us) + 5, now_us)
            self._coasting = True
        else:
            super().halt(cause, now_us)

    def _end(self, now_us: int) -> None:
        if getattr(self, "_coasting", False):
            self._coasting = False
            self._rest(RestCause.STOPPED)
        else:
            super()._end(now_us)


class CoastsOnStop(Wrong):
    """The stop byte lets the axis come to rest with a ramp."""

    orders = CoastingOrders


class ShortOrders(Orders):
    def _count_edge(self, seen: Happening) -> None:
        if self._order is not None:
            self._order.overrun_steps = 0
        super()._count_edge(seen)


class IgnoresOverrun(Wrong):
    """It brakes right at the edge."""

    orders = ShortOrders


class RisingOrders(Orders):
    def _count_edge(self, seen: Happening) -> None:
        if seen.level:
            super()._count_edge(seen)


class CountsRising(Wrong):
    """Only edges to 1 count for the turn."""

    orders = RisingOrders


class ThereOrders(Orders):
    def _rest(self, cause: RestCause) -> None:
        super()._rest(RestCause.THERE if cause is RestCause.TURN else cause)


class NeverTurns(Wrong):
    """A turn is told as `there`."""

    orders = ThereOrders


class NumbOrders(Orders):
    def _probe(self, seen: Happening, now_us: int) -> None:
        if self._order is None or self._order.part is not Part.TOUCH:
            super()._probe(seen, now_us)


class TouchGoesOn(Wrong):
    """`touch` does not stop at the probe."""

    orders = NumbOrders


class BlindOrders(Orders):
    def _probe(self, seen: Happening, now_us: int) -> None:
        if self._order is None or self._order.part is not Part.GO:
            super()._probe(seen, now_us)


class IgnoresContact(Wrong):
    """`go` goes on when the probe closes."""

    orders = BlindOrders


class ZeroedOrders(Orders):
    def _notice(self, source: Source, seen: Happening) -> None:
        count = 0 if source is Source.HOME else seen.count_steps
        self._ring.edge(source, seen.level, count, self._clock(seen.time_us))


class HomeEdgeAtZero(Wrong):
    """The home switch is noticed with the count after it became 0."""

    orders = ZeroedOrders


class BoldOrders(Orders):
    def _home_switch(self, seen: Happening, now_us: int) -> None:
        if self._order is None or self._order.part not in (Part.GO, Part.TOUCH):
            super()._home_switch(seen, now_us)


class IgnoresHomeSwitch(Wrong):
    """The home switch closing in a motion is no fault."""

    orders = BoldOrders


class ClearedOrders(Orders):
    def rearm(self) -> State:
        self.fault = 0
        return super().rearm()


class RearmClears(Wrong):
    """`rearm` clears the fault in `tally`."""

    orders = ClearedOrders


# ---- notices


class LateOrders(Orders):
    def _notice(self, source: Source, seen: Happening) -> None:
        late = 0 if self._order is None else 3 * self._order.direction
        clock = self._clock(seen.time_us)
        self._ring.edge(source, seen.level, seen.count_steps + late, clock)


class LatchesLate(Wrong):
    """The count is latched three steps late."""

    orders = LateOrders


class JitteryOrders(Orders):
    def _notice(self, source: Source, seen: Happening) -> None:
        late = self._clock(seen.time_us + self._ring.next_number % 7 * 20)
        self._ring.edge(source, seen.level, seen.count_steps, late)


class TimesBadly(Wrong):
    """The time is latched up to 0.12 ms late."""

    orders = JitteryOrders


class SkippingRing(Ring):
    __slots__ = ()

    def edge(self, *arguments: Any) -> None:
        if self.next_number % 10 == 9:
            self.next_number += 1
        super().edge(*arguments)


class SkipsNumber(Wrong):
    """A number is left out now and then."""

    ring = SkippingRing


class ShortRound(Ring):
    __slots__ = ()

    def _put(self, notice: Any) -> None:
        super()._put(notice)
        self.next_number = self.next_number or 1


class NumberWrapsToOne(Wrong):
    """Notice 65535 is followed by 1."""

    ring = ShortRound


class LinearRing(Ring):
    __slots__ = ()

    def line(self, number: int) -> bytes | None:
        return super().line(number) if self.oldest <= number else None


class RecallNotAcross(Wrong):
    """`recall` compares numbers as if they never wrapped."""

    ring = LinearRing


class ChangedRing(Ring):
    __slots__ = ()

    def line(self, number: int) -> bytes | None:
        line = super().line(number)
        if line is None:
            return None
        words = line[1:-6].decode().split()
        words[2] = str(self.lost + 1)
        return _line(" ".join(words))


class RecallChanges(Wrong):
    """A recalled notice tells another `lost`."""

    ring = ChangedRing


class CarelessRing(Ring):
    __slots__ = ()

    def _claim(self) -> tuple[int, int]:
        super()._claim()
        self.lost = 0
        return self.next_number, 0


class CountsNoLoss(Wrong):
    """What is lost is not counted."""

    ring = CarelessRing


class NoticesFirst(Wrong):
    """Notices that wait go before a reply."""

    def _send(self) -> None:
        if self._ring._unsent:
            self._outbox.begin(self.now_us)
        else:
            super()._send()


class ClockWraps(Wrong):
    """The clock wraps at 2^31."""

    def clock(self, time_us: int) -> int:
        return super().clock(time_us) % 2**31


class NoTrial(Wrong):
    """The fast rate stays without a sound line."""

    def _happen(self) -> None:
        super()._happen()
        self._rate_until_us = None


CAUGHT: dict[type[Wrong], str] = {
    Right: "",
    OtherCheck: "4.1 5.3 6.11 12.1 12.2 12.3",
    UpperCase: "2.10 4.3",
    NoCheck: "2.9 2.10 4.2 4.3 9.5 10.33",
    TakesLongLines: "2.6",
    CountsTwice: "2.4 2.6 2.7 2.8",
    RefusesReturn: "2.2",
    IgnoresStopInLine: "5.1 5.9",
    KeepsLineAtStop: "5.1",
    CountsStop: "5.1",
    TakesMinusZero: "3.1",
    WrapsNumbers: "3.2",
    CarriesOutTwice: "6.1 6.2 6.3 6.7 6.10 6.23 9.6 10.35",
    ForgetsByZero: "6.7 6.23",
    HailForgetsNothing: "6.5",
    RemembersHail: "6.5",
    WrongOrder: "3.3 6.3 6.12 8.2 8.3",
    FenceOffByOne: "5.13 6.17 6.22 8.6 10.3 10.5 10.22",
    TakesZero: "6.6 6.7 6.11",
    NeedsNoGreeting: "6.11 12.2 12.3",
    AnyMajor: "3.3 6.10 12.3",
    DropsThird: "6.21",
    SameBoot: "12.1",
    NoDeadMan: "10.30 10.31 10.32 10.33 10.36",
    NoDeadManSeeking: "10.31",
    LateDeadMan: "10.30 10.31 10.32 10.33",
    HearsEcho: "10.32",
    HearsNoise: "10.32 10.33",
    KeepsHome: "5.7 10.24 10.30 10.32 10.33",
    LosesHome: "5.13",
    CoastsOnStop: "5.10",
    IgnoresOverrun: "10.10 10.13 10.16",
    CountsRising: "10.10 10.11 10.12 10.16",
    NeverTurns: "10.10 10.11 10.12 10.13 10.14 10.16",
    TouchGoesOn: "10.20 10.25",
    IgnoresContact: "10.24",
    HomeEdgeAtZero: "10.42",
    IgnoresHomeSwitch: "10.50 10.51 10.54",
    RearmClears: "8.11 10.45 10.46 10.47 10.50 10.51 10.52 10.54",
    LatchesLate: "10.10 10.11 10.16 10.20 10.42 11.3 11.5",
    TimesBadly: "11.4 11.17",
    SkipsNumber: "11.6 11.7 11.13 11.14 11.15 11.16",
    NumberWrapsToOne: "11.15 11.16",
    RecallNotAcross: "11.16",
    RecallChanges: "11.9 11.10 11.16",
    CountsNoLoss: "11.6",
    NoticesFirst: "11.11 11.12",
    ClockWraps: "11.17",
    NoTrial: "9.5 9.6",
}


@pytest.mark.parametrize("broken", CAUGHT, ids=lambda cls: cls.__name__)
def test_a_broken_controller_fails_the_clauses_that_it_breaks(
    subject_for: SubjectFor, broken: type[Wrong]
) -> None:
    results = list(run(subject_for(broken), moves=True))
    failed = {r.clause.id for r in results if r.verdict is Verdict.FAILS}

    assert failed == set(CAUGHT[broken].split())
