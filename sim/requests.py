"""Requests and their answers: refusals in their order.

Knows what a request may do in which state; knows no wire time and no motion.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Protocol

from firmware_protocol import BadRequest, RemoteProtocolError, decode, encode
from firmware_protocol.messages import (
    HAND_REQUESTS,
    MAJOR,
    MINOR,
    Ability,
    Answer,
    Control,
    ErrorCode,
    FenceAnswer,
    FenceRequest,
    FreeAnswer,
    FreeRequest,
    GoAnswer,
    GoRequest,
    HailAnswer,
    HailRequest,
    HomeAnswer,
    HomeRequest,
    LookAnswer,
    LookRequest,
    Order,
    PutAnswer,
    PutRequest,
    Quantity,
    RateAnswer,
    RateRequest,
    ReadAnswer,
    ReadRequest,
    RearmAnswer,
    RearmRequest,
    RecallAnswer,
    RecallRequest,
    Refusal,
    Request,
    SetAnswer,
    SetRequest,
    State,
    TallyAnswer,
    TallyRequest,
    TouchAnswer,
    TouchRequest,
    TraitAnswer,
    TraitRequest,
)
from sim.orders import Orders
from sim.ring import NUMBERS, Ring
from sim.sessions import Session
from sim.settings import Settings
from sim.traits import FIRMWARE

RATES_BITS_S: Final = (115200, 250000)
_HAND_VERBS: Final = {request.WORD for request in HAND_REQUESTS}
_MOVES = (HomeRequest, GoRequest, TouchRequest)
# What needs the axis at rest; of these, what `held` refuses
_WHEN_FREE = (FenceRequest, SetRequest, *_MOVES)
_AT_REST = (*_WHEN_FREE, RearmRequest, FreeRequest, RateRequest, PutRequest)

Objection = tuple[ErrorCode, int]


class Facts(Protocol):
    """What the controller knows at this moment."""

    now_us: int
    boot: int
    speaks: int

    def clock(self, time_us: int) -> int:
        """Return the controller's clock at a simulated time."""

    def count_steps(self) -> int:
        """Return the step count now."""

    def inputs(self) -> int:
        """Return the sum of the inputs."""

    def probe_closed(self) -> bool:
        """Return the level of the touch probe."""

    def home_closed(self) -> bool:
        """Return the level of the home switch."""

    def drive_on(self) -> bool:
        """Return whether the motor's drive is on."""

    def read(self, quantity: Quantity) -> int:
        """Return a quantity, in its unit."""

    def put(self, control: Control, value: int) -> int:
        """Set a control to a value that fits; return the controller's clock then."""

    def dropped(self) -> int:
        """Return how many damaged lines there were."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What goes back.

    Attributes:
        lines: The answer, and a recalled notice after it.
        rate_bits_s: Rate of the line from the byte after it; None for no change.
    """

    lines: tuple[bytes, ...]
    rate_bits_s: int | None = None


