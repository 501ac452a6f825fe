"""What the AVR image can do, measured on its simulated board.

`python -m firmware_protocol.conformance.measure` prints the figures that the
firmware's README states and fails when one is worse. Times come from cycle counts of
the simulator with its own errors corrected (firmware/simavr/chip.c); silicon was not
measured.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from typing import TypeVar

from firmware_protocol import Receiver, encode
from firmware_protocol.conformance.controllers import Value
from firmware_protocol.conformance.controllers.avr_image import VECTORS, AvrImage
from firmware_protocol.conformance.controllers.bench import CYCLES_PER_SECOND
from firmware_protocol.messages import (
    MAJOR,
    REQUEST_NUMBER_HIGH,
    Answer,
    EdgeNotice,
    Fault,
    FenceRequest,
    GoRequest,
    HailAnswer,
    HailRequest,
    HomeRequest,
    Input,
    LookRequest,
    Notice,
    Order,
    RateRequest,
    RecallRequest,
    Refusal,
    Request,
    RestCause,
    RestNotice,
    Source,
    TallyAnswer,
    TallyRequest,
)

_OrderType = TypeVar("_OrderType", bound=Order)

MEMORY_BYTES = 2048
STACK_BYTES = 260  # as in the Makefile
CYCLES_PER_US = CYCLES_PER_SECOND / 1e6
FAR_STEPS = 78_000
NEAR_STEPS = 500
SPEED_STEPS_S = 20_000
ACCELERATION_STEPS_S2 = 400_000
RATES = (115_200, 250_000)
# What is wrong, the way to contact in steps, and the steps past it at most
HOME_CONTACTS = (
    ("axis reversed, 0.1 mm before the face", 160, Value.REVERSED, 0),
    ("axis reversed, 20 mm before the face", 32_000, Value.REVERSED, 0),
    ("home switch stuck closed, 0.1 mm before the face", 160, Value.HOME_AT, 0),
    ("axis reversed, against the face", 0, Value.REVERSED, 800),
)
# Instants within a fast way; and how long a pulse is, and whether it counts
DRIVE_LOST_AT_S = (0.5, 0.50001, 0.50003, 0.7)
PULSES = ((1, False), (10, False), (40, False), (60, True), (1000, True))
EDGE_RATES = (150, 200, 220, 240, 260)  # the first one is promised


class Host:
    """The host's end: keeps two requests outstanding, sorts what comes."""

    def __init__(self, image: AvrImage) -> None:
        self.image = image
        self.replies: list[Answer | Refusal] = []
        self.notices: list[Notice] = []
        self.outstanding = 0
        self._receiver = Receiver()
        self._number = 0
        self._session = 0
        self._orders = 0

    def send(self, request: Request) -> None:
        """Send a request."""
        self.image.feed(encode(request))
        self.outstanding += 1

    def next_number(self) -> int:
        """Return a number for the next reading."""
        self._number = self._number % REQUEST_NUMBER_HIGH + 1
        return self._number

    def greet(self) -> None:
        """Begin a session."""
        answer = self.ask(HailRequest(number=self.next_number(), major=MAJOR))
        assert isinstance(answer, HailAnswer)
        self._session, self._orders = answer.session, 0

    def order(self, kind: type[_OrderType], **fields: int) -> _OrderType:
        """Return an order of this session, which is not sent yet."""
        if self._orders == REQUEST_NUMBER_HIGH:
            self.greet()
        self._orders += 1
        return kind(number=self._orders, session=self._session, **fields)

    def wait(self, seconds: float) -> None:
        """Let time pass and take what comes."""
        self.image.advance(seconds)
        for message in self._receiver.feed(self.image.take_output()):
            if isinstance(message, Answer | Refusal):
                self.replies.append(message)
                self.outstanding -= 1
            elif isinstance(message, Notice):
                self.notices.append(message)
        if self._receiver.dropped:
            raise RuntimeError("a line of the controller was damaged")

    def ask(self, request: Request) -> Answer:
        """Send a request and return its answer.

        Raises:
            RuntimeError: It was refused.
        """
        self.send(request)
        while self.outstanding:
            self.wait(0.0005)
        if isinstance(self.replies[-1], Refusal):
            raise RuntimeError(f"refused: {request} {self.replies[-1]}")
        return self.replies[-1]

    def rest(self) -> RestNotice:
        """Return the next notice of rest, asking `look` meanwhile."""
        start = len(self.notices)
        while True:
            self.ask(LookRequest(number=0))
            self.wait(0.05)
            for notice in self.notices[start:]:
                if isinstance(notice, RestNotice):
                    return notice


