"""Simulated rigs for the procedures, with an eye on the wire and on the carriage."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pytest

from firmware_protocol import Receiver
from firmware_protocol.messages import (
    FenceRequest,
    GoRequest,
    Request,
    TouchRequest,
)
from rig.catalogue.catalogue import Catalogue, load_catalogue
from rig.link.link import Link
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import RunResult, carry_out_run
from rig.procedures.events import Event, SweepEnded, Tell
from rig.procedures.mover import Mover
from rig.procedures.ready_bench import Bench
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.procedures.touch_off import touch_off
from rig.records import Reader, Store, Writer, open_records
from rig.wiring import SimTransport
from sim.device import Controller
from sim.machine import Truth
from sim.options import build, read_options
from tests.declared_benches import FINE_BENCH, FINE_RIG


class WatchedTransport(SimTransport):
    """Keeps what is written, and how near the target came to the face.

    Attributes:
        requests: Every request that was written.
        nearest_mm: Smallest true gap.
        nearest_fenced_mm: The same outside touch-off: without what was between an order
            to touch and the soft limit that was set next.
        on_read: Called with the link's time before every read.
        fenced_gos: Targets of motions outside touch-off, likewise.
        touches_from: Where the axis stood when each touch was ordered.
        contacts_mm_s: Speed ordered of each motion toward the face that ended with the
            probe closed.
    """

    def __init__(self, controller: Controller) -> None:
        super().__init__("sim://", controller, real_pace=False)
        self.requests: list[Request] = []
        self.nearest_mm = float("inf")
        self.nearest_fenced_mm = float("inf")
        self.on_read: Callable[[float], None] = lambda _: None
        self.fenced_gos: list[int] = []
        self.touches_from: list[int] = []
        self.contacts_mm_s: list[float] = []
        self._ordered_mm_s = 0.0
        self._decoder = Receiver()
        self._in_touch_off = False
        bench = controller.bench
        finish = bench.finish

        def finish_and_look(stretch, steps):
            before_mm = bench._carriage_mm
            finish(stretch, steps)
            if bench.contact_closed and bench._carriage_mm > before_mm:
                self.contacts_mm_s.append(self._ordered_mm_s)
            # Within a stretch the carriage goes one way, so its ends are the extremes
            gap_mm = bench.machine.face_mm - bench._carriage_mm
            self.nearest_mm = min(self.nearest_mm, gap_mm)
            if not self._in_touch_off:
                self.nearest_fenced_mm = min(self.nearest_fenced_mm, gap_mm)

        bench.finish = finish_and_look  # type: ignore[method-assign]

    def read(self, longest_wait_s: float) -> bytes:
        self.on_read(self.now_s())
        return super().read(longest_wait_s)

    def write(self, data: bytes) -> None:
        for item in self._decoder.feed(data):
            if isinstance(item, Request):
                self.requests.append(item)
            if isinstance(item, GoRequest) and not self._in_touch_off:
                self.fenced_gos.append(item.target)
            if isinstance(item, TouchRequest):
                self.touches_from.append(self._controller.bench._motor_steps)
            if isinstance(item, TouchRequest | GoRequest):
                scale = self._controller.bench.machine.steps_per_mm
                self._ordered_mm_s = item.speed / scale
            if isinstance(item, TouchRequest | FenceRequest):
                self._in_touch_off = isinstance(item, TouchRequest)
        super().write(data)


@dataclass(kw_only=True)
class SimRig:
    """A simulated rig that has answered the greeting."""

    controller: Controller
    transport: WatchedTransport
    mover: Mover
    settings: BenchSettings
    catalogue: Catalogue
    told: list[Event] = field(default_factory=list)

    def truth(self) -> Truth:
        return self.controller.truth()

    def gos(self) -> list[GoRequest]:
        return [r for r in self.transport.requests if isinstance(r, GoRequest)]

    def touch_off(self) -> Bench:
        return touch_off(
            self.mover, self.settings, self.told.append, declared=FINE_BENCH
        )

    def true_gap_mm(self) -> float:
        bench = self.controller.bench
        return bench.machine.face_mm - bench._carriage_mm

    def order(
        self,
        sensor: str = "level-18",
        target: str = "steel",
        *,
        sweeps: int = 4,
        speeds_mm_s: tuple[float, ...] = (1.0, 4.0),
    ) -> RunOrder:
        return RunOrder(
            sensor=self.catalogue.sensor(sensor),
            target=self.catalogue.target(target),
            sweeps=sweeps,
            speeds_mm_s=speeds_mm_s,
        )

    def context(
        self, writer: Writer, tell: Tell | None = None, **changes: Any
    ) -> RunContext:
        # The system's randomness for identities: runs may begin in one millisecond
        made = RunContext.on(
            self.mover, self.settings, writer._store, tell or self.told.append
        )
        return replace(made, **changes)

    def run(
        self,
        bench: Bench,
        order: RunOrder,
        writer: Writer,
        *,
        unfinished: Run | None = None,
        **changes: Any,
    ) -> RunResult:
        context = self.context(writer, **changes)
        return carry_out_run(bench, order, context, unfinished=unfinished)

    def sweeps_told(self) -> list[SweepEnded]:
        return [event for event in self.told if isinstance(event, SweepEnded)]

    def at_time(self, when_s: float, action: Callable[[], None]) -> None:
        """Do something once the link's clock has come so far."""

        def act(now_s: float) -> None:
            if now_s >= when_s:
                self.transport.on_read = lambda _: None
                action()

        self.transport.on_read = act


MakeRig = Callable[..., SimRig]


def simulated(settings: BenchSettings | None = None, **words: object) -> SimRig:
    """Return a greeted simulated rig, a fine one where these options say nothing."""
    chosen = settings or BenchSettings()
    options = {name: str(value) for name, value in words.items()}
    fine = {} if "bench" in options else FINE_RIG
    controller = build(read_options({**fine, **options}))
    transport = WatchedTransport(controller)
    link = Link(transport)
    mover = Mover(link, link.greet(), acceleration_mm_s2=chosen.acceleration_mm_s2)
    return SimRig(
        controller=controller,
        transport=transport,
        mover=mover,
        settings=chosen,
        catalogue=load_catalogue(),
    )


@pytest.fixture
def make_rig() -> MakeRig:
    return simulated


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "measured.sqlite") as store:
        yield store


@pytest.fixture
def writer(store: Store) -> Writer:
    return Writer(store)


@pytest.fixture
def reader(store: Store) -> Reader:
    return Reader(store)
