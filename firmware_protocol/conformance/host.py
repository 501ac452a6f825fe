"""A host that asks, waits and remembers what it heard; knows no clause.

It takes lines apart with the package's own codec, and keeps their text: most clauses
compare words.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from firmware_protocol import RemoteProtocolError, StopMark, decode
from firmware_protocol.checksum import check_digits
from firmware_protocol.codec import Incoming
from firmware_protocol.conformance.clause import Broken, NotApplicable
from firmware_protocol.conformance.subject import Subject, World
from firmware_protocol.framing import LineAssembler
from firmware_protocol.messages import (
    FIRST_RATE_BITS_S,
    REQUEST_NUMBER_HIGH,
    REQUESTS,
    Ability,
    Answer,
    HailAnswer,
    LookAnswer,
    Notice,
    Order,
    Request,
    TallyAnswer,
    Trait,
)
from firmware_protocol.table import MessageRow

ANSWER_S = 0.020  # SPEC.md 6
PATIENCE_S = 0.250  # SPEC.md 6: how long a host waits before it asks again
GREETING_S = 3.0  # SPEC.md 12
KEEP_S = 0.1
SLICE_S = 0.001  # how exactly the suite knows when something came
_SLICE_S = 0.05
_MOTIONS = ("home", "go", "touch")
_ORDERS = {word for word, kind in REQUESTS.items() if issubclass(kind, Order)}
_SHORTEST_SILENCE_MS = 200  # that ends a session
_LAPSING_SHARE = 0.6

A = TypeVar("A", bound=Answer)
N = TypeVar("N", bound=Notice)


def line(body: str) -> bytes:
    """Return the line of a body."""
    content = body.encode("latin-1")
    return b"&" + content + b" " + check_digits(content) + b"\n"


def _upper_case(item: bytes) -> str:
    """Say so where the check of a line fits but for its upper-case digits."""
    content, digits = item[:-5], item[-4:]
    if digits != digits.lower() and digits.lower() == check_digits(content):
        return ", for its digits are upper-case"
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """A line that came.

    Attributes:
        at_s: When it was through, by the subject's clock.
        text: The line without start byte and check.
        message: What it says.
    """

    at_s: float
    text: str
    message: Incoming


def example_words(row: MessageRow) -> str:
    """Return the table's example of a request without its session."""
    given = [field.name for field in row.fields if field.name != "session"]
    return " ".join([row.word, *(str(row.example[name]) for name in given)])