def ready(bits_s: int) -> Host:
    """Return a host whose image is homed and fenced, at a rate of the line."""
    host = Host(AvrImage())
    host.wait(0.05)
    host.greet()
    host.ask(host.order(HomeRequest, fast=16_000, slow=400))
    host.rest()
    host.ask(host.order(FenceRequest, low=400, high=80_000))
    host.image.set(Value.PROBE_AT, 1e9)
    if bits_s != 115_200:
        host.ask(host.order(RateRequest, bits_s=bits_s))
        host.wait(0.005)
        host.ask(LookRequest(number=0))
    return host


@dataclass(slots=True, kw_only=True)
class Run:
    """What came of a run with both directions of the line full.

    Attributes:
        bits_s: Rate of the line.
        edges_s: Changes of the sensor's output a second, on average.
        pulses_s: Steps a second, ramps and turns included.
        replies_s: Replies a second.
        edges: Changes that there were, and those noticed.
        lost: Notices that the controller counts as lost.
        overruns: Bytes that the chip's receiver would have lost.
        worst_late_us: Greatest delay of a pulse behind its place in the cruise.
        worst_latch_us: Greatest spread of latched times about the true ones.
        worst_latch_steps: Greatest distance of a latched count from the true one.
        exact_latches: Share of latched counts that are exact.
        load: Share of the time that interrupts take.
        stack_bytes: Deepest stack.
        faulty_rests: Motions that did not end at their target.
    """

    bits_s: int
    edges_s: int
    pulses_s: float = 0.0
    replies_s: float = 0.0
    edges: tuple[int, int] = (0, 0)
    lost: int = 0
    overruns: int = 0
    worst_late_us: float = 0.0
    worst_latch_us: float = 0.0
    worst_latch_steps: int = 0
    exact_latches: float = 1.0
    load: float = 0.0
    stack_bytes: int = 0
    faulty_rests: int = 0
    routines: dict[str, tuple[int, int]] = field(default_factory=dict)


def _drive(host: Host, seconds: float, edges_s: int, seed: int) -> int:
    """Move to and fro with the line full; return the motions that ended badly."""
    draw = random.Random(seed)
    end_s, level, bad = host.image.now_s + seconds, False, 0
    seen, target = len(host.notices), FAR_STEPS
    next_edge_s = host.image.now_s + 0.05
    host.send(_go(host, target))
    while host.image.now_s < end_s:
        host.wait(0.0005)
        if edges_s and host.image.now_s >= next_edge_s:
            host.wait(draw.random() * 0.0004)
            level = not level
            host.image.set(Value.OUT_FORCED, float(level))
            next_edge_s += draw.expovariate(edges_s)
        for notice in host.notices[seen:]:
            if isinstance(notice, RestNotice):
                bad += notice.cause is not RestCause.THERE
                target = NEAR_STEPS if target == FAR_STEPS else FAR_STEPS
                host.send(_go(host, target))
        seen = len(host.notices)
        _fill_line(host, draw)
    return bad


def _fill_line(host: Host, draw: random.Random) -> None:
    while host.outstanding < 2:
        host.send(
            RecallRequest(number=host.next_number(), notice=65_535)
            if draw.random() < 0.5
            else LookRequest(number=0)
        )


def _go(host: Host, target: int) -> GoRequest:
    return host.order(
        GoRequest,
        target=target,
        speed=SPEED_STEPS_S,
        acceleration=ACCELERATION_STEPS_S2,
        edges=0,
        overrun=0,
    )


