"""A port that follows a script, on a clock of its own."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

import pytest

from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import REQUESTS, Order, Trait
from rig.link.link import Link

BOOT = 212
ORDERS = {word for word, kind in REQUESTS.items() if issubclass(kind, Order)}
TRAITS = {
    Trait.STEPS_PER_M: 1_600_000,
    Trait.TRAVEL_LOW: 400,
    Trait.TRAVEL_HIGH: 64_000,
    Trait.SPEED_LIMIT: 40_000,
    Trait.ACCELERATION_LIMIT: 800_000,
    Trait.START_SPEED: 1600,
    Trait.SILENCE_LIMIT: 500,
    Trait.ABILITIES: 2,
    Trait.FAIL_SAFE: 6,
    Trait.MIN_PULSE: 50,
    Trait.HOME_CLEAR: 200,
    Trait.HOME_SEARCH: 4000,
    Trait.SERIAL: 0,
    Trait.BUILD: 0,
    Trait.QUANTITIES: 0,
    Trait.CONTROLS: 0,
}


def line(body: str) -> bytes:
    content = body.encode("ascii")
    return b"&" + content + b" " + check_digits(content) + b"\n"


class ScriptedPort:
    """Answers requests as told, else as a healthy controller at rest would.

    Attributes:
        sent: Everything written, a call an item.
        next_notice: What a look tells unless a script says otherwise.
        boot: Likewise.
        session: Word of the last greeting.
        abilities: Likewise, of the trait.
        rates: Rates that were set.
        deaf_at_bits_s: Rate at which nothing is answered.
        on_read: Called before every read.
    """

    name = "scripted"

    def __init__(self) -> None:
        self.sent: list[bytes] = []
        self.next_notice = 1
        self.boot = BOOT
        self.session = 0
        self.abilities = 2
        self.has_rate = False
        self.rates: list[int] = []
        self.deaf_at_bits_s = 0
        self.on_read: Callable[[], None] = lambda: None
        self._script: deque[tuple[tuple[float, str], ...]] = deque()
        self._coming: list[tuple[float, bytes]] = []
        self._now_s = 0.0

    def then(self, *bodies: str | tuple[float, str]) -> None:
        """Answer the next request that has no script yet with these lines.

        A body is one without its check, with `{n}` for the request's number and
        `{w}` for its verb; a pair comes so many seconds later. None: no answer.
        """
        self._script.append(
            tuple((0.001, b) if isinstance(b, str) else b for b in bodies)
        )

    def say(self, data: bytes, *, after_s: float = 0.0) -> None:
        """Send bytes unasked."""
        self._coming.append((self._now_s + after_s, data))

    def requests(self) -> list[str]:
        """Return the bodies of all requests, numbers and checks left out."""
        return [
            b" ".join(data.split()[1:-1]).decode() for data in self.sent if b"&" in data
        ]

    def read(self, longest_wait_s: float) -> bytes:
        self.on_read()
        due = [item for item in self._coming if item[0] <= self._now_s + longest_wait_s]
        if not due:
            self._now_s += longest_wait_s
            return b""
        first = min(due, key=lambda item: item[0])
        self._coming.remove(first)
        self._now_s = max(self._now_s, first[0])
        return first[1]

    def write(self, data: bytes) -> None:
        self.sent.append(data)
        if not data.startswith(b"&"):
            return
        if self.rates and self.rates[-1] == self.deaf_at_bits_s:
            return
        head, verb, *words = data[1:].decode("ascii").split()
        answers = (
            self._script.popleft() if self._script else self._usual(verb, words[:-1])
        )
        for delay_s, body in answers:
            text = body.format(n=head[1:], w=verb)
            self._coming.append((self._now_s + delay_s, line(text)))

    def _usual(self, verb: str, words: list[str]) -> tuple[tuple[float, str], ...]:
        if verb == "hail":
            self.session += 1
            text = f"a{{n}} hail 1 0 {self.boot} 0.1.0 bench-2 {self.session}"
            return ((0.001, text),)
        if verb == "look":
            return ((0.001, self.look()),)
        if verb == "trait":
            traits = TRAITS | {Trait.ABILITIES: self.abilities}
            value = traits[Trait(int(words[0]))]
            return ((0.001, f"a{{n}} trait {words[0]} {value}"),)
        told = words[:-1] if verb in ORDERS else words
        return ((0.001, " ".join([f"a{{n}} {verb}", *told])),)

    def look(self, state: str = "ready") -> str:
        return f"a{{n}} look {state} 4800 73512345 8 {self.next_notice} {self.boot}"

    def set_rate(self, bits_s: int) -> None:
        self.rates.append(bits_s)

    def now_s(self) -> float:
        return self._now_s

    def close(self) -> None:
        """Nothing to let go of."""


@pytest.fixture
def port() -> ScriptedPort:
    return ScriptedPort()


@pytest.fixture
def link(port: ScriptedPort) -> Link:
    """A link that was greeted; what was sent for that is forgotten."""
    link = Link(port)
    link.greet()
    port.sent.clear()
    return link
