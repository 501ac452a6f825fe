"""The simulated controller as a subject, on a plain machine that a test can set."""

from __future__ import annotations

import importlib.util
import math
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest

from firmware_protocol.conformance.port import LATENCY_S, PortSubject
from firmware_protocol.conformance.subject import Change as Truth
from firmware_protocol.conformance.subject import Subject
from firmware_protocol.messages import Ability, Input, Quantity, Source, StartReason
from sim.device import Controller
from sim.drive import Happening, Kind
from sim.faults import NO_FAULTS
from sim.serve import Server, serve_pty
from sim.stretch import Change
from sim.traits import Traits

START_STEPS = 3000
NEVER = 10**9
EVERYTHING = Traits().abilities | Ability.SCALE
# 5 counts for 4 steps, from somewhere on
COUNTS_PER_STEP = 1.25
SCALE_AT_HOME = 12345

NOTHING = Ability.SIMULATED


def traits_with(abilities: Ability) -> Traits:
    """Return traits with these abilities; with none, nothing else is fitted either."""
    if abilities == NOTHING:
        none: frozenset[int] = frozenset()
        return Traits(abilities=abilities, quantities=none, controls=none)
    return Traits(abilities=abilities)


MakeController = Callable[..., Controller]


class PlainStretch:
    """One stretch of motion on whole steps; looks at the machine as it is now."""

    def __init__(self, bench: PlainBench, direction: int) -> None:
        self.setup = SimpleNamespace(look_phase=0.0)
        self.gone = 0
        self._bench = bench
        self._way = direction
        self._from = bench.place

    def motor_steps(self, step: int) -> int:
        return self._from + self._way * step

    def carriage_mm(self, step: int) -> float:
        return float(self.motor_steps(step))

    def next_change(self, last_step: int) -> Change | None:
        """Return the soonest change after what has gone, in closed form."""
        found = [
            Change(step=max(self.gone + 1, self._way * (place - self._from)), **what)
            for place, what in self._bench.changes_ahead(self._way)
            if self._way * (place - self._from) >= self.gone or place_is_past(place)
        ]
        soonest = min(found, key=lambda change: change.step, default=None)
        return soonest if soonest is not None and soonest.step <= last_step else None

    def struck_step(self, last_step: int) -> None:
        """Return None: this machine has no face."""

    def take_change(self) -> None:
        change = self.next_change(NEVER)
        assert change is not None
        self.gone = max(self.gone, change.step - 1)
        pulses = self._bench.pulses_before + self._way * change.step
        self._bench.note(change.source, change.level, pulses)


def place_is_past(place: int) -> bool:
    """Whether a place stands for "wherever it is now"."""
    return abs(place) >= NEVER


