"""Wrong about requests and their refusals."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import (
    Answer,
    ErrorCode,
    HailRequest,
    Request,
    SetAnswer,
    SetRequest,
)
from sim.requests import Desk, Reply
from sim.sessions import Session

from .base import Wrong, line_of


def _reworded(change: Callable[[bytes], bytes]) -> type[Desk]:
    class Reworded(Desk):
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


class ForgetfulSession(Session):
    """Keeps no reply."""

    def reply_to(self, number: int, words: bytes) -> None:
        return None

    def objection(self, order: Any) -> Any:
        last = self._last
        self._last = None if last is not None and last[0] == order.number else last
        return super().objection(order)


class CarriesOutTwice(Wrong):
    """A repeated order is carried out again."""

    session = ForgetfulSession


class ZeroDesk(Desk):
    def answer(self, body: bytes) -> Reply | None:
        reply = super().answer(body)
        if body.startswith(b"q0 "):
            self.session._last = None
        return reply


class ForgetsByZero(Wrong):
    """Request number 0 makes it forget the last order."""

    desk = ZeroDesk


class LoyalSession(Session):
    def begin(self) -> None:
        word = self.word
        super().begin()
        self.word = word


class OneSession(Wrong):
    """All greetings after a start give the same session."""

    session = LoyalSession


class CarelessSession(Session):
    def objection(self, order: Any) -> Any:
        found = super().objection(order)
        return None if found == (ErrorCode.OLD_SESSION, 0) and self._open else found


class TakesAnySession(Wrong):
    """Orders of another session are carried out."""

    session = CarelessSession


class EternalSession(Session):
    def lapse(self) -> None:
        pass


class NeverLapses(Wrong):
    """Silence at rest ends no session: a queue that flushes late moves the axis."""

    session = EternalSession


class LooseSession(Session):
    def objection(self, order: Any) -> Any:
        found = super().objection(order)
        last = self._last
        old = found == (ErrorCode.OLD_NUMBER, 0)
        return None if old and last is not None and order.number != last[0] else found


class TakesOldNumbers(Wrong):
    """An order with any other number than the last one's is new."""

    session = LooseSession


class RenewedByRefusal(Desk):
    def _hail(self, request: Any) -> Reply:
        reply = super()._hail(request)
        if reply.lines[0].startswith(b"&x"):
            self.session.begin()
        return reply


class RefusedHailBegins(Wrong):
    """A `hail` that is refused ends the session all the same."""

    desk = RenewedByRefusal


class CountingDesk(Desk):
    def answer(self, body: bytes) -> Reply | None:
        reply = super().answer(body)
        head, _, words = body[:-5].partition(b" ")
        if reply is not None and words == b"look" and head != b"q0":
            self.session.remember(int(head[1:]), words, reply)
        return reply


class RemembersReadings(Wrong):
    """A `look` is remembered, and takes a number from the orders."""

    desk = CountingDesk


class PickyDesk(Desk):
    def answer(self, body: bytes) -> Reply | None:
        words = body[:-5].partition(b" ")[2]
        return None if words[:1] in (b"", b" ") else super().answer(body)


class DropsEmptyVerb(Wrong):
    """A line with an empty verb is dropped."""

    desk = PickyDesk


class HastyDesk(Desk):
    def _bad_state(self, request: Any) -> Any:
        if not self._orders.homed and request.WORD in ("fence", "go", "touch"):
            return ErrorCode.NOT_HOMED, 0
        return super()._bad_state(request)


class WrongOrder(Wrong):
    """Error 5 comes before 8 and 7."""

    desk = HastyDesk


class FencedDesk(Desk):
    def _out_of_bounds(self, request: Any) -> Any:
        fence = self._orders.fence
        if request.WORD in ("go", "touch") and request.target == fence[1] + 1:
            return None
        return super()._out_of_bounds(request)


class FenceOffByOne(Wrong):
    """A step beyond the upper soft limit is allowed."""

    desk = FencedDesk


class AnyonesDesk(Desk):
    def _objection(self, request: Any, verb: str) -> Any:
        found = super()._objection(request, verb)
        return None if found == (ErrorCode.NEEDS_NUMBER, 0) else found


class TakesZero(Wrong):
    """`rearm` may have number 0."""

    def _start(self, *arguments: Any) -> None:
        super()._start(*arguments)
        answer = self._desk.answer

        def wrong(body: bytes) -> Reply | None:
            if not body.startswith(b"q0 rearm "):
                return answer(body)
            self._orders.rearm()
            return Reply(lines=(line_of(f"a0 rearm {self._orders.state}"),))

        self._desk.answer = wrong


class OpenDesk(Desk):
    def answer(self, body: bytes) -> Reply | None:
        self.session.greeted = True
        return super().answer(body)


class NeedsNoGreeting(Wrong):
    """Requests are carried out before `hail`."""

    desk = OpenDesk


class OtherMajorDesk(Desk):
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


def _echo(request: SetRequest) -> Answer:
    return SetAnswer(number=request.number, index=request.index, value=request.value)


class SetsNothing(Wrong):
    """`set` is answered, and the setting stays."""

    def _start(self, *arguments: Any) -> None:
        super()._start(*arguments)
        self._desk._carry[SetRequest] = _echo


class CredulousDesk(Desk):
    def _out_of_bounds(self, request: Request) -> Any:
        if isinstance(request, SetRequest):
            return None
        return super()._out_of_bounds(request)


class SetsAnything(Wrong):
    """A value that does not fit is answered as if it did."""

    desk = CredulousDesk

    def _start(self, *arguments: Any) -> None:
        super()._start(*arguments)
        self._desk._carry[SetRequest] = self._set_what_fits

    def _set_what_fits(self, request: SetRequest) -> Answer:
        if self._settings.changed(request.index, request.value) is not None:
            self._settings.set(request.index, request.value)
        return _echo(request)


class UnheedingDesk(Desk):
    def _bad_state(self, request: Request) -> Any:
        found = super()._bad_state(request)
        return None if found == (ErrorCode.HOMED, 0) else found


class SetsWhileHomed(Wrong):
    """Settings are changed under an axis that is homed."""

    desk = UnheedingDesk


class ForgetsSettings(Wrong):
    """A restart takes what was set."""

    def _start(self, *arguments: Any) -> None:
        self._settings.traits = self._settings.fastest
        super()._start(*arguments)


CAUGHT: dict[type[Wrong], str] = {
    SetsNothing: "7.10 7.13 7.14",
    SetsAnything: "7.11",
    SetsWhileHomed: "7.15",
    ForgetsSettings: "7.14",
    TakesMinusZero: "3.1",
    WrapsNumbers: "3.2",
    CarriesOutTwice: "6.1 6.2 6.3 6.7 6.12 6.23 6.26 6.28 7.34 9.6 10.35",
    ForgetsByZero: "6.7 6.23 6.28 6.30",
    OneSession: "6.5 6.29 6.30",
    TakesAnySession: "6.5 6.12 6.27 6.30",
    NeverLapses: "6.28 6.30",
    TakesOldNumbers: "6.2 6.30",
    RefusedHailBegins: "6.26 12.3",
    RemembersReadings: "6.4",
    DropsEmptyVerb: "2.16",
    WrongOrder: "3.3 6.3 6.12 8.2 8.3",
    FenceOffByOne: "5.13 6.17 6.22 8.6 10.3 10.5 10.22",
    TakesZero: "6.6 6.7 6.10 6.11",
    NeedsNoGreeting: "6.11 12.2 12.3",
    AnyMajor: "3.3 6.10 6.26 12.3",
    DropsThird: "6.21",
    SameBoot: "6.29 12.1",
}
