"""Wrong about requests and their refusals."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import (
    ErrorCode,
    HailRequest,
)
from sim.requests import Desk, Reply

from .base import SoundDesk, Wrong, line_of


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


class TerseDesk(SoundDesk):
    def answer(self, body: bytes) -> Reply | None:
        kept = self._remembered
        reply = super().answer(body)
        if reply is not None and kept is not None and reply.lines == kept[2].lines:
            return Reply(lines=reply.lines[:1])
        return reply


class RecallsOnce(Wrong):
    """A repeated `recall` is answered without its notice."""

    desk = TerseDesk


class StubbornDesk(SoundDesk):
    def answer(self, body: bytes) -> Reply | None:
        kept = self._remembered
        reply = super().answer(body)
        refused = reply is not None and reply.lines[0].startswith(b"&x")
        if refused and body.partition(b" ")[2].startswith(b"hail"):
            self._remembered = kept
        return reply


class RefusedHailForgetsNothing(Wrong):
    """A `hail` that is refused leaves the remembered request."""

    desk = StubbornDesk


class PickyDesk(SoundDesk):
    def answer(self, body: bytes) -> Reply | None:
        words = body[:-5].partition(b" ")[2]
        return None if words[:1] in (b"", b" ") else super().answer(body)


class DropsEmptyVerb(Wrong):
    """A line with an empty verb is dropped."""

    desk = PickyDesk


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
            return Reply(lines=(line_of(f"a0 rearm {self._orders.state}"),))

        self._desk.answer = wrong


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


CAUGHT: dict[type[Wrong], str] = {
    TakesMinusZero: "3.1",
    WrapsNumbers: "3.2",
    CarriesOutTwice: "6.1 6.2 6.3 6.7 6.10 6.23 9.6 10.35",
    ForgetsByZero: "6.7 6.23",
    HailForgetsNothing: "6.5 6.26",
    RemembersHail: "6.5",
    RecallsOnce: "6.25",
    RefusedHailForgetsNothing: "6.26",
    DropsEmptyVerb: "2.16",
    WrongOrder: "3.3 6.3 6.12 8.2 8.3",
    FenceOffByOne: "5.13 6.17 6.22 8.6 10.3 10.5 10.22",
    TakesZero: "6.6 6.7 6.11",
    NeedsNoGreeting: "6.11 12.2 12.3",
    AnyMajor: "3.3 6.10 6.26 12.3",
    DropsThird: "6.21",
    SameBoot: "12.1",
}
