"""Wrong about the motor's drive and current, broken wires and short pulses."""

from __future__ import annotations

from typing import Any

from firmware_protocol.messages import (
    Fault,
    FreeRequest,
    Input,
    RearmRequest,
    Source,
    State,
)
from sim.drive import Happening
from sim.orders import Orders
from sim.requests import Desk

from .base import Wrong


class IgnoresDrive(Wrong):
    """The loss of the drive is seen in `inputs` and stops nothing."""

    def lose_drive(self) -> None:
        self.bench.drive_on = False

    def _start(self, *arguments: Any) -> None:
        was_on, self.bench.drive_on = self.bench.drive_on, True
        super()._start(*arguments)
        self.bench.drive_on = was_on


class StartsWithoutDrive(Wrong):
    """A start without the drive is no fault."""

    def _start(self, *arguments: Any) -> None:
        was_on, self.bench.drive_on = self.bench.drive_on, True
        super()._start(*arguments)
        self.bench.drive_on = was_on


class TrustingOrders(Orders):
    def fail(self, fault: Fault, now_us: int) -> None:
        kept = (self.homed, self.fence) if not self.busy else (False, None)
        super().fail(fault, now_us)
        self.homed, self.fence = kept


class KeepsHomeWithoutDrive(Wrong):
    """The loss of the drive at rest keeps home and soft limits."""

    orders = TrustingOrders


class RearmingDesk(Desk):
    def _out_of_bounds(self, request: Any) -> Any:
        if isinstance(request, RearmRequest):
            return None
        return super()._out_of_bounds(request)


class RearmsWithoutDrive(Wrong):
    """`rearm` leads out of `held` while the drive is off."""

    desk = RearmingDesk


class CoastingOrders(Orders):
    def fail(self, fault: Fault, now_us: int) -> None:
        if fault is Fault.DRIVE_LOST and self._drive.moving:
            self._drive.end_after(0, now_us)  # with a ramp
            self._coasting = True
        else:
            super().fail(fault, now_us)

    def _end(self, now_us: int) -> None:
        if getattr(self, "_coasting", False):
            self._coasting = False
            super().fail(Fault.DRIVE_LOST, now_us)
        else:
            super()._end(now_us)


class RampsWithoutDrive(Wrong):
    """The loss of the drive lets the axis come to rest with a ramp."""

    orders = CoastingOrders


class PoweredOrders(Orders):
    def fail(self, fault: Fault, now_us: int) -> None:
        enabled = self.enabled
        super().fail(fault, now_us)
        self.enabled = enabled


class KeepsCurrentWithoutDrive(Wrong):
    """The loss of the drive leaves the enable output on."""

    orders = PoweredOrders


class CurrentFromTheStart(Wrong):
    """The motor has its current from the start on."""

    def _start(self, *arguments: Any) -> None:
        super()._start(*arguments)
        self._orders.enabled = True


class FreeKeepsCurrent(Wrong):
    """`free` gives up the home and leaves the current."""

    def _start(self, *arguments: Any) -> None:
        super()._start(*arguments)
        free = self._desk._carry[FreeRequest]

        def wrong(request: FreeRequest) -> Any:
            answer = free(request)
            self._orders.enabled = True
            return answer

        self._desk._carry[FreeRequest] = wrong


class FreeKeepsHome(Wrong):
    """`free` takes the current away and keeps the home."""

    class orders(Orders):
        def free(self) -> State:
            kept = (self.state, self.homed, self.fence)
            super().free()
            self.state, self.homed, self.fence = kept
            return self.state


class FreeingDesk(Desk):
    def _bad_state(self, request: Any) -> Any:
        if isinstance(request, FreeRequest):
            return None
        return super()._bad_state(request)


class FreesInMotion(Wrong):
    """`free` is carried out in motion."""

    desk = FreeingDesk


class NeverRests(Wrong):
    """A long rest leaves the motor its current."""

    def _enabled_until_us(self) -> int | None:
        return None


class TurnsOnSpikes(Wrong):
    """Every change counts for the turn, however short."""

    class orders(Orders):
        def counts_at_us(self) -> int | None:
            return None if self._pending is None else self._pending.time_us

        def _count_edge(self, seen: Happening) -> None:
            order = self._order
            if order is not None and order.edges_left:
                self._pending = seen
                self.count_pending(seen.time_us)


class CountsFromTheEnd(Wrong):
    """The turn counts from where the level had lasted long enough."""

    class orders(Orders):
        def count_pending(self, now_us: int) -> None:
            assert self._order is not None
            self._order.overrun_steps += 3
            super().count_pending(now_us)


def _deaf_to(source: Source) -> type[Wrong]:
    class Deaf(Wrong):
        def break_wire(self, broken: Source) -> None:
            if broken is not source:
                super().break_wire(broken)

    return Deaf


class BlindToProbeWire(_deaf_to(Source.PROBE)):
    """A broken wire of the touch probe reads as open."""


class BlindToHomeWire(_deaf_to(Source.HOME)):
    """A broken wire of the home switch reads as open."""


class BlindToSupply(Wrong):
    """The loss of the supply is no fault."""

    def _go_wrong(self, now: int) -> None:
        if self._supply_until_us is not None:
            self._supply_until_us = None
            self._drive.cut_supply(now)
        else:
            super()._go_wrong(now)


class ProbeAlwaysSeen(Wrong):
    """It claims a proof of the touch probe that nobody gave."""

    def inputs(self) -> int:
        return super().inputs() | Input.PROBE_SEEN


CAUGHT: dict[type[Wrong], str] = {
    IgnoresDrive: "8.17 10.60 10.61 10.62 10.63 10.64 10.65 10.82",
    StartsWithoutDrive: "10.65",
    KeepsHomeWithoutDrive: "8.17 10.62 10.63",
    RearmsWithoutDrive: "10.60 10.61 10.62 10.63 10.64 10.65 10.82",
    RampsWithoutDrive: "10.60 10.61",
    KeepsCurrentWithoutDrive: "8.17",
    CurrentFromTheStart: "8.15",
    FreeKeepsCurrent: "8.15",
    FreeKeepsHome: "8.13 8.16",
    FreesInMotion: "8.3 8.14",
    NeverRests: "8.16",
    TurnsOnSpikes: "10.70",
    CountsFromTheEnd: "10.10 10.11 10.16 10.71",
    BlindToProbeWire: "10.80",
    BlindToHomeWire: "10.81",
    BlindToSupply: "7.30 8.11 8.12 10.52 10.83 11.19",
    ProbeAlwaysSeen: "10.27",
}
