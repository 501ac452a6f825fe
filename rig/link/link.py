"""The link: greeting, numbered requests, notices in order, stop.

One thread owns a link and pumps it; `stop` alone may be called from any other.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Collection
from typing import TypeVar

from firmware_protocol import (
    BadRequest,
    Incoming,
    LocalProtocolError,
    Receiver,
    StopMark,
    UnknownNotice,
    encode,
)
from firmware_protocol.messages import (
    FIRST_RATE_BITS_S,
    MAJOR,
    STOP_BYTE,
    Ability,
    Answer,
    Control,
    ErrorCode,
    GoRequest,
    HailAnswer,
    HailRequest,
    HomeRequest,
    Input,
    LookAnswer,
    LookRequest,
    Notice,
    Order,
    RateRequest,
    RearmRequest,
    RecallRequest,
    Refusal,
    Request,
    StartNotice,
    TouchRequest,
    Trait,
    TraitAnswer,
    TraitRequest,
)
from rig.errors import (
    LinkError,
    NotARig,
    ProtocolTooNew,
    ReplyTimeout,
    RequestRefused,
    RigRestarted,
    RigTaken,
    Stopped,
)
from rig.link.inbox import Delivery, Inbox, LostNotice
from rig.link.refusals import refusal_sentence
from rig.link.session import Session
from rig.link.trait_ranges import check_ranges
from rig.link.traits import RigTraits, identity_of
from rig.link.transport import AXIS_STOPS, Transport

# How long each try waits for its reply. The first ones are short, so that five fall
# within the silence that stops a motion; then more patiently: a busy computer at either
# end is no dead rig
TRIES_S = (0.1, 0.1, 0.1, 0.1, 0.4, 0.5)
_RATE_REPLY_S = 0.25
_MOST_RECALLS = 128  # at a time; the rings of our controllers hold 32
GREETING_TIMEOUT_S = 4.0  # boards that restart when a port is opened take 2 s
_GREETING_PAUSE_S = 0.3
_FAST_RATE_BITS_S = 250_000
_RATE_PAUSE_S = 0.005
_RATE_TRIAL_S = 0.6  # by then the controller is back at the first rate for certain

_LEADS_TO_MOTION = (RearmRequest, HomeRequest, GoRequest, TouchRequest)

_AnswerType = TypeVar("_AnswerType", bound=Answer)
_RequestType = TypeVar("_RequestType", bound=Request)
Watcher = Callable[[LookAnswer | Delivery], None]


def watch_nothing(_: LookAnswer | Delivery) -> None:
    """Watch nothing."""


class Link:
    """A live connection to one controller.

    Attributes:
        watcher: Called in the owner's thread with every look and every notice, for
            screens; what is measured does not come from here.
        recalls: How many notices were asked for again so far.
    """

    def __init__(
        self, transport: Transport, *, watcher: Watcher = watch_nothing
    ) -> None:
        self.watcher = watcher
        self.recalls = 0
        self._transport = transport
        self._receiver = Receiver()
        self._replies: list[Answer | Refusal] = []
        self._inbox = Inbox(0)
        self._session = Session()
        self._boot: int | None = None
        # No lock: a signal may ask for stop in the middle of anything
        self._stop_asked = False
        self._heard = False
        self._quick = False
        self._quickened = False

    @property
    def name(self) -> str:
        """The port, as the user calls it."""
        return self._transport.name

    @property
    def damaged_lines(self) -> int:
        """Damaged lines received so far."""
        return self._receiver.dropped

    @property
    def stop_asked(self) -> bool:
        """Whether somebody asked for stop since the last `forget_stop`."""
        return self._stop_asked

    def now_s(self) -> float:
        """Return the time by the clock that this link waits by."""
        return self._transport.now_s()

    def close(self) -> None:
        """Let go of the port."""
        self._transport.close()

    # ------------------------------------------------------------------ greeting

    def greet(self, patience_s: float = GREETING_TIMEOUT_S) -> RigTraits:
        """Say hail until it is answered, and read the rig's traits.

        Raises:
            NotARig: Nothing, or nothing that is our protocol, came in time.
            ProtocolTooNew: The controller speaks another major version only.
            RigImplausible: It states a scale or a limit that no rig has.
            LinkLost: The port went away.
        """
        hail = self._hail(patience_s)
        self._boot = hail.boot
        self._inbox = Inbox(0)
        first_look = self.request(LookRequest, LookAnswer)
        self._inbox = Inbox(first_look.next_notice)
        value = {trait: self._trait(trait) for trait in Trait if trait in _NEEDED}
        traits = RigTraits(
            rig_id=identity_of(hail.rig, value[Trait.SERIAL]),
            firmware_version=hail.firmware,
            protocol_version=f"{hail.major}.{hail.minor}",
            boot_number=hail.boot,
            steps_per_mm=value[Trait.STEPS_PER_M] / 1000,
            travel_low_steps=value[Trait.TRAVEL_LOW],
            travel_high_steps=value[Trait.TRAVEL_HIGH],
            speed_limit_steps_s=value[Trait.SPEED_LIMIT],
            acceleration_limit_steps_s2=value[Trait.ACCELERATION_LIMIT],
            start_speed_steps_s=value[Trait.START_SPEED],
            silence_limit_s=value[Trait.SILENCE_LIMIT] / 1000,
            min_pulse_s=value[Trait.MIN_PULSE] * 1e-6,
            fail_safe=Input(value[Trait.FAIL_SAFE]),
            abilities=Ability(value[Trait.ABILITIES]),
            home_clear_steps=value[Trait.HOME_CLEAR],
            home_search_steps=value[Trait.HOME_SEARCH],
            build=value[Trait.BUILD],
            quantities=value[Trait.QUANTITIES],
            controls=value[Trait.CONTROLS],
            supply_range_v=self._supply_range_v(value[Trait.CONTROLS]),
            scale_counts_per_mm=self._scale_counts_per_mm(value[Trait.ABILITIES]),
        )
        check_ranges(traits)
        self._session.silence_limit_s = traits.silence_limit_s
        if Ability.FAST_RATE in traits.abilities:
            self._quicken()
        return traits

    def _supply_range_v(self, controls: int) -> tuple[float, float, float] | None:
        if not controls & 1 << Control.SUPPLY_VOLTAGE:
            return None
        low, high, start = (
            self._trait(trait) / 1000
            for trait in (Trait.SUPPLY_LOW, Trait.SUPPLY_HIGH, Trait.SUPPLY_START)
        )
        return low, high, start

    def _scale_counts_per_mm(self, abilities: int) -> float | None:
        # A controller that has no scale need not know the trait
        if not abilities & Ability.SCALE:
            return None
        return self._trait(Trait.SCALE_PER_M) / 1000

    def _hail(self, patience_s: float) -> HailAnswer:
        deadline = self.now_s() + patience_s
        while self.now_s() < deadline:
            try:
                hail = self._ask_once(
                    HailRequest(number=self._session.next_reading(), major=MAJOR),
                    HailAnswer,
                    timeout_s=_GREETING_PAUSE_S,
                )
                self._session.begin(hail.session, self.now_s())
                return hail
            except ReplyTimeout:
                continue
            except RequestRefused as exc:
                if exc.code == ErrorCode.OTHER_MAJOR:
                    raise self._other_major() from exc
                raise
        what = "gives no answer" if not self._heard else "answers, but not as a rig,"
        raise NotARig(
            f"{self.name} {what} to the greeting",
            hint="`gapsweep rigs` shows which ports answer; is the rig powered?",
        )

    def _other_major(self) -> ProtocolTooNew:
        return ProtocolTooNew(
            f"the rig at {self.name} does not speak major version {MAJOR} of the "
            "protocol, and this software speaks no other",
            hint="update this software, or flash the matching firmware",
        )

    def greet_again(self, patience_s: float) -> None:
        """Begin another session after the link was lost, at whichever rate it answers.

        Raises:
            ReplyTimeout: Nothing answered in time.
            RigRestarted: The controller has restarted.
            Stopped: Stop was asked for meanwhile.
            LinkLost: The port went away.
        """
        deadline_s = self.now_s() + patience_s
        while not self._stop_asked:
            try:
                self._greet_again()
                return
            except ReplyTimeout:
                if self.now_s() >= deadline_s:
                    raise
                if self._quickened:
                    # A restart takes it back to the first rate; a cut alone does not
                    self._quick = not self._quick
                    self._transport.set_rate(
                        _FAST_RATE_BITS_S if self._quick else FIRST_RATE_BITS_S
                    )
        raise Stopped("stopped on request")

    def _greet_again(self) -> None:
        """Begin another session with the controller that was greeted.

        Raises:
            ReplyTimeout: It does not answer.
            RigRestarted: It has restarted.
        """
        try:
            hail = self._hail(GREETING_TIMEOUT_S)
        except NotARig as exc:
            self._raise_if_restarted()
            raise self._no_answer(HailRequest.WORD) from exc
        if self._boot not in (None, hail.boot):
            raise self._restarted()

    def _trait(self, trait: Trait) -> int:
        try:
            return self.request(TraitRequest, TraitAnswer, index=int(trait)).value
        except RequestRefused as exc:
            if trait in _LATER and exc.code == ErrorCode.BAD_ARGUMENT:
                return 0
            raise

    def _quicken(self) -> None:
        if not self._transport.has_rate:
            return
        # Asked once only: a repeated request is answered and not carried out, so the
        # two sides would part (SPEC.md 9)
        ask = self._numbered(RateRequest, bits_s=_FAST_RATE_BITS_S)
        try:
            self._ask_once(ask, Answer, timeout_s=_RATE_REPLY_S)
            self._transport.set_rate(_FAST_RATE_BITS_S)
            self._pump(_RATE_PAUSE_S)
            look = self._numbered(LookRequest)
            self._ask_once(look, LookAnswer, timeout_s=_RATE_REPLY_S)
            self._quick = self._quickened = True
        except ReplyTimeout:
            self._transport.set_rate(FIRST_RATE_BITS_S)
            self._wait(_RATE_TRIAL_S)
            self._hail(GREETING_TIMEOUT_S)

    # ------------------------------------------------------------------ requests

    def request(
        self, kind: type[Request], answer: type[_AnswerType], **fields: int
    ) -> _AnswerType:
        """Send a request and return its answer; asked several times before giving up.

        The controller remembers its last order, so asking again never does a thing
        twice. What moves the axis is not asked for again once stop was asked for: the
        stop byte may have made the controller drop it (SPEC.md 5).

        Raises:
            ReplyTimeout: No answer to any of the tries.
            Stopped: Stop was asked for, and the order dropped.
            RequestRefused: The controller refuses.
            RigRestarted: The controller has restarted.
            RigTaken: The controller takes no orders of this session any more.
            LinkLost: The port went away.
        """
        message = self._numbered(kind, **fields)
        tried: list[int] = []
        for timeout_s in TRIES_S:
            if tried and self.stop_asked and kind in _LEADS_TO_MOTION:
                self._session.give_up()
                raise Stopped("stopped on request")
            if tried and not isinstance(message, Order):
                # The answer tells how things stand then, and the reply to an earlier
                # number still counts
                message = self._numbered(kind, **fields)
            tried.append(message.number)
            unheard = self._session.may_have_lapsed(self.now_s())
            self._say(message)
            reply = self._reply_to(tried, timeout_s)
            if unheard and _is_of_old_session(reply):
                self._session.give_up()
                if len(tried) > 1 and kind in _LEADS_TO_MOTION:
                    # One of the tries before may have come through, and its answer not
                    raise self._no_answer(message.WORD)
                return self.request(kind, answer, **fields)
            if reply is not None:
                return self._checked(reply, message, answer)
        self._session.give_up()
        self._raise_if_restarted()
        raise self._no_answer(message.WORD)

    def look(self) -> LookAnswer:
        """Ask how things stand; keeps the motion going and finds lost notices.

        Raises:
            RigRestarted: The controller has restarted since the greeting.
            ReplyTimeout: No answer.
        """
        answer = self.request(LookRequest, LookAnswer)
        if answer.boot != self._boot:
            raise self._restarted()
        self._recall(self._inbox.announce(answer.next_notice))
        self.watcher(answer)
        return answer

    def next_notice(self, longest_wait_s: float) -> Delivery | None:
        """Return the next notice in order; None if none came in time.

        A `LostNotice` stands for one that is gone for good.
        """
        notice = self._inbox.take()
        if notice is None and longest_wait_s > 0:
            self._pump(longest_wait_s)
            notice = self._inbox.take()
        if notice is None:
            self._recall(self._inbox.missing())
            notice = self._inbox.take()
        if notice is not None:
            self.watcher(notice)
        return notice

    def stop(self) -> None:
        """Stop the axis at once; may be called from any thread and at any time."""
        self._stop_asked = True
        # Three times: one may be damaged, and more than one does no harm
        self._transport.write(bytes([STOP_BYTE]) * 3)

    def halt(self) -> None:
        """Send the stop byte where a procedure needs it and nobody asked for stop."""
        self._transport.write(bytes([STOP_BYTE]) * 3)

    def take_differing_copy(self) -> int | None:
        """Return the number of a notice of which two copies differed since the last."""
        return self._inbox.take_differing_copy()

    def forget_stop(self) -> None:
        """Begin a new job after a stop; the caller rearms the controller.

        For whoever takes the order to begin from a person; within a job a stop holds.
        """
        self._stop_asked = False

    # ------------------------------------------------------------------- insides

    def _numbered(self, kind: type[_RequestType], **fields: int) -> _RequestType:
        """Return a request with the next number, an order in a session that is live."""
        if not issubclass(kind, Order):
            return kind(number=self._session.next_reading(), **fields)
        if self._session.is_over(self.now_s()):
            self._greet_again()
        fields["session"] = self._session.word
        return kind(number=self._session.next_order(), **fields)

    def _ask_once(
        self,
        message: Request,
        answer: type[_AnswerType],
        *,
        timeout_s: float,
    ) -> _AnswerType:
        self._say(message)
        reply = self._reply_to([message.number], timeout_s)
        if reply is None:
            raise self._no_answer(message.WORD)
        return self._checked(reply, message, answer)

    def _say(self, message: Request) -> None:
        try:
            line = encode(message)
        except LocalProtocolError as exc:
            raise LinkError(f"the rig cannot be asked for this: {exc}") from exc
        self._replies.clear()
        self._transport.write(line)

    def _reply_to(
        self, numbers: Collection[int], timeout_s: float
    ) -> Answer | Refusal | None:
        """Wait for a reply to one of these numbers; None if none comes in time."""
        deadline_s = self.now_s() + timeout_s
        while True:
            for reply in self._replies:
                if reply.number in numbers:
                    return reply
            self._replies.clear()
            left_s = deadline_s - self.now_s()
            if left_s <= 0:
                return None
            self._pump(left_s)

    def _no_answer(self, word: str) -> ReplyTimeout:
        return ReplyTimeout(
            f"the rig at {self.name} did not answer `{word}`",
            hint=f"{AXIS_STOPS}; check the cable and the rig's power",
        )

    def _raise_if_restarted(self) -> None:
        """Look for a silent controller at the first rate, where a restart leaves it."""
        if not self._quick:
            return
        self._quick = False
        self._transport.set_rate(FIRST_RATE_BITS_S)
        with contextlib.suppress(NotARig):
            if self._hail(GREETING_TIMEOUT_S).boot != self._boot:
                raise self._restarted()

    def _checked(
        self, reply: Answer | Refusal, message: Request, answer: type[_AnswerType]
    ) -> _AnswerType:
        if isinstance(reply, Refusal):
            if reply.error == ErrorCode.HELD and self.stop_asked:
                raise Stopped("stopped on request")
            if reply.error == ErrorCode.NO_GREETING and self._boot is not None:
                raise self._restarted()
            if reply.error == ErrorCode.OLD_SESSION:
                raise self._taken()
            sentence, hint = refusal_sentence(reply, message)
            raise RequestRefused(
                sentence, code=reply.error, argument=reply.argument, hint=hint
            )
        if reply.WORD != message.WORD or not isinstance(reply, answer):
            raise NotARig(
                f"the rig at {self.name} answered `{message.WORD}` with `{reply.WORD}`"
            )
        return reply

    def _wait(self, duration_s: float) -> None:
        deadline_s = self.now_s() + duration_s
        while (left_s := deadline_s - self.now_s()) > 0:
            self._pump(left_s)

    def _pump(self, longest_wait_s: float) -> None:
        data = self._transport.read(longest_wait_s)
        self._heard = self._heard or bool(data)
        for item in self._receiver.feed(data):
            self._take(item)

    def _take(self, item: Incoming | StopMark) -> None:
        if isinstance(item, (Answer, Refusal)):
            self._session.hear(self.now_s())
            self._replies.append(item)
        elif isinstance(item, StartNotice) and self._boot not in (None, item.boot):
            raise self._restarted()
        elif isinstance(item, (Notice, UnknownNotice)):
            self._inbox.put(item)
        elif isinstance(item, (Request, BadRequest)):
            # Our own words come back from a port whose ends are tied together
            self._heard = True

    def _recall(self, numbers: list[int]) -> None:
        # No ring holds more; the oldest of so many are gone, or were never sent
        given_up, asked_for = numbers[:-_MOST_RECALLS], numbers[-_MOST_RECALLS:]
        for number in given_up:
            self._inbox.put(LostNotice(number=number))
        for number in asked_for:
            self.recalls += 1
            try:
                self.request(RecallRequest, Answer, notice=number)
            except RequestRefused as exc:
                if exc.code != ErrorCode.GONE:
                    raise
                self._inbox.put(LostNotice(number=number))

    def _taken(self) -> RigTaken:
        self._session.give_up()
        return RigTaken(
            f"the rig at {self.name} takes no more orders from here: another program"
            " has greeted it, or the line stood still for a while",
            hint="let one program at a time use the rig, then begin again",
        )

    def _restarted(self) -> RigRestarted:
        return RigRestarted(
            f"the rig at {self.name} restarted: its home and datum are gone",
            hint="check its supply, then touch off again",
        )


def _is_of_old_session(reply: Answer | Refusal | None) -> bool:
    return isinstance(reply, Refusal) and reply.error == ErrorCode.OLD_SESSION


# Firmware from before there was such a thing does not know them: there is none
_LATER = (Trait.QUANTITIES, Trait.CONTROLS)
_NEEDED = frozenset(Trait) - {
    Trait.RING_SIZE,
    Trait.TIME_TICK,
    Trait.EDGE_RATE_LIMIT,
    Trait.ENABLE_REST,
    Trait.HIGH_INPUTS,
    Trait.NAME_1,
    Trait.NAME_2,
    Trait.NAME_3,
    Trait.NAME_4,
    Trait.SUPPLY_LOW,
    Trait.SUPPLY_HIGH,
    Trait.SUPPLY_START,
    Trait.SCALE_PER_M,
}