class PlainBench:
    """A machine with no play and no noise, in whole steps from the home switch."""

    def __init__(self) -> None:
        self.place = START_STEPS
        self.pulses_before = 0
        self.operate_at, self.release_at = 20000, 19000
        self.probe_at = 60000
        self.home_at, self.home_opens_at = 0, 40
        self.held: bool | None = None
        self.operated = self.home_closed = False
        # The probe tells at once
        self.probe_closed = self.contact_closed = False
        self.probe_delay_us = 0.0
        self.supplied = self.drive_on = True
        self._switched_on = True
        self.switched_us = 0.0
        self.set_v = 24.0
        self.told = {
            Quantity.SUPPLY: 24000,
            Quantity.LOAD_CURRENT: 10000,
            Quantity.RESIDUAL_VOLTAGE: 1200,
            Quantity.TEMPERATURE: 21500,
        }
        self.tapped = False
        self.has_scale = True
        self.broken_wires: set[Source] = set()
        self.truth_seen: deque[Truth] = deque()
        self.clock: Callable[[], int] = lambda: 0
        self.stretch: PlainStretch | None = None

    @property
    def carriage_mm(self) -> float:
        return float(self.place)

    def scale_count(self, place: float, time_s: float) -> int:
        return math.floor(place * COUNTS_PER_STEP) + SCALE_AT_HOME

    @property
    def powered(self) -> bool:
        return self.supplied and self.switched_on

    @property
    def switched_on(self) -> bool:
        return self._switched_on

    @switched_on.setter
    def switched_on(self, on: bool) -> None:
        before = self.output_level
        self._switched_on, self.switched_us = on, float(self.clock())
        if self.output_level is not before:
            self.note(Source.OUT, self.output_level, self.pulses_before)

    def wake(self) -> tuple[float, float]:
        """Wake at once, without a pulse."""
        return 0.0, 0.0

    def quantity(self, quantity: Quantity, time_s: float, conducts: bool) -> int:
        off = quantity is Quantity.SUPPLY and not self.powered
        return 0 if off else self.told[quantity]

    @property
    def output_level(self) -> bool:
        if not self.switched_on:
            return False
        return self.operated if self.held is None else self.held

    def delay_us(self, operated: bool) -> float:
        return 0.0

    def begin(
        self, *, direction: int, order: int, leg: int, time_s: float
    ) -> PlainStretch:
        self.stretch = PlainStretch(self, direction)
        return self.stretch

    def finish(self, stretch: PlainStretch, steps: int) -> None:
        self.pulses_before += stretch.motor_steps(steps) - self.place
        self.place = stretch.motor_steps(steps)
        self.stretch = None

    def changes_ahead(self, way: int) -> list[tuple[int, dict[str, object]]]:
        """Return where each input changes on the way up or down."""
        up = way > 0
        ahead: list[tuple[int, Source, bool]] = []
        if self.held is None and self.operated is not up:
            place = self.operate_at if up else self.release_at
            ahead.append((place, Source.OUT, up))
        if self.probe_closed is not up:
            place = self.probe_at if up else self.probe_at - 1
            ahead.append((place, Source.PROBE, up))
        if self.home_closed is up:
            place = self.home_opens_at if up else self.home_at
            ahead.append((place, Source.HOME, not up))
        return [(p, {"source": s, "level": level}) for p, s, level in ahead]

    def note(self, source: Source, level: bool, pulses: int) -> None:
        place = self.place + pulses - self.pulses_before
        self.truth_seen.append(
            Truth(
                source=source,
                level=level,
                pulses=pulses,
                time_us=self.clock(),
                scale=self.scale_count(place, 0.0),
            )
        )


