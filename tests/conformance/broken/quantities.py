"""Wrong about quantities and controls."""

from __future__ import annotations

from typing import Any

from firmware_protocol.messages import (
    Answer,
    Control,
    ErrorCode,
    Fault,
    Input,
    PutRequest,
    Quantity,
    ReadAnswer,
    ReadRequest,
    Request,
)
from sim.requests import Desk

from .base import Wrong


class ReadsOnce(Wrong):
    """A quantity is what it was when it was first read."""

    def _start(self, *arguments: Any) -> None:
        self._first: dict[Quantity, int] = {}
        super()._start(*arguments)

    def read(self, quantity: Quantity) -> int:
        return self._first.setdefault(quantity, super().read(quantity))


class TellingDesk(Desk):
    def _unable(self, request: Request) -> Any:
        return None if isinstance(request, ReadRequest) else super()._unable(request)

    def _read(self, request: ReadRequest) -> Answer:
        if request.index in self._settings.traits.readable:
            return super()._read(request)
        return ReadAnswer(number=request.number, index=request.index, value=0)


class ReadsAnything(Wrong):
    """What is not there reads 0."""

    desk = TellingDesk

    def _start(self, *arguments: Any) -> None:
        super()._start(*arguments)
        self._desk._carry[ReadRequest] = self._desk._read


class RestingDesk(Desk):
    def _bad_state(self, request: Request) -> Any:
        if isinstance(request, ReadRequest) and self._orders.busy:
            return ErrorCode.BUSY, 0
        return super()._bad_state(request)


class ReadsAtRest(Wrong):
    """No quantity is told in motion."""

    desk = RestingDesk


class TakingDesk(Desk):
    def _out_of_bounds(self, request: Request) -> Any:
        if isinstance(request, PutRequest):
            return None
        return super()._out_of_bounds(request)


class PutsAnything(Wrong):
    """Each value of a control is taken."""

    desk = TakingDesk


class PutsNothing(Wrong):
    """`put` is answered, and nothing is set."""

    def put(self, control: Control, value: int) -> int:
        return self.clock(self.now_us)


class TellsLate(Wrong):
    """The time in the answer to `put` is up to 2 ms late."""

    def put(self, control: Control, value: int) -> int:
        return super().put(control, value) + 2000 * (value & 1)


class FaultsOnSwitching(Wrong):
    """A supply that was switched off is taken for lost."""

    def put(self, control: Control, value: int) -> int:
        time = super().put(control, value)
        if control is Control.SENSOR_SUPPLY and not value:
            self._orders.fail(Fault.SUPPLY_LOST, self.now_us)
        return time


class NoLongerWatches(Wrong):
    """Once the supply was switched, its loss is no fault any more."""

    def put(self, control: Control, value: int) -> int:
        self._orders.fail = lambda *_: None
        return super().put(control, value)


class BusyDesk(Desk):
    def _bad_state(self, request: Request) -> Any:
        found = super()._bad_state(request)
        return None if isinstance(request, PutRequest) else found


class PutsInMotion(Wrong):
    """The supply is switched under way."""

    desk = BusyDesk


class StaysOff(Wrong):
    """A restart leaves the supply as it was."""

    def _start(self, *arguments: Any) -> None:
        was_on = self.bench.switched_on
        super()._start(*arguments)
        self._drive.switch_supply(was_on, self.now_us)


class KeepsVoltage(Wrong):
    """A restart leaves the supply's voltage as it was."""

    def _start(self, *arguments: Any) -> None:
        before = self.bench.set_v
        super()._start(*arguments)
        self.bench.set_v = before


class HidesSwitch(Wrong):
    """`inputs` tell a supply that was switched off as there."""

    def inputs(self) -> int:
        return super().inputs() | (Input.SUPPLY if self.bench.supplied else 0)


CAUGHT: dict[type[Wrong], str] = {
    ReadsOnce: "7.21 11.24 11.25 11.26",
    ReadsAnything: "7.22",
    ReadsAtRest: "7.23",
    PutsAnything: "7.25 7.26",
    PutsNothing: "7.26 7.27 7.28 7.29",
    TellsLate: "7.28 7.29",
    FaultsOnSwitching: "7.30",
    NoLongerWatches: "7.30",
    PutsInMotion: "7.31",
    StaysOff: "7.32",
    KeepsVoltage: "7.33",
    HidesSwitch: "7.27",
}
