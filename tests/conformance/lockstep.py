"""A controller on a simulated bench as a subject: time passes while one waits."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from firmware_protocol.conformance.controllers.bench import (
    CYCLES_PER_SECOND,
    EdgeTruth,
    StartCause,
    Value,
)
from firmware_protocol.conformance.subject import Change
from firmware_protocol.messages import Input, Quantity, Source

# Time goes in whole parts of these lengths; an answer is timed to the longer one
TICK_US = 10
SLICE_US = 500
_SOURCES = {
    int(Input.OUT): Source.OUT,
    int(Input.PROBE): Source.PROBE,
    int(Input.HOME): Source.HOME,
}


class LockStep(Protocol):
    """A controller on its bench, with the world's truth; time passes when asked to."""

    name: str

    def close(self) -> None:
        """Take the bench down."""

    def feed(self, data: bytes) -> None:
        """Give bytes to the line."""

    def advance(self, seconds: float) -> None:
        """Let time pass."""

    def wait_for_output(self, limit_us: int, slice_us: int) -> int:
        """Let time pass in slices, to the end of one in which something came out.

        Returns:
            The time that passed, us; `limit_us` at most.
        """

    def take_output(self) -> bytes:
        """Return what came out of the line until now."""

    def restart(self, cause: StartCause = StartCause.POWER) -> None:
        """Restart the controller; the world stays as it is."""

    def begin_late(self, time_us: int, notice: int) -> bool:
        """Restart the controller as if it had run for long, if that is possible."""

    def set(self, value: Value, to: float) -> None:
        """Set a value of the world."""

    def get(self, value: Value) -> float:
        """Return a value of the world."""

    def edges(self, since: int = 0) -> list[EdgeTruth]:
        """Return the changes of the inputs from a number on."""


class BenchWorld:
    """Hand and eye at a simulated bench.

    Attributes:
        patient: Time is simulated.
    """

    patient = True

    def __init__(self, bench: LockStep, passed: Callable[[float], None]) -> None:
        self._bench = bench
        self._passed = passed
        self._seen = 0

    def restart(self) -> None:
        """Press the reset input."""
        self._bench.restart(StartCause.BUTTON)

    def pulses(self) -> int:
        """Return the step pulses so far, up less down."""
        up, down = self._bench.get(Value.PULSES_UP), self._bench.get(Value.PULSES_DOWN)
        return int(up - down)

    def place(self) -> int:
        """Return where the target is."""
        return int(self._bench.get(Value.TARGET))

    def shift(self, steps: int) -> None:
        """Move the target by hand."""
        self._bench.set(Value.TARGET, self.place() + steps)

    def scale(self) -> int:
        """Return the count of the scale."""
        return int(self._bench.get(Value.SCALE))

    def changes(self) -> list[Change]:
        """Return the changes of the inputs since the last call."""
        edges = self._bench.edges(self._seen)
        self._seen = int(self._bench.get(Value.EDGE_COUNT))
        return [
            Change(
                source=_SOURCES[edge.input],
                level=edge.level,
                pulses=edge.command_steps,
                time_us=edge.cycles * 1e6 / CYCLES_PER_SECOND,
                scale=edge.scale,
            )
            for edge in edges
        ]

    def set_switching(self, operate_at: int, release_at: int) -> None:
        """Set where the output switches."""
        self._bench.set(Value.OPERATE_AT, operate_at)
        self._bench.set(Value.RELEASE_AT, release_at)

    def hold_output(self, level: bool | None) -> None:
        """Hold the output, or let the sensor decide."""
        self._bench.set(Value.OUT_FORCED, -1 if level is None else int(level))

    def set_probe(self, closes_at: int) -> None:
        """Set where the touch probe closes."""
        self._bench.set(Value.PROBE_AT, closes_at)

    def set_home(self, closes_at: int, opens_at: int) -> None:
        """Set where the home switch closes and opens."""
        self._bench.set(Value.HOME_GAP, opens_at - closes_at)
        self._bench.set(Value.HOME_AT, closes_at)

    def set_supply(self, present: bool) -> None:
        """Take the supply away, or give it back."""
        self._bench.set(Value.SUPPLY, float(present))

    def set_drive(self, on: bool) -> None:
        """Press the emergency stop, or release it."""
        self._bench.set(Value.DRIVE, float(on))

    def break_wire(self, broken: Input | None) -> None:
        """Break the wire of one input, or mend whatever is broken."""
        self._bench.set(Value.BROKEN, 0 if broken is None else int(broken))

    def has_current(self) -> bool:
        """Return whether the enable output is on."""
        return bool(self._bench.get(Value.ENABLED))

    def set_quantity(self, quantity: Quantity, value: int) -> None:
        """Let a quantity be this."""
        self._bench.set(Value(Value.SUPPLY_MV + quantity), value)

    def sensor_supply(self) -> tuple[bool, float]:
        """Return whether the supply is switched on, and since when."""
        cycles = self._bench.get(Value.SWITCHED_CYCLES)
        on = bool(self._bench.get(Value.SWITCHED_ON))
        return on, cycles * 1e6 / CYCLES_PER_SECOND

    def supply_set_mv(self) -> int:
        """Return the voltage that is set."""
        return int(self._bench.get(Value.SET_MV))

    def pass_time(self, seconds: float) -> None:
        """Let time pass at one go."""
        self._bench.advance(seconds)
        self._passed(seconds)

    def begin_late(self, time_us: int, notice: int) -> bool:
        """Restart the controller as if it had run for long, where the bench can."""
        return self._bench.begin_late(time_us, notice)


class BenchSubject:
    """A controller on a simulated bench.

    Attributes:
        name: What reports call it.
        latency_s: 0: the line ends at the bench.
        world: Its world.
    """

    latency_s = 0.0

    def __init__(self, make: Callable[[], LockStep]) -> None:
        self._make = make
        self._bench = make()
        self._now_us = 0
        self._passed_s = 0.0
        self.name = self._bench.name
        self.world = BenchWorld(self._bench, self._pass)

    def _pass(self, seconds: float) -> None:
        self._passed_s += seconds

    def clock_s(self) -> float:
        """Return the simulated time."""
        return self._now_us * 1e-6 + self._passed_s

    def send(self, data: bytes) -> None:
        """Put bytes on the line."""
        self._bench.feed(data)

    def receive(self, wait_s: float) -> bytes:
        """Let time pass until bytes come."""
        limit_us = max(1, round(wait_s * 1e6 / TICK_US)) * TICK_US
        self._now_us += self._bench.wait_for_output(limit_us, SLICE_US)
        return self._bench.take_output()

    def set_rate(self, bits_s: int) -> bool:
        """Set the host's side of the line."""
        self._bench.set(Value.LINE_RATE, bits_s)
        return True

    def renew(self) -> bool:
        """Begin with a new bench."""
        self._bench.close()
        self._bench = self._make()
        self.world = BenchWorld(self._bench, self._pass)
        return True

    def close(self) -> None:
        """Take the bench down."""
        self._bench.close()
