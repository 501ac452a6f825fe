"""What to do with a trimmer, reasoned from the output and from what was done so far.

Pure: knows no axis, no clock, no screen. Which way a screw turns is not known of a
sensor; it is learnt from what the output, or a check, did after a turn.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

TOLERANCE_MM: Final = 0.05
# A change between two checks below this may be noise and steps, so it teaches nothing
_TELLING_MM: Final = 0.01


class Screw(StrEnum):
    """Which way the screw is turned, seen from its head."""

    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"


class Turn(StrEnum):
    """What is to be done to the sensitivity."""

    MORE = "more sensitive"
    LESS = "less sensitive"
    LEAVE = "leave it"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimmerCheck:
    """What a short approach around the gap showed.

    Attributes:
        operate_mm: Mean gap at which the output operated, delay still in it; None if
            it did not, down to the nearest gap.
        range_mm: Largest less smallest of them; None for fewer than two.
        n: Approaches.
        always_on: Whether the output was operated even far away.
    """

    operate_mm: float | None
    range_mm: float | None
    n: int
    always_on: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimmerAdvice:
    """What to do now.

    Attributes:
        wanted_mm: Gap at which the output is to operate.
        operated: Whether it is operated, with the target held there.
        turn: What is to be done to the sensitivity.
        screw: Direction in which to turn the screw; None as long as that is not learnt.
        turns_about: How many turns like those so far; None if that cannot be told.
        confirm: Whether it is time to check.
        settled: Whether the last check found the gap within the tolerance, and the
            screw has been left alone since.
        check: The last check; None before the first.
        sentence: All this in words.
    """

    wanted_mm: float
    operated: bool
    turn: Turn
    screw: Screw | None
    turns_about: float | None
    confirm: bool
    settled: bool
    check: TrimmerCheck | None
    sentence: str


class TrimmerGuide:
    """Follows one setting of a trimmer and advises.

    Args:
        wanted_mm: Gap at which the output is to operate.
        tolerance_mm: How far from it is good enough.
    """

    def __init__(self, wanted_mm: float, tolerance_mm: float = TOLERANCE_MM) -> None:
        self._wanted_mm = wanted_mm
        self._tolerance_mm = tolerance_mm
        self._operated: bool | None = None
        self._came_up = False
        self._more: Screw | None = None
        self._mm_per_turn: float | None = None
        self._turns_since_change: list[float] = []
        self._turns_since_check: list[float] = []
        self._check: TrimmerCheck | None = None

    def see(self, operated: bool) -> None:
        """Take the state of the output with the target held at the gap."""
        before, self._operated = self._operated, operated
        if before is None or before is operated:
            return
        self._came_up = operated
        self._learn(self._turns_since_change, more=operated)
        self._turns_since_change = []

    def turned(self, screw: Screw, turns: float = 1.0) -> None:
        """Take what the user did to the screw; any unit that stays the same."""
        signed = turns if screw is Screw.CLOCKWISE else -turns
        self._turns_since_change.append(signed)
        self._turns_since_check.append(signed)

    def checked(self, check: TrimmerCheck) -> None:
        """Take a check; the target is held at the gap again afterwards."""
        before, self._check = self._check, check
        turns, self._turns_since_check = self._turns_since_check, []
        # The output changed because the target moved, which says nothing of the screw
        self._operated, self._came_up = None, False
        self._turns_since_change = []
        if before is None or before.operate_mm is None or check.operate_mm is None:
            return
        change_mm = check.operate_mm - before.operate_mm
        if abs(change_mm) < _TELLING_MM or not sum(turns):
            return
        self._learn(turns, more=change_mm > 0)
        self._mm_per_turn = abs(change_mm / sum(turns))

    def advice(self) -> TrimmerAdvice:
        """Return what to do now."""
        check = None if self._turns_since_check or self._came_up else self._check
        off_mm = self._off_mm(check)
        settled = off_mm is not None and abs(off_mm) <= self._tolerance_mm
        turn, confirm, words = self._reasoned(check, off_mm)
        screw = self._screw_for(turn)
        about = self._turns_for(off_mm) if turn is not Turn.LEAVE else None
        return TrimmerAdvice(
            wanted_mm=self._wanted_mm,
            operated=bool(self._operated),
            turn=turn,
            screw=screw,
            turns_about=about,
            confirm=confirm,
            settled=settled,
            check=self._check,
            sentence=words + _which_way(turn, screw, about),
        )

    # ------------------------------------------------------------------- insides

    def _off_mm(self, check: TrimmerCheck | None) -> float | None:
        """Return how far the last check was too sensitive; None without one."""
        if check is None or check.operate_mm is None:
            return None
        return check.operate_mm - self._wanted_mm

    def _reasoned(
        self, check: TrimmerCheck | None, off_mm: float | None
    ) -> tuple[Turn, bool, str]:
        if off_mm is not None and abs(off_mm) <= self._tolerance_mm:
            words = (
                "The output operates at the wanted gap. Lock the screw, hands clear,"
                " then check once more."
            )
            return Turn.LEAVE, False, words
        if check is not None and check.always_on:
            return Turn.LESS, False, "The output stays on even far away."
        if off_mm is not None and off_mm > 0:
            words = (
                f"It operates {off_mm:.2f} mm too far out. Turn a little, hands clear,"
                " then check; or turn until it releases, and back."
            )
            return Turn.LESS, False, words
        if self._operated and self._came_up:
            words = "The output sits on the edge. Hands clear, then check."
            return Turn.LEAVE, True, words
        if self._operated:
            words = "Turn until the output releases, then back until it just operates."
            return Turn.LESS, False, words
        if off_mm is not None:
            return Turn.MORE, False, f"It operates {-off_mm:.2f} mm too near."
        return Turn.MORE, False, "Turn until the output just operates, then stop."

    def _learn(self, turns: list[float], *, more: bool) -> None:
        """Learn from turns that all went one way what that way does."""
        one_way = turns and (all(t > 0 for t in turns) or all(t < 0 for t in turns))
        if one_way:
            clockwise_is_more = (turns[0] > 0) is more
            self._more = Screw.CLOCKWISE if clockwise_is_more else Screw.ANTICLOCKWISE

    def _screw_for(self, turn: Turn) -> Screw | None:
        if self._more is None or turn is Turn.LEAVE:
            return None
        if turn is Turn.MORE:
            return self._more
        return _OTHER[self._more]

    def _turns_for(self, off_mm: float | None) -> float | None:
        if off_mm is None or self._mm_per_turn is None:
            return None
        return abs(off_mm) / self._mm_per_turn


_OTHER = {
    Screw.CLOCKWISE: Screw.ANTICLOCKWISE,
    Screw.ANTICLOCKWISE: Screw.CLOCKWISE,
}


def _which_way(turn: Turn, screw: Screw | None, about: float | None) -> str:
    if turn is Turn.LEAVE:
        return ""
    if screw is None:
        return f" That is {turn}; which way to turn is not known yet."
    count = "" if about is None else f", about {about:.1f} turns like those before"
    return f" That is {turn}: {screw}{count}."
