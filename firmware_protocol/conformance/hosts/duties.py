"""What a host owes (SPEC.md 13), judged by what it sends and what reached it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from firmware_protocol.codec import decode
from firmware_protocol.conformance.clause import Verdict
from firmware_protocol.errors import RemoteProtocolError
from firmware_protocol.messages import (
    Answer,
    ErrorCode,
    GoRequest,
    HailAnswer,
    HailRequest,
    HomeRequest,
    Input,
    LookAnswer,
    Notice,
    Order,
    RateRequest,
    RecallRequest,
    Refusal,
    Request,
    RestNotice,
    StartNotice,
    TouchRequest,
    Trait,
    TraitAnswer,
)

_MOTIONS = (HomeRequest, GoRequest, TouchRequest)
_NOTICES = 65536
_LEAST_LINES_A_LIMIT = 3.5  # four are owed; one may fall just outside
_USUAL_LIMIT_MS = 500
_CLEAR_LOOKS = 4  # two show that a notice is missing, and the request may be lost
_LONG_ENOUGH_US = 200_000  # of a motion, before its lines are counted


class Duty(StrEnum):
    """One thing that a host owes; the value is how it is reported."""

    LINES = "13.0 sends sound lines that the protocol knows, with all their arguments"
    GREETING = "13.1 greets again until it is answered, and orders nothing before"
    LOOKS = "13.3 lets itself be heard four times in SILENCE_LIMIT while the axis moves"
    SAME_ORDER = "13.3 asks for an order again with the same number and words"
    SESSION = "13.4 ends each order with the session of the last greeting"
    NUMBERS = "13.4 numbers its orders upward, one outstanding at a time"
    RECALL = "13.5 asks for every notice that is missing"
    RESTART = "13.6 takes everything for lost when `boot` changes"
    AFTER_STOP = "13.7 repeats nothing after a stop"
    RATE = "13.7 asks for a rate once"
    PROBE = "13.8 touches nothing before the probe has been seen to change"
    DEADLINE = "13.9 stops a motion that does not end"


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyResult:
    """How one duty was kept.

    Attributes:
        duty: The duty.
        verdict: Whether it was kept; not applicable where there was no occasion.
        occasions: How often it was called for.
        came: What was done instead, the first time; empty if it was kept.
    """

    duty: Duty
    verdict: Verdict
    occasions: int
    came: str


class Judge:
    """Sees what a host sends and what reaches it, each with its time."""

    def __init__(self) -> None:
        self._occasions = dict.fromkeys(Duty, 0)
        self._came: dict[Duty, str] = {}
        self._session: int | None = None
        self._boot: int | None = None
        self._limit_us = _USUAL_LIMIT_MS * 1000
        self._last_order = 0
        self._open: Order | None = None
        self._rates: set[tuple[int, int]] = set()
        self._probe_seen: bool | None = None
        self._moving: Order | None = None
        self._began_us = self._heard_us = 0
        self._lines = 0
        # Notices that did not come: in how many looks since the host could see that
        self._missing: dict[int, int] = {}
        self._came_once: set[int] = set()  # a copy that is lost is no loss
        self._first_notice: int | None = None
        self._new_boot_known = False
        self._stopped_with: Order | None = None
        self._stalled = False

    # ------------------------------------------------------------ what the host does

    def sent(self, body: bytes, now_us: int) -> None:
        """Take a line that the host sent, whether it arrives or not."""
        self._occasions[Duty.LINES] += 1
        try:
            message = decode(body)
        except RemoteProtocolError as exc:
            self._wrong(Duty.LINES, f"{body!r}: {exc}")
            return
        if not isinstance(message, Request):
            self._wrong(Duty.LINES, f"{body!r} is no request of this protocol")
            return
        self._hear(now_us)
        if isinstance(message, HailRequest):
            self._open = None
            self._new_boot_known = False
            return
        if self._session is None:
            self._wrong(Duty.GREETING, f"`{message.WORD}` before an answer to `hail`")
        if isinstance(message, Order):
            self._order(message)
        elif isinstance(message, RecallRequest) and message.notice in self._missing:
            del self._missing[message.notice]
            self._occasions[Duty.RECALL] += 1

    def stopped(self, now_us: int) -> None:
        """Take a stop byte that the host sent."""
        self._stalled = False
        if self._stopped_with is None:
            self._stopped_with = self._open or self._moving
        self._end_motion(now_us)
        self._open = None

    # ------------------------------------------------------------ what reaches the host

    def delivered(self, body: bytes, now_us: int) -> None:
        """Take a sound line that reached the host."""
        message = decode(body)
        if isinstance(message, HailAnswer):
            self._greeted(message)
        elif isinstance(message, TraitAnswer):
            self._learn(message)
        elif isinstance(message, LookAnswer):
            self._looked(message)
        elif isinstance(message, Notice):
            self._noticed(message, now_us)
        elif isinstance(message, Refusal) and message.error == ErrorCode.NO_GREETING:
            self._know_restart()
        if isinstance(message, (Answer, Refusal)):
            self._answered(message, now_us)

    def muted(self) -> None:
        """Take it that a greeting was left unanswered on purpose."""
        self._occasions[Duty.GREETING] += 1

    def withheld(self, body: bytes) -> None:
        """Take it that a notice did not reach the host."""
        message = decode(body)
        if not isinstance(message, Notice) or self._first_notice is None:
            return
        if message.number in self._came_once:
            return
        if (message.number - self._first_notice) % _NOTICES < _NOTICES // 2:
            self._missing.setdefault(message.number, 0)

    def restarted(self) -> None:
        """Take it that the controller restarted; the host does not know yet."""
        self._missing.clear()
        self._came_once.clear()
        self._first_notice = None
        self._moving = None

    def stalls(self) -> None:
        """Take it that the motion under way will not end."""
        self._stalled = True
        self._occasions[Duty.DEADLINE] += 1

    # ----------------------------------------------------------------------- at the end

    def results(self) -> list[DutyResult]:
        """Return how every duty was kept until now."""
        if self._stalled:
            self._wrong(Duty.DEADLINE, "no stop byte for a motion that did not end")
        unasked = [n for n, looks in self._missing.items() if looks >= _CLEAR_LOOKS]
        if unasked:
            self._wrong(Duty.RECALL, f"notice {unasked[0]} was never asked for")
        return [self._result(duty) for duty in Duty]

    def _result(self, duty: Duty) -> DutyResult:
        came, occasions = self._came.get(duty, ""), self._occasions[duty]
        verdict = Verdict.CONFORMS if occasions else Verdict.NOT_APPLICABLE
        if came:
            verdict = Verdict.FAILS
        return DutyResult(duty=duty, verdict=verdict, occasions=occasions, came=came)

    # --------------------------------------------------------------------------- inside

    def _wrong(self, duty: Duty, came: str) -> None:
        self._occasions[duty] += not self._occasions[duty]
        self._came.setdefault(duty, came)

    def _order(self, order: Order) -> None:
        self._occasions[Duty.SESSION] += 1
        self._occasions[Duty.NUMBERS] += 1
        if self._new_boot_known:
            self._wrong(Duty.RESTART, f"`{order.WORD}` without a greeting anew")
        elif order.session != self._session:
            self._wrong(Duty.SESSION, f"`{order.WORD}` of session {order.session}")
        if isinstance(order, RateRequest):
            self._ask_rate(order)
        self._check_stop(order)
        if isinstance(order, TouchRequest):
            self._occasions[Duty.PROBE] += 1
            if self._probe_seen is False:
                self._wrong(Duty.PROBE, "`touch` with PROBE_SEEN not set")
        if self._open is not None:
            self._again(order, self._open)
        elif order.number <= self._last_order:
            self._wrong(
                Duty.NUMBERS, f"`{order.WORD}` {order.number} after {self._last_order}"
            )
        self._last_order = max(self._last_order, order.number)
        self._open = order

    def _again(self, order: Order, before: Order) -> None:
        """Judge an order that comes while the one before has not been answered."""
        self._occasions[Duty.SAME_ORDER] += 1
        if order == before:
            return
        if _words(order) == _words(before) or order.number == before.number:
            asked = f"{before.number} {' '.join(_words(before))}"
            again = f"{order.number} {' '.join(_words(order))}"
            self._wrong(Duty.SAME_ORDER, f"`{asked}` was asked for again as `{again}`")
        else:
            what = f"`{order.WORD}` while `{before.WORD}` was not answered"
            self._wrong(Duty.NUMBERS, what)

    def _ask_rate(self, order: RateRequest) -> None:
        self._occasions[Duty.RATE] += 1
        asked = (order.session, order.number)
        if asked in self._rates:
            self._wrong(Duty.RATE, f"`rate` {order.number} was asked for again")
        self._rates.add(asked)

    def _check_stop(self, order: Order) -> None:
        before = self._stopped_with
        if before is None:
            return
        self._occasions[Duty.AFTER_STOP] += 1
        if order == before:
            self._wrong(Duty.AFTER_STOP, f"`{order.WORD}` {order.number} once more")

    def _greeted(self, answer: HailAnswer) -> None:
        self._occasions[Duty.GREETING] += 1
        self._session, self._boot = answer.session, answer.boot
        self._last_order, self._open = 0, None
        self._new_boot_known = False

    def _learn(self, answer: TraitAnswer) -> None:
        if answer.index == Trait.SILENCE_LIMIT:
            self._limit_us = answer.value * 1000

    def _looked(self, answer: LookAnswer) -> None:
        self._know_boot(answer.boot)
        self._probe_seen = bool(Input.PROBE_SEEN & answer.inputs)
        if self._first_notice is None and answer.boot == self._boot:
            self._first_notice = answer.next_notice
        for number in self._missing:
            ahead = (answer.next_notice - number - 1) % _NOTICES
            self._missing[number] += ahead < _NOTICES // 2

    def _know_boot(self, boot: int) -> None:
        if self._boot is not None and boot != self._boot:
            self._know_restart()

    def _know_restart(self) -> None:
        self._occasions[Duty.RESTART] += not self._new_boot_known
        self._new_boot_known = True
        self._end_motion(None)

    def _noticed(self, notice: Notice, now_us: int) -> None:
        if isinstance(notice, StartNotice):
            self._know_boot(notice.boot)
            return
        self._missing.pop(notice.number, None)
        self._came_once.add(notice.number)
        moving = self._moving
        if moving is None or not isinstance(notice, RestNotice):
            return
        if notice.request == moving.number:
            self._end_motion(now_us)

    def _answered(self, reply: Answer | Refusal, now_us: int) -> None:
        if self._open is None or reply.number != self._open.number:
            return
        order, self._open = self._open, None
        if isinstance(reply, Answer) and isinstance(order, _MOTIONS):
            self._moving = order
            self._began_us = self._heard_us = now_us
            self._lines = 0

    def _hear(self, now_us: int) -> None:
        if self._moving is None:
            return
        self._lines += 1
        if now_us - self._heard_us > self._limit_us:
            silent_ms = (now_us - self._heard_us) // 1000
            self._wrong(Duty.LOOKS, f"{silent_ms} ms without a line in a motion")
        self._heard_us = now_us

    def _end_motion(self, now_us: int | None) -> None:
        moved, self._moving = self._moving, None
        if moved is None or now_us is None or self._stalled:
            return
        lasted_us = now_us - self._began_us
        if lasted_us < max(_LONG_ENOUGH_US, self._limit_us):
            return
        self._occasions[Duty.LOOKS] += 1
        lines = self._lines * self._limit_us / lasted_us
        if lines < _LEAST_LINES_A_LIMIT:
            self._wrong(Duty.LOOKS, f"{lines:.1f} lines in SILENCE_LIMIT in a motion")


def _words(order: Order) -> tuple[str, ...]:
    return (order.WORD, *order.texts())