def saturate(bits_s: int, edges_s: int, seconds: float = 3.0) -> Run:
    """Run at the highest step rate with both directions of the line full."""
    host = ready(bits_s)
    image, run = host.image, Run(bits_s=bits_s, edges_s=edges_s)
    first_edge = int(image.get(Value.EDGE_COUNT))
    home_steps = image.get(Value.PULSES_UP) - image.get(Value.PULSES_DOWN)
    for vector in VECTORS:
        image.routine(vector)
    image.log_pulses(int(seconds * SPEED_STEPS_S * 1.1))
    start_cycles, replies = image.get(Value.CYCLES), len(host.replies)
    run.faulty_rests = _drive(host, seconds, edges_s, seed=bits_s + edges_s)
    taken = {vector: image.routine(vector) for vector in VECTORS}
    cycles = image.get(Value.CYCLES) - start_cycles
    run.routines = {v: (r.total // max(r.count, 1), r.most) for v, r in taken.items()}
    run.load = sum(r.total for r in taken.values()) / cycles
    run.pulses_s = len(image.pulse_cycles()) / (cycles / CYCLES_PER_SECOND)
    run.replies_s = (len(host.replies) - replies) / seconds
    run.overruns = int(image.get(Value.OVERRUNS))
    run.worst_late_us = max(_lateness_us(image.pulse_cycles()), default=0.0)
    run.stack_bytes = MEMORY_BYTES - image.static_bytes - image.stack_free_bytes
    # Let the axis come to rest and the waiting notices go out
    for _ in range(60):
        host.wait(0.1)
        host.send(LookRequest(number=0))
    _compare_latches(run, host, first_edge, home_steps)
    tally = host.ask(TallyRequest(number=0))
    run.lost = tally.lost if isinstance(tally, TallyAnswer) else -1
    image.close()
    return run


def _lateness_us(pulses: list[int]) -> Iterator[float]:
    """Yield how late each pulse of the cruises is, behind the earliest in its grid."""
    nominal = CYCLES_PER_SECOND / SPEED_STEPS_S
    ramp = 1000  # 500 steps of ramp at 400000 steps/s^2, and room
    cruise: list[int] = []
    previous = 0
    for pulse in [*pulses, 0]:
        if 0 < pulse - previous < 1.9 * nominal:
            cruise.append(pulse)
        else:
            inner = cruise[ramp:-ramp]
            behind = [at - index * nominal for index, at in enumerate(inner)]
            yield from ((b - min(behind)) / CYCLES_PER_US for b in behind)
            cruise = []
        previous = pulse


def _compare_latches(run: Run, host: Host, first_edge: int, home: float) -> None:
    truth = [e for e in host.image.edges(first_edge) if e.input == Input.OUT]
    latched = [
        notice
        for notice in host.notices
        if isinstance(notice, EdgeNotice) and notice.source is Source.OUT
    ]
    run.edges = (len(truth), len(latched))
    if len(truth) != len(latched) or not truth:
        return
    pairs = list(zip(truth, latched, strict=True))
    # The controller's clock began later by a constant
    off_us = [n.time - t.cycles / CYCLES_PER_US for t, n in pairs]
    run.worst_latch_us = max(off_us) - min(off_us)
    off_steps = [n.position - (t.command_steps - home) for t, n in pairs]
    run.worst_latch_steps = int(max(abs(steps) for steps in off_steps))
    run.exact_latches = sum(steps == 0 for steps in off_steps) / len(off_steps)


def turn_reaction_ms(bits_s: int, count: int = 20) -> float:
    """Return the longest time from an edge to the begin of braking, line full.

    Turns at several speeds with too little overrun: how far the axis goes beyond its
    braking way, over its speed.

    Raises:
        RuntimeError: A motion did not end as a turn, or a byte was lost.
    """
    host, draw, worst_ms = ready(bits_s), random.Random(bits_s), 0.0
    low_steps, high_steps, start_steps_s = 19_000, 20_000, 800
    host.image.set(Value.RELEASE_AT, low_steps)
    host.image.set(Value.OPERATE_AT, high_steps)
    for index in range(count):
        up, seen = index % 2 == 0, len(host.notices)
        speed = (1600, 5000, SPEED_STEPS_S)[index // 2 % 3]
        order = replace(_go(host, 30_000 if up else 10_000), speed=speed, edges=1)
        host.send(order)
        while not isinstance(host.notices[-1], RestNotice) or len(host.notices) == seen:
            host.wait(0.0005)
            _fill_line(host, draw)
        while host.outstanding:
            host.wait(0.0005)
        rest = host.notices[-1]
        if rest.cause is not RestCause.TURN or host.image.get(Value.OVERRUNS):
            raise RuntimeError(f"{order} ended as {rest}")
        past = rest.position - high_steps if up else low_steps - rest.position
        brake = (speed**2 - start_steps_s**2) / (2 * ACCELERATION_STEPS_S2)
        worst_ms = max(worst_ms, (past - brake) / speed * 1000.0)
    host.image.close()
    return worst_ms


def silence_ms() -> float:
    """Return how long the axis goes on after the host's last line."""
    host = ready(115_200)
    host.image.log_pulses(100_000)
    host.ask(_go(host, FAR_STEPS))
    # The order ended when its answer began; the bound is from the reply's end
    last_line = host.image.get(Value.CYCLES)
    host.wait(2.0)
    stopped = host.image.pulse_cycles()[-1]
    host.image.close()
    return (stopped - last_line) / CYCLES_PER_US / 1000.0


def home_past_contact_steps(start_from_face_steps: int, fault: Value | None) -> int:
    """Return how far `home` at 16000 steps/s drives on after the probe closes.

    Args:
        start_from_face_steps: Way from where the target stands to where the probe
            closes; 0 or less: it is closed before.
        fault: `REVERSED` for an axis that turns the wrong way, `HOME_AT` for a home
            switch that is stuck closed.

    Raises:
        RuntimeError: It did not end with the fault of the probe.
    """
    host = Host(AvrImage())
    if fault is Value.REVERSED:
        host.image.set(fault, 1.0)
    elif fault is Value.HOME_AT:
        host.image.set(fault, 1e9)
    start = host.image.get(Value.TARGET)
    host.image.set(Value.PROBE_AT, start + start_from_face_steps)
    host.wait(0.05)
    host.greet()
    host.ask(host.order(HomeRequest, fast=16_000, slow=400))
    rest = host.rest()
    fault_number = host.ask(TallyRequest(number=0))
    past = host.image.get(Value.TARGET) - host.image.get(Value.PROBE_AT)
    host.image.close()
    if (
        not isinstance(fault_number, TallyAnswer)
        or fault_number.fault != Fault.PROBE_UNEXPECTED
    ):
        raise RuntimeError(f"`home` ended as {rest} and {fault_number}")
    return round(past)


def steps_after_drive_lost(wait_s: float) -> tuple[int, float]:
    """Return the pulses after the drive's input opened, and the last one's delay in us.

    Args:
        wait_s: Instant within a `go` at 20000 steps/s.

    Raises:
        RuntimeError: It did not end with the fault of the drive.
    """
    host = ready(115_200)
    host.image.log_pulses(100_000)
    host.ask(_go(host, FAR_STEPS))
    host.wait(wait_s)
    opened = host.image.get(Value.CYCLES)
    host.image.set(Value.DRIVE, 0)
    host.wait(0.1)
    after = [cycle for cycle in host.image.pulse_cycles() if cycle > opened]
    tally = host.ask(TallyRequest(number=0))
    has_current = host.image.get(Value.ENABLED)
    host.image.close()
    lost = isinstance(tally, TallyAnswer) and tally.fault == Fault.DRIVE_LOST
    if not lost or has_current:
        raise RuntimeError(f"the drive was lost, and the controller says {tally}")
    return len(after), (after[-1] - opened) / CYCLES_PER_US if after else 0.0


def turns_on_pulse(length_us: float) -> bool:
    """Return whether a pulse of the output so long turns a `go` round."""
    host = ready(115_200)
    host.image.set(Value.OUT_FORCED, 0)
    host.ask(replace(_go(host, 4000), speed=800, edges=1))
    host.wait(0.2)
    host.image.set(Value.OUT_FORCED, 1)
    host.wait(length_us * 1e-6)
    host.image.set(Value.OUT_FORCED, 0)
    rest = host.rest()
    host.image.close()
    return rest.cause is RestCause.TURN


def edge_rate(edges_s: int, seconds: int = 3) -> int:
    """Return the edges lost at a rate of the line of 115200, axis at rest."""
    host = ready(115_200)
    step_s, level = 1.0 / edges_s, False
    for index in range(seconds * edges_s):
        level = not level
        host.image.set(Value.OUT_FORCED, float(level))
        if index % max(1, edges_s // 8) == 0:
            host.send(LookRequest(number=0))
        host.wait(step_s)
    host.wait(0.5)
    tally = host.ask(TallyRequest(number=0))
    host.image.close()
    return tally.lost if isinstance(tally, TallyAnswer) else -1


def main() -> int:
    """Print the figures; return 1 when one is worse than the README states."""
    say = sys.stdout.write
    AvrImage().close()  # builds what is missing, before two at once would
    with ProcessPoolExecutor() as pool:
        runs = pool.map(saturate, (*RATES, *RATES), (0, 0, 100, 100))
        turns_ms = pool.map(turn_reaction_ms, RATES)
        stop_ms = pool.submit(silence_ms)
        lost = pool.map(edge_rate, EDGE_RATES)
        good = True
        for run in runs:
            good &= _holds(run)
            say(_words(run))
        say(f"cycles of each interrupt (mean, most): {run.routines}\n")
        for bits_s, turn in zip(RATES, turns_ms, strict=True):
            good &= turn <= 5.0
            say(f"{bits_s} bit/s: brakes {turn:.1f} ms after the edge at the latest\n")
        stop = stop_ms.result()
        good &= 480.0 <= stop <= 502.0
        say(f"stands still {stop:.1f} ms after the host's last line\n")
        for words, way, fault, most in HOME_CONTACTS:
            past = home_past_contact_steps(way, fault)
            good &= past <= most
            say(f"home, {words}: {past} steps past contact\n")
        for wait_s in DRIVE_LOST_AT_S:
            steps, us = steps_after_drive_lost(wait_s)
            good &= steps <= 1
            say(f"drive lost at 20000 steps/s: {steps} pulses after it, {us:.0f} us\n")
        for length_us, turns in PULSES:
            good &= turns_on_pulse(length_us) is turns
            say(f"pulse of {length_us} us: {'turns' if turns else 'no turn'}\n")
        for edges_s, count in zip(EDGE_RATES, lost, strict=True):
            good &= edges_s > EDGE_RATES[0] or count == 0
            say(f"{edges_s} edges/s for 3 s at 115200 bit/s: {count} lost\n")
    return 0 if good else 1


def _holds(run: Run) -> bool:
    return (
        run.pulses_s >= 0.9 * SPEED_STEPS_S
        and run.overruns == run.lost == run.faulty_rests == 0
        and run.edges[0] == run.edges[1]
        and run.worst_late_us <= (45.0 if run.edges_s else 15.0)
        and run.worst_latch_us <= 2.0
        and run.worst_latch_steps <= 1
        and run.stack_bytes <= STACK_BYTES
    )


def _words(run: Run) -> str:
    return (
        f"{run.bits_s} bit/s, {SPEED_STEPS_S} steps/s, {run.edges_s} edges/s: "
        f"{run.pulses_s:.0f} pulses/s, {run.replies_s:.0f} replies/s, "
        f"interrupts {run.load:.0%}, "
        f"pulse late by at most {run.worst_late_us:.1f} us, "
        f"edges {run.edges[0]} noticed {run.edges[1]} lost {run.lost}, "
        f"latched times within {run.worst_latch_us:.1f} us, "
        f"counts exact in {run.exact_latches:.0%} and off by at most "
        f"{run.worst_latch_steps}, overruns {run.overruns}, "
        f"stack {run.stack_bytes} bytes\n"
    )


if __name__ == "__main__":
    sys.exit(main())