class Host:
    """A host in front of a subject.

    Attributes:
        subject: What it speaks to.
        heard: Lines since the clause began.
        flaws: What came that no controller may send, since the clause began.
        rate_bits_s: Rate of the host's side of the line.
        moves: Whether the axis may be moved.
        last_order: The last motion order since the clause began, empty for none.
        session: What the last greeting gave; None before.
    """

    def __init__(self, subject: Subject, *, moves: bool) -> None:
        self.subject = subject
        self.moves = moves
        self.heard: list[Heard] = []
        self.flaws: list[str] = []
        self.last_order = ""
        self.rate_bits_s = FIRST_RATE_BITS_S
        self.session: int | None = None
        self._assembler = LineAssembler()
        self._number = 0
        self._ordered = 0
        self._spoke_s = 0.0
        self._lapsed = False
        self._traits: dict[Trait, int] = {}

    # ---- the line

    def begin(self) -> None:
        """Forget what was heard, and everything that is half received or on its way."""
        if not self.subject.renew():
            self.wait(PATIENCE_S)
        self.heard.clear()
        self.flaws.clear()
        self.last_order = ""
        self.session = None
        self._number = 0
        self._assembler = LineAssembler()
        self.set_rate(FIRST_RATE_BITS_S)

    def set_rate(self, bits_s: int) -> bool:
        """Set the host's side of the line; False where the link has no rate."""
        self.rate_bits_s = bits_s
        return self.subject.set_rate(bits_s)

    def send(self, data: bytes) -> None:
        """Put bytes on the line."""
        self.subject.send(data)

    def wire_s(self, count: int) -> float:
        """Return how long so many bytes take."""
        return count * 10.0 / self.rate_bits_s

    def wait(self, seconds: float, until: Callable[[], bool] | None = None) -> bool:
        """Listen for some time, or until something holds; return whether it does."""
        end_s = self.subject.clock_s() + seconds
        while until is None or not until():
            left_s = end_s - self.subject.clock_s()
            if left_s <= 1e-9:
                return until is not None and until()
            self._take(self.subject.receive(min(left_s, _SLICE_S)))
        return True

    def _take(self, data: bytes) -> None:
        dropped = self._assembler.dropped
        for item in self._assembler.feed(data):
            if isinstance(item, StopMark):
                self.flaws.append("a stop byte")
                continue
            try:
                message = decode(item)
            except RemoteProtocolError as exc:
                self.flaws.append(f"{item!r}: {exc}{_upper_case(item)}")
                continue
            text = item[:-5].decode("latin-1")
            if isinstance(message, Request) or text.startswith("q"):
                self.flaws.append(f"{text!r}: a controller sends no request")
                continue
            if isinstance(message, HailAnswer):
                self.session, self._ordered = message.session, 0
                self._lapsed = False
            at_s = self.subject.clock_s()
            self.heard.append(Heard(at_s=at_s, text=text, message=message))
        if self._assembler.dropped > dropped:
            self.flaws.append(f"a damaged line in {data!r}")

    # ---- requests

    def number(self) -> int:
        """Return a request number that is above the last one."""
        if self._number == REQUEST_NUMBER_HIGH:
            self._number = 0
            if self.session is not None:
                self.greet()
        self._number += 1
        return self._number

    def say(self, words: str, number: int | None = None) -> int:
        """Send a request, an order with its session; return its number.

        Where the session may have lapsed, an order that is not repeated begins another.
        """
        number = self.number() if number is None else number
        if words.partition(" ")[0] not in _ORDERS:
            return self.say_bare(words, number)
        self._see_silence()
        if self.session is not None and number > self._ordered and self._lapsed:
            self.greet()
        self._ordered = number or self._ordered
        return self.say_bare(self.in_session(words), number)

    def say_bare(self, words: str, number: int) -> int:
        """Send these words as they stand; return their number."""
        if words.partition(" ")[0] in _MOTIONS:
            self.last_order = f"q{number} {words}"
        self._see_silence()
        self.send(line(f"q{number} {words}"))
        return number

    def _see_silence(self) -> None:
        """Take note of a silence after which the session may be over."""
        now_s = self.subject.clock_s()
        limit_ms = self._traits.get(Trait.SILENCE_LIMIT, _SHORTEST_SILENCE_MS)
        silent_ms = (now_s - self._spoke_s) * 1e3
        self._lapsed = self._lapsed or silent_ms > limit_ms * _LAPSING_SHARE
        self._spoke_s = now_s

    def in_session(self, words: str) -> str:
        """Return an order with its session."""
        return f"{words} {0 if self.session is None else self.session}"

    def replies(self, number: int, first: int = 0) -> list[Heard]:
        """Return the replies to a request number among what was heard."""
        heads = (f"a{number} ", f"x{number} ")
        return [heard for heard in self.heard[first:] if heard.text.startswith(heads)]

    def answered(self, number: int, first: int, seconds: float) -> bool:
        """Wait for a reply to a request; return whether it came."""
        return self.wait(seconds, lambda: bool(self.replies(number, first)))

    def ask(self, words: str, number: int | None = None) -> str:
        """Send a request and return the words of its reply.

        Raises:
            Broken: Nothing came in time.
        """
        return self.asked(words, number).text.partition(" ")[2]

    def asked(self, words: str, number: int | None = None) -> Heard:
        """Send a request and return its reply with the time."""
        first = len(self.heard)
        return self._reply_to(words, self.say(words, number), first)

    def _reply_to(self, words: str, number: int, first: int) -> Heard:
        limit_s = PATIENCE_S + self.subject.latency_s
        self.answered(number, first, limit_s)
        found = self.replies(number, first)
        if not found:
            raise Broken(f"a reply to `q{number} {words}`", self.since(first))
        mark, verb = found[0].text[0], words.partition(" ")[0]
        came = found[0].text.partition(" ")[2].partition(" ")[0]
        if came != (verb if mark == "a" else "no"):
            raise Broken(f"`a{number} {verb} ...` or `x{number} no ...`", found[0].text)
        return found[0]

    def gets(self, words: str, reply: str, number: int | None = None) -> None:
        """Expect this reply, word for word; more fields may follow an answer."""
        came = self.ask(words, number)
        if came != reply and not (
            came.startswith(reply + " ") and not reply.startswith("no ")
        ):
            asked = "`" + words + "`" + ("" if number is None else f" number {number}")
            raise Broken(f"`{reply}` to {asked}", f"`{came}`")

    def gets_bare(self, words: str, reply: str, number: int) -> None:
        """Expect this reply to words that go as they stand."""
        first = len(self.heard)
        heard = self._reply_to(words, self.say_bare(words, number), first)
        came = heard.text.partition(" ")[2]
        self.expect(came == reply, f"`{reply}` to `q{number} {words}`", f"`{came}`")

    def ignores(self, data: bytes, what: str) -> None:
        """Expect no reply to these bytes."""
        first = len(self.heard)
        self.send(data)
        self.wait(self.wire_s(len(data)) + 2 * ANSWER_S + self.subject.latency_s)
        came = [h.text for h in self.heard[first:] if not isinstance(h.message, Notice)]
        if came:
            raise Broken(f"no reply to {what}", f"`{came[0]}`")

    def since(self, first: int) -> str:
        """Return what was heard from an index on, in words."""
        texts = [f"`{heard.text}`" for heard in self.heard[first:]]
        return ", ".join([*texts, *self.flaws][:6]) or "nothing"

    # ---- usual questions

    def greet(self) -> bool:
        """Send `hail` until it is answered; return whether it was."""
        end_s = self.subject.clock_s() + GREETING_S + self.subject.latency_s
        while self.subject.clock_s() < end_s:
            first = len(self.heard)
            self.say("hail 1", 0)
            if self.answered(0, first, PATIENCE_S):
                return self.replies(0, first)[0].text.startswith("a0 hail ")
        return False

    def look(self) -> LookAnswer:
        """Ask how things stand, with request number 0."""
        return self._answer("look", LookAnswer)

    def tally(self) -> TallyAnswer:
        """Ask what went wrong, with request number 0."""
        return self._answer("tally", TallyAnswer)

    def _answer(self, words: str, kind: type[A]) -> A:
        heard = self.asked(words, 0)
        if not isinstance(heard.message, kind):
            raise Broken(f"an answer to `q0 {words}`", f"`{heard.text}`")
        return heard.message

    def trait(self, trait: Trait) -> int:
        """Return a trait; asked for once."""
        if trait not in self._traits:
            words = self.ask(f"trait {int(trait)}", 0).split()
            if words[0] != "trait" or words[1] != str(int(trait)):
                raise Broken(f"trait {int(trait)}", " ".join(words))
            self._traits[trait] = int(words[2])
        return self._traits[trait]

    def able(self, ability: Ability) -> bool:
        """Return whether the controller has an ability."""
        return bool(self.trait(Trait.ABILITIES) & ability)

    # ---- what was heard

    def notices(self, kind: type[N], first: int = 0) -> list[N]:
        """Return the notices of a kind among what was heard, in order."""
        return [
            heard.message
            for heard in self.heard[first:]
            if isinstance(heard.message, kind)
        ]

    def expect(self, holds: bool, expected: str, came: object) -> None:
        """Raise Broken unless something holds."""
        if not holds:
            raise Broken(expected, str(came))

    @property
    def world(self) -> World:
        """The hand at the machine, for clauses that need it."""
        if self.subject.world is None:
            raise NotApplicable("there is no world")
        return self.subject.world