class SimWorld:
    """Hand and eye at the plain machine behind a simulated controller."""

    def __init__(self, subject: SimSubject, controller: Controller) -> None:
        self.patient = subject.patient
        self._subject = subject
        self._controller = controller
        self._bench: PlainBench = controller.bench

    @property
    def _drive(self):
        return self._controller._drive

    @contextmanager
    def _hand(self) -> Iterator[None]:
        """Change something: what the drive knew of the future is void."""
        with self._subject.lock:
            self._subject.catch_up()
            if self._bench.stretch is not None:
                self._bench.stretch.gone = self._drive._gone(self._controller.now_us)
            yield
            self._drive._due_known = False

    def restart(self) -> None:
        with self._hand():
            self._controller.restart(StartReason.BUTTON)

    def pulses(self) -> int:
        with self._subject.lock:
            gone = self._controller.count_steps() - self._drive.count_steps
            return self._bench.pulses_before + gone

    def place(self) -> int:
        return self._bench.place + self.pulses() - self._bench.pulses_before

    def shift(self, steps: int) -> None:
        with self._hand():
            self._bench.place += steps

    def scale(self) -> int:
        return self._bench.scale_count(self.place(), 0.0)

    def changes(self) -> list[Truth]:
        with self._subject.lock:
            seen = list(self._bench.truth_seen)
            self._bench.truth_seen.clear()
        return seen

    def set_switching(self, operate_at: int, release_at: int) -> None:
        with self._hand():
            self._bench.operate_at, self._bench.release_at = operate_at, release_at

    def hold_output(self, level: bool | None) -> None:
        with self._hand():
            coming = self._drive._delayed
            before = coming[-1][1] if coming else self._drive.output_level
            self._bench.held = level
            if self._bench.output_level is not before:
                now = self._controller.now_us
                self._bench.note(Source.OUT, self._bench.output_level, self.pulses())
                coming.append((float(now), self._bench.output_level))

    def set_probe(self, closes_at: int) -> None:
        with self._hand():
            self._bench.probe_at = closes_at
            closed = self.place() >= closes_at
            if closed is not self._bench.probe_closed:
                self._bench.probe_closed = closed
                self._bench.note(Source.PROBE, closed, self.pulses())
                self._happen(Kind.PROBE, closed)

    def set_home(self, closes_at: int, opens_at: int) -> None:
        with self._hand():
            bench = self._bench
            bench.home_at, bench.home_opens_at = closes_at, opens_at
            if bench.stretch is None:
                below = opens_at - 1 if bench.home_closed else closes_at
                bench.home_closed = bench.place <= below

    def set_supply(self, present: bool) -> None:
        with self._hand():
            if present:
                self._bench.supplied = True
            else:
                self._controller._supply_until_us = self._controller.now_us

    def set_drive(self, on: bool) -> None:
        with self._hand():
            if on:
                self._bench.drive_on = True
            else:
                self._controller.lose_drive()
                self._controller._send()

    def break_wire(self, broken: Input | None) -> None:
        with self._hand():
            bench = self._bench
            if broken is None:
                bench.broken_wires.clear()
                bench.probe_closed = bench.contact_closed
                bench.home_closed = self.place() <= bench.home_at
            elif broken is Input.DRIVE:
                self._controller.lose_drive()
                self._controller._send()
            elif broken is Input.SUPPLY:
                self._controller._supply_until_us = self._controller.now_us
            else:
                source = Source.PROBE if broken is Input.PROBE else Source.HOME
                self._controller.break_wire(source)

    def has_current(self) -> bool:
        return self._controller._orders.enabled

    def set_quantity(self, quantity: Quantity, value: int) -> None:
        self._bench.told[quantity] = value

    def sensor_supply(self) -> tuple[bool, float]:
        return self._bench.switched_on, self._bench.switched_us

    def supply_set_mv(self) -> int:
        return round(self._bench.set_v * 1e3)

    def pass_time(self, seconds: float) -> None:
        self._subject.pass_time(seconds)

    def begin_late(self, time_us: int, notice: int) -> bool:
        self._subject.put_in(clock_start_us=time_us, first_notice=notice)
        return True

    def _happen(self, kind: Kind, level: bool) -> None:
        now = self._controller.now_us
        seen = Happening(
            kind=kind,
            level=level,
            count_steps=self._controller.count_steps(),
            time_us=now,
            gone_steps=self._drive._gone(now),
            scale=self._drive.scale_at(now),
        )
        self._controller._see(seen)
        self._controller._send()


class SimSubject:
    """A simulated controller in process, in lock-step."""

    latency_s = 0.0
    patient = True

    def __init__(
        self, make: MakeController = Controller, abilities: Ability = EVERYTHING
    ) -> None:
        self.name = f"simulated controller ({make.__name__})"
        self.lock = threading.RLock()
        self._make, self._abilities = make, abilities
        self._rate = 115200
        self._passed_s = 0.0
        self.put_in()

    def put_in(self, **far: int) -> None:
        with self.lock:
            self._boot = getattr(self, "_boot", 0) + 1
            bench = PlainBench()
            bench.has_scale = Ability.SCALE in self._abilities
            self.controller = self._make(
                bench,
                traits=traits_with(self._abilities),
                seed=self._boot,
                faults=NO_FAULTS,
                **far,
            )
            bench.clock = lambda: self.controller.now_us
            self.world = SimWorld(self, self.controller)
            self._read = bytearray()

    def renew(self) -> bool:
        self.put_in()
        return True

    def catch_up(self) -> None:
        """Bring the controller to the present; in lock-step it is there."""

    def clock_s(self) -> float:
        return self._passed_s

    def send(self, data: bytes) -> None:
        same = self._rate == self.controller._inbox.rate_bits_s
        self.controller.receive(data if same else b"\xff" * len(data))

    def receive(self, wait_s: float) -> bytes:
        end_us = self.controller.now_us + max(1, round(wait_s * 1e6))
        while not self._read and self.controller.now_us < end_us:
            self._to_event(end_us)
        data = bytes(self._read)
        self._read.clear()
        return data

    def pass_time(self, seconds: float) -> None:
        end_us = self.controller.now_us + round(seconds * 1e6)
        while self.controller.now_us < end_us:
            self._to_event(end_us)

    def _to_event(self, end_us: int) -> None:
        """Go to the next event: bytes count at the rate at which they went."""
        begun_us, rate = self.controller.now_us, self.controller._inbox.rate_bits_s
        next_us = self.controller.next_event_us()
        self.controller.advance_to(end_us if next_us is None else min(end_us, next_us))
        self._passed_s += (self.controller.now_us - begun_us) * 1e-6
        data = self.controller.take_output()
        self._read += data if rate == self._rate else b"\xff" * len(data)

    def set_rate(self, bits_s: int) -> bool:
        self._rate = bits_s
        return True


