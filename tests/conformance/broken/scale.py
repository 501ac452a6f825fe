"""Wrong about the scale."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from firmware_protocol.messages import Ability, Quantity, Source, State, Trait
from sim.drive import Drive, Happening
from sim.ring import Ring
from sim.settings import Settings

from .base import Wrong

LATE_US = 5000


class LateDrive(Drive):
    def scale_at(self, time_us: float) -> int | None:
        return super().scale_at(time_us - LATE_US if self.moving else time_us)


class LatchesScaleLate(Wrong):
    """The scale of an edge is that of another instant, 5 ms off."""

    drive = LateDrive


class CountingDrive(Drive):
    def scale_at(self, time_us: float) -> int | None:
        return self.count_at(time_us) * 5 // 4


class ScaleOfSteps(Wrong):
    """The scale is worked out from the steps."""

    drive = CountingDrive


class KeepingDrive(Drive):
    def set_scale_zero(self, seen: Happening | None) -> None:
        if seen is None:
            super().set_scale_zero(None)


class KeepsScaleAtHome(Wrong):
    """`home` leaves the scale's count as it was."""

    drive = KeepingDrive


class ClippingRing(Ring):
    __slots__ = ()

    def edge(
        self,
        source: Source,
        level: bool,
        count_steps: int,
        clock: int,
        scale: int | None = None,
    ) -> None:
        if scale is not None:
            apart = min(max(scale - count_steps, -32768), 32767)
            scale = count_steps + apart
        super().edge(source, level, count_steps, clock, scale)


class ClipsScale(Wrong):
    """A difference beyond 16 bits stays at the end of its range."""

    ring = ClippingRing


class SilentRing(Ring):
    __slots__ = ()

    def edge(self, *arguments: Any) -> None:
        super().edge(*arguments[:4])


class LeavesScaleOut(Wrong):
    """Edges end with their time though there is a scale."""

    ring = SilentRing


class UnableToScale(Wrong):
    """There is a scale in edges that nothing else tells of."""

    def _start(self, *arguments: Any) -> None:
        traits = self._settings.traits
        able = traits.abilities & ~Ability.SCALE
        self._settings.traits = replace(traits, abilities=able)
        super()._start(*arguments)


class MuteSettings(Settings):
    __slots__ = ()

    def value(self, index: int) -> int | None:
        return 0 if index == Trait.SCALE_PER_M else super().value(index)


class TellsNoScalePerM(Wrong):
    """SCALE_PER_M is 0 though there is a scale."""

    def _start(self, *arguments: Any) -> None:
        self._settings.__class__ = MuteSettings
        super()._start(*arguments)


class CountsNotInHeld(Wrong):
    """The scale is not counted in `held`."""

    _held_count: int | None = None

    def read(self, quantity: Quantity) -> int:
        if quantity is not Quantity.SCALE or self._orders.state is not State.HELD:
            self._held_count = None
            return super().read(quantity)
        if self._held_count is None:
            self._held_count = super().read(quantity)
        return self._held_count


CAUGHT: dict[type[Wrong], str] = {
    LatchesScaleLate: "11.23 11.24",
    ScaleOfSteps: "11.25 11.26",
    KeepsScaleAtHome: "11.24",
    ClipsScale: "11.25",
    LeavesScaleOut: "11.22 11.23 11.24 11.25",
    UnableToScale: "11.21",
    TellsNoScalePerM: "7.38 11.23",
    CountsNotInHeld: "11.26",
}
