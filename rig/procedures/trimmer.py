"""Setting a trimmer: the target rests at the wanted gap while a hand turns the screw.

Nothing moves while a hand may be at the sensor: the axis goes to the gap, rests there,
and moves again only for a check that the user asks for with hands clear. What a check
gives is an aid for setting, without uncertainty; the figure comes from sweeps.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from firmware_protocol.messages import Input, RestCause, Source, State
from rig.analysis.edges.quality import operated_level
from rig.errors import InputError, MotionFault, Stopped
from rig.model.mounted import Sensor
from rig.procedures.events import StepBegan, Tell
from rig.procedures.locate import start_gap_mm
from rig.procedures.mover import Motion
from rig.procedures.ready_bench import Bench
from rig.procedures.trimmer_guide import Screw, TrimmerCheck, TrimmerGuide

CHECK_SPEED_MM_S = 1.0
_APPROACHES = 3
_POLL_S = 0.05
_RUN_UP_MM = 0.3  # before the place where the coarse approach saw the edge
_OVERRUN_MM = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """The user turned the screw.

    Attributes:
        screw: Direction in which the screw was turned.
        turns: How far, in any unit that stays the same.
    """

    screw: Screw
    turns: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """Hands are clear: approach the gap and see where the output operates."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """Leave the trimmer as it is."""


Wish = Turned | Check | Finish
NextWish = Callable[[float], Wish | None]


def _turn_by_hand(_wish: Turned) -> None:
    """Turn nothing: on a real rig the hand has done it."""


def set_trimmer(
    bench: Bench,
    sensor: Sensor,
    wanted_mm: float,
    next_wish: NextWish,
    tell: Tell,
    *,
    turn: Callable[[Turned], None] = _turn_by_hand,
) -> None:
    """Hold the target at a gap and advise until the user has had enough.

    Args:
        bench: Touched off.
        sensor: Sensor that is mounted.
        wanted_mm: Gap at which its output is to operate.
        next_wish: Waits at most so many seconds for a wish of the user.
        tell: Told `TrimmerAdvice` whenever it changes.
        turn: Turns the screw where no hand can: on the simulated rig.

    Raises:
        InputError: The gap cannot be held.
        BenchError: The stroke is too short.
        MotionFault: A motion ended badly, or the controller holds the axis.
        Stopped: Somebody stopped it.
    """
    holder = _Holder(bench, sensor, wanted_mm, tell)
    guide = TrimmerGuide(wanted_mm)
    holder.hold()
    told = None
    while True:
        guide.see(holder.operated())
        advice = guide.advice()
        if advice != told:
            told = advice
            tell(advice)
        wish = next_wish(_POLL_S)
        match wish:
            case Turned():
                turn(wish)
                guide.turned(wish.screw, wish.turns)
            case Check():
                guide.checked(holder.check())
                holder.hold()
            case Finish():
                return


class _Holder:
    """Takes the target to the gap, and looks where the output operates."""

    def __init__(
        self, bench: Bench, sensor: Sensor, wanted_mm: float, tell: Tell
    ) -> None:
        nearest_mm = bench.gap_mm(bench.nearest_steps)
        self._far_mm = start_gap_mm(bench, sensor)
        if not nearest_mm + _OVERRUN_MM <= wanted_mm <= self._far_mm - _OVERRUN_MM:
            raise InputError(
                f"the gap {wanted_mm:g} mm cannot be held",
                hint=f"for {sensor.name} give {nearest_mm + _OVERRUN_MM:.2f} to "
                f"{self._far_mm - _OVERRUN_MM:.2f} mm",
            )
        self._bench = bench
        self._wanted_mm = wanted_mm
        self._level = operated_level(sensor.output)
        self._tell = tell

    def hold(self) -> None:
        """Go to the gap from afar, so that the play is on the side of an approach."""
        self._tell(StepBegan(what=f"holding the target at {self._wanted_mm:g} mm"))
        self._go(self._far_mm)
        self._go(self._wanted_mm)

    def operated(self) -> bool:
        """Return whether the output is operated; keeps the link alive."""
        link = self._bench.mover.link
        while link.next_notice(0) is not None:
            pass
        look = link.look()
        if link.stop_asked:
            raise Stopped("stopped on request")
        if look.state is State.HELD:
            raise MotionFault(
                "the controller holds the axis",
                hint="check supply and link, then begin again",
            )
        return bool(Input.OUT & look.inputs) is self._level

    def check(self) -> TrimmerCheck:
        """Approach a few times and return where the output operated."""
        self._tell(StepBegan(what="checking where the output operates"))
        self._go(self._far_mm)
        if self.operated():
            return TrimmerCheck(operate_mm=None, range_mm=None, n=1, always_on=True)
        coarse_mm = self._approach(self._bench.settings.coarse_speed_mm_s)
        if coarse_mm is None:
            return TrimmerCheck(operate_mm=None, range_mm=None, n=1)
        found = []
        for _ in range(_APPROACHES):
            self._go(self._far_mm)
            self._go(min(coarse_mm + _RUN_UP_MM, self._far_mm))
            operate_mm = self._approach(CHECK_SPEED_MM_S)
            if operate_mm is not None:
                found.append(operate_mm)
        if not found:
            return TrimmerCheck(operate_mm=None, range_mm=None, n=_APPROACHES)
        return TrimmerCheck(
            operate_mm=sum(found) / len(found),
            range_mm=max(found) - min(found) if len(found) > 1 else None,
            n=len(found),
        )

    def _go(self, gap_mm: float) -> Motion:
        bench = self._bench
        speed_mm_s = bench.settings.coarse_speed_mm_s
        return bench.mover.go(bench.position_steps(gap_mm), speed_mm_s)

    def _approach(self, speed_mm_s: float) -> float | None:
        """Approach until the output operates; return the gap, None if it does not."""
        bench = self._bench
        motion = bench.mover.go(
            bench.nearest_steps,
            speed_mm_s,
            edges=1,
            overrun_steps=bench.mover.steps(_OVERRUN_MM),
        )
        edges = [e for e in motion.of(Source.OUT) if e.level is self._level]
        if motion.cause is not RestCause.TURN or not edges:
            return None
        # The middle of the interval that ends at the latched step
        return bench.gap_mm(edges[0].position - 0.5)