class Desk:
    """Answers requests, one after another, from one start to the next."""

    def __init__(
        self, *, facts: Facts, orders: Orders, ring: Ring, settings: Settings
    ) -> None:
        self._facts = facts
        self._orders = orders
        self._ring = ring
        self._settings = settings
        self.session: Session[Reply] = Session(facts.boot)
        self._carry: dict[type[Request], Callable[..., Answer]] = {
            TraitRequest: self._trait,
            LookRequest: self._look,
            TallyRequest: self._tally,
            FenceRequest: self._fence,
            HomeRequest: self._home,
            GoRequest: self._go,
            TouchRequest: self._touch,
            RearmRequest: self._rearm,
            FreeRequest: self._free,
            SetRequest: self._set,
            ReadRequest: self._read,
            PutRequest: self._put,
            RecallRequest: self._recall,
            RateRequest: self._rate,
        }

    def answer(self, body: bytes) -> Reply | None:
        """Return the reply to a line whose check fits; None if it is no request."""
        try:
            request = decode(body)
        except RemoteProtocolError:
            return None
        if not isinstance(request, (Request, BadRequest)):
            return None
        words = body[:-5].partition(b" ")[2]
        verb = words.partition(b" ")[0].decode("ascii")
        if verb == HailRequest.WORD:
            return self._hail(request)
        again = self.session.reply_to(request.number, words)
        if again is not None:
            return again
        objection = self._objection(request, verb)
        if objection is not None:
            return _refusal(request.number, objection)
        assert isinstance(request, Request)
        objection = self._not_now(request)
        if objection is None:
            reply = self._reply(request)
        else:
            reply = _refusal(request.number, objection)
        if isinstance(request, Order):
            # Said again but not done again: a repeated `rate` changes no rate
            self.session.remember(request.number, words, Reply(lines=reply.lines))
        return reply

    def _reply(self, request: Request) -> Reply:
        lines = [encode(self._carry[type(request)](request))]
        if isinstance(request, RecallRequest):
            notice = self._ring.line(request.notice)
            assert notice is not None  # checked among the objections
            lines.append(notice)
        rate = request.bits_s if isinstance(request, RateRequest) else None
        return Reply(lines=tuple(lines), rate_bits_s=rate)

    def _objection(self, request: Request | BadRequest, verb: str) -> Objection | None:
        """Return what is wrong with its form or its session."""
        bad = request if isinstance(request, BadRequest) else None
        if bad is not None and bad.error is ErrorCode.UNKNOWN_VERB:
            return bad.error, 0
        if request.number == 0 and verb not in _HAND_VERBS:
            return ErrorCode.NEEDS_NUMBER, 0
        if not self.session.greeted:
            return ErrorCode.NO_GREETING, 0
        if bad is not None:
            return bad.error, bad.argument
        assert isinstance(request, Request)
        bad_value = self._bad_value(request)
        if bad_value is not None or not isinstance(request, Order):
            return bad_value
        return self.session.objection(request)

    def _not_now(self, request: Request) -> Objection | None:
        """Return why it cannot be carried out now."""
        return (
            self._bad_state(request)
            or self._unable(request)
            or self._too_fast(request)
            or self._out_of_bounds(request)
        )

    def _bad_value(self, request: Request) -> Objection | None:
        bad = False
        argument = 1
        if isinstance(request, TraitRequest):
            bad = self._settings.value(request.index) is None
        elif isinstance(request, RateRequest):
            bad = request.bits_s not in RATES_BITS_S
        elif isinstance(request, FenceRequest):
            bad, argument = request.low >= request.high, 2
        return (ErrorCode.BAD_ARGUMENT, argument) if bad else None

    def _bad_state(self, request: Request) -> Objection | None:
        orders = self._orders
        if orders.state is State.HELD and isinstance(request, _WHEN_FREE):
            return ErrorCode.HELD, 0
        if orders.busy and isinstance(request, _AT_REST):
            return ErrorCode.BUSY, 0
        needs_home = (FenceRequest, GoRequest, TouchRequest)
        if not orders.homed and isinstance(request, needs_home):
            return ErrorCode.NOT_HOMED, 0
        if orders.fence is None and isinstance(request, (GoRequest, TouchRequest)):
            return ErrorCode.NO_FENCE, 0
        if orders.homed and isinstance(request, SetRequest):
            return ErrorCode.HOMED, 0
        return None

    def _unable(self, request: Request) -> Objection | None:
        traits = self._settings.traits
        abilities = traits.abilities
        lacks = (
            (isinstance(request, TouchRequest) and Ability.TOUCH_PROBE not in abilities)
            or (
                isinstance(request, FreeRequest)
                and Ability.ENABLE_OUTPUT not in abilities
            )
            or (
                isinstance(request, SetRequest)
                and not self._settings.is_setting(request.index)
            )
            or (
                isinstance(request, ReadRequest)
                and request.index not in traits.readable
            )
            or (
                isinstance(request, PutRequest) and request.index not in traits.controls
            )
            or (
                isinstance(request, RateRequest)
                and request.bits_s != RATES_BITS_S[0]
                and Ability.FAST_RATE not in abilities
            )
        )
        return (ErrorCode.NOT_ABLE, 0) if lacks else None

    def _too_fast(self, request: Request) -> Objection | None:
        traits = self._settings.traits
        argument = 0
        if isinstance(request, HomeRequest):
            if request.fast > traits.speed_limit_steps_s:
                argument = 1
            elif request.slow > traits.start_speed_steps_s:
                argument = 2
        elif isinstance(request, GoRequest):
            if request.speed > traits.speed_limit_steps_s:
                argument = 2
            elif request.acceleration > traits.acceleration_limit_steps_s2:
                argument = 3
        elif isinstance(request, TouchRequest):
            argument = 2 if request.speed > traits.start_speed_steps_s else 0
        return (ErrorCode.TOO_FAST, argument) if argument else None

    def _out_of_bounds(self, request: Request) -> Objection | None:
        if isinstance(request, FenceRequest):
            low, high = (
                self._settings.traits.travel_low_steps,
                self._settings.traits.travel_high_steps,
            )
            for argument, limit in enumerate((request.low, request.high), start=1):
                if not low <= limit <= high:
                    return ErrorCode.BEYOND_FENCE, argument
        elif isinstance(request, (GoRequest, TouchRequest)):
            assert self._orders.fence is not None  # checked before
            low, high = self._orders.fence
            if not low <= request.target <= high:
                return ErrorCode.BEYOND_FENCE, 1
            upward = request.target > self._facts.count_steps()
            if upward and self._facts.probe_closed():
                return ErrorCode.PROBE_CLOSED, 0
        elif isinstance(request, HomeRequest):
            if self._facts.home_closed() and self._facts.probe_closed():
                return ErrorCode.PROBE_CLOSED, 0  # it would begin upward
        elif isinstance(request, RearmRequest):
            if not self._facts.drive_on():
                return ErrorCode.DRIVE_OFF, 0
        elif isinstance(request, RecallRequest) and not self._ring.line(request.notice):
            return ErrorCode.GONE, 1
        elif isinstance(request, SetRequest):
            fits = self._settings.changed(request.index, request.value) is not None
            return None if fits else (ErrorCode.BAD_ARGUMENT, 2)
        elif isinstance(request, PutRequest):
            control = Control(request.index)
            fits = self._settings.traits.fits(control, request.value)
            return None if fits else (ErrorCode.BAD_ARGUMENT, 2)
        return None

    def _hail(self, request: Request | BadRequest) -> Reply:
        if isinstance(request, BadRequest):
            return _refusal(request.number, (request.error, request.argument))
        assert isinstance(request, HailRequest)
        if request.major != self._facts.speaks:
            return _refusal(request.number, (ErrorCode.OTHER_MAJOR, 1))
        self.session.begin()
        answer = HailAnswer(
            number=request.number,
            major=self._facts.speaks,
            minor=MINOR if self._facts.speaks == MAJOR else 0,
            boot=self._facts.boot,
            firmware=FIRMWARE,
            rig=self._settings.rig,
            session=self.session.word,
        )
        return Reply(lines=(encode(answer),))

    def _trait(self, request: TraitRequest) -> Answer:
        value = self._settings.value(request.index)
        assert value is not None  # checked among the objections
        return TraitAnswer(number=request.number, index=request.index, value=value)

    def _look(self, request: LookRequest) -> Answer:
        facts = self._facts
        return LookAnswer(
            number=request.number,
            state=self._orders.state,
            position=facts.count_steps(),
            time=facts.clock(facts.now_us),
            inputs=facts.inputs(),
            next_notice=self._ring.next_number,
            boot=facts.boot,
        )

    def _tally(self, request: TallyRequest) -> Answer:
        return TallyAnswer(
            number=request.number,
            dropped=self._facts.dropped() % NUMBERS,
            lost=self._ring.lost,
            fault=self._orders.fault,
        )

    def _fence(self, request: FenceRequest) -> Answer:
        self._orders.set_fence(request.low, request.high)
        return FenceAnswer(number=request.number, low=request.low, high=request.high)

    def _home(self, request: HomeRequest) -> Answer:
        self._orders.home(request, self._facts.now_us)
        return HomeAnswer(number=request.number)

    def _go(self, request: GoRequest) -> Answer:
        self._orders.go(request, self._facts.now_us)
        return GoAnswer(number=request.number)

    def _touch(self, request: TouchRequest) -> Answer:
        self._orders.touch(request, self._facts.now_us)
        return TouchAnswer(number=request.number)

    def _rearm(self, request: RearmRequest) -> Answer:
        return RearmAnswer(number=request.number, state=self._orders.rearm())

    def _free(self, request: FreeRequest) -> Answer:
        return FreeAnswer(number=request.number, state=self._orders.free())

    def _set(self, request: SetRequest) -> Answer:
        self._settings.set(request.index, request.value)
        return SetAnswer(
            number=request.number, index=request.index, value=request.value
        )

    def _read(self, request: ReadRequest) -> Answer:
        value = self._facts.read(Quantity(request.index))
        return ReadAnswer(number=request.number, index=request.index, value=value)

    def _put(self, request: PutRequest) -> Answer:
        time = self._facts.put(Control(request.index), request.value)
        return PutAnswer(
            number=request.number, index=request.index, value=request.value, time=time
        )

    def _recall(self, request: RecallRequest) -> Answer:
        return RecallAnswer(
            number=request.number,
            oldest=self._ring.oldest,
            next_notice=self._ring.next_number,
        )

    def _rate(self, request: RateRequest) -> Answer:
        return RateAnswer(number=request.number, bits_s=request.bits_s)


def _refusal(number: int, objection: Objection) -> Reply:
    error, argument = objection
    line = encode(Refusal(number=number, error=int(error), argument=argument))
    return Reply(lines=(line,))