class Locked:
    """What a server needs of a controller, one caller at a time."""

    def __init__(self, subject: SimSubject) -> None:
        self._subject = subject

    @property
    def now_us(self) -> int:
        return self._subject.controller.now_us

    @property
    def hung_up(self) -> bool:
        return self._subject.controller.hung_up

    def advance_to(self, time_us: int) -> None:
        """Go on to a moment; a hand at the machine may have gone there meanwhile."""
        with self._subject.lock:
            controller = self._subject.controller
            controller.advance_to(max(time_us, controller.now_us))

    def __getattr__(self, name: str) -> Callable[..., object]:
        def call(*arguments: object) -> object:
            with self._subject.lock:
                return getattr(self._subject.controller, name)(*arguments)

        return call


class PtySubject(SimSubject):
    """The same on a pseudo-terminal, at real pace, reached through the port."""

    latency_s = LATENCY_S
    patient = False
    _server: Server | None = None

    def put_in(self, **far: int) -> None:
        self.close()
        super().put_in(**far)
        self._zero_s = time.monotonic()
        self._server, path = serve_pty(Locked(self))
        self._thread = threading.Thread(target=self._server.run, name="pty")
        self._thread.start()
        self._port = PortSubject(path)

    def catch_up(self) -> None:
        real_us = round((time.monotonic() - self._zero_s) * 1e6)
        self.controller.advance_to(max(self.controller.now_us, real_us))

    def close(self) -> None:
        if self._server is not None:
            self._port.__exit__(None, None, None)
            self._server.stop()
            self._thread.join()
            self._server = None

    def clock_s(self) -> float:
        return self._port.clock_s()

    def send(self, data: bytes) -> None:
        self._port.send(data)

    def receive(self, wait_s: float) -> bytes:
        return self._port.receive(wait_s)

    def set_rate(self, bits_s: int) -> bool:
        return self._port.set_rate(bits_s)


SubjectFor = Callable[..., Subject]


@pytest.fixture
def subject_for() -> SubjectFor:
    """Return a maker of subjects from a class of controllers."""
    return SimSubject


@pytest.fixture
def pty_subject_for() -> Callable[[], PtySubject]:
    """Return a maker of simulated controllers on pseudo-terminals."""
    return PtySubject


def _broken() -> ModuleType:
    """Load the package of broken controllers that lies beside this file."""
    folder = Path(__file__).parent / "broken"
    spec = importlib.util.spec_from_file_location("broken", folder / "__init__.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["broken"] = module
    spec.loader.exec_module(module)
    return module


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "broken" in metafunc.fixturenames:
        caught = _broken().CAUGHT
        # One in eight shows that the suite catches what is wrong, all show that it
        # catches everything
        cases = [
            pytest.param(
                *case,
                id=case[0].__name__,
                marks=pytest.mark.long if number % 8 else (),
            )
            for number, case in enumerate(caught.items())
        ]
        metafunc.parametrize(("broken", "caught_by"), cases)
