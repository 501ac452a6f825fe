from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from firmware_protocol import Incoming, Receiver, StopMark
from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import (
    REQUESTS,
    EdgeNotice,
    HailAnswer,
    LookAnswer,
    Order,
    RestNotice,
)
from sim.device import Controller
from sim.options import build, read_options

ORDERS = {word for word, kind in REQUESTS.items() if issubclass(kind, Order)}
SOON_LAPSED_S = 0.3

# No noise of any kind, no play, no delay: what is left is arithmetic.
QUIET = {
    "noise_um": "0",
    "probe_um": "0",
    "home_um": "0",
    "zero_um": "0",
    "screw_um": "0",
    "backlash_um": "0",
    "delay_ms": "0",
}


def line(body: str) -> bytes:
    content = body.encode("ascii")
    return b"&" + content + b" " + check_digits(content) + b"\n"


@dataclass
class Host:
    """A host that holds the controller in its hands."""

    controller: Controller
    receiver: Receiver = field(default_factory=Receiver)
    raw: bytes = b""
    heard: list[Incoming | StopMark] = field(default_factory=list)
    spoke_us: int = 0
    lapsed: bool = False
    ordered: int = 0

    def wait(self, seconds: float) -> bytes:
        self.controller.advance(seconds)
        data = self.controller.take_output()
        self.raw += data
        self.heard += self.receiver.feed(data)
        return data

    def ask(self, *bodies: str, seconds: float = 0.02) -> bytes:
        """Send lines at once; return what comes back within some time.

        Orders get their session, another one where the last may have lapsed.
        """
        words = [self._in_session(body) for body in bodies]
        return self.ask_bare(*words, seconds=seconds)

    def ask_bare(self, *bodies: str, seconds: float = 0.02) -> bytes:
        """Send lines at once as they stand."""
        self._see_silence()
        self.controller.receive(b"".join(line(body) for body in bodies))
        return self.wait(seconds)

    @property
    def session(self) -> int | None:
        """What the last greeting gave."""
        return next(
            (m.session for m in reversed(self.heard) if isinstance(m, HailAnswer)), None
        )

    def _in_session(self, body: str) -> str:
        if body.split(" ")[1] not in ORDERS:
            return body
        self._see_silence()
        if self.session is not None and self.lapsed:
            self.ask_bare("q0 hail 1")
            self.lapsed = False
        return f"{body} {self.session or 0}"

    def stay(self, seconds: float) -> None:
        """Let time pass, heard often enough for the motor to keep its current."""
        for _ in range(round(seconds / 100.0)):
            self.ask("q0 look", seconds=100.0)

    def _see_silence(self) -> None:
        quiet_s = (self.controller.now_us - self.spoke_us) * 1e-6
        self.lapsed = self.lapsed or quiet_s > SOON_LAPSED_S
        self.spoke_us = self.controller.now_us

    def look(self) -> LookAnswer:
        self.ask("q0 look")
        return next(m for m in reversed(self.heard) if isinstance(m, LookAnswer))

    def notices(self, kind: type) -> list:
        return [m for m in self.heard if isinstance(m, kind)]

    def until_rest(self, seconds: float = 200.0, period_s: float = 0.1) -> RestNotice:
        """Keep the link alive until the next rest."""
        for _ in range(round(seconds / period_s)):
            first = len(self.heard)
            self.ask("q0 look", seconds=period_s)
            rests = [m for m in self.heard[first:] if isinstance(m, RestNotice)]
            if rests:
                return rests[-1]
        raise AssertionError("the axis did not come to rest")

    def order(self, body: str) -> RestNotice:
        """Give a motion order, anew under a number used before; wait for its end."""
        number = int(body.split(" ")[0][1:])
        if number <= self.ordered:
            self.ask("q0 hail 1")
        self.ordered = number
        first = len(self.heard)
        answer = self.ask(body)
        assert b"&a" in answer, answer
        rests = [m for m in self.heard[first:] if isinstance(m, RestNotice)]
        return rests[-1] if rests else self.until_rest()

    def edges(self, source: str = "out") -> list[EdgeNotice]:
        return [e for e in self.notices(EdgeNotice) if e.source == source]

    def get_ready(self, low: int = 400, high: int = 64000) -> Host:
        self.ask("q1 hail 1")
        self.order("q2 home 16000 400")
        self.ask(f"q3 fence {low} {high}")
        return self


MakeHost = Callable[..., Host]


@pytest.fixture
def make_host() -> MakeHost:
    """Return a maker of hosts in front of a simulated rig with given options."""

    def make(**words: str) -> Host:
        return Host(controller=build(read_options(words)))

    return make


@pytest.fixture
def quiet_host(make_host: MakeHost) -> MakeHost:
    """Return a maker of hosts in front of a rig without noise, play and delay."""

    def make(**words: str) -> Host:
        return make_host(**{**QUIET, **words})

    return make


@pytest.fixture
def make_line() -> Callable[[str], bytes]:
    return line


@pytest.fixture
def hold() -> Callable[[Controller], Host]:
    """Return what makes a host in front of a controller that is there."""
    return lambda controller: Host(controller=controller)
