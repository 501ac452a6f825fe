"""Touches of the face on the probe, one after another, slow only where an edge comes.

A touch backs off a little beyond where the probe opens: that takes the backlash, the
probe's hysteresis and what both of its edges come late by. Where nothing is known of
them, the fast contact before the slow ones shows about how much that is, and the first
slow one shows it well; from then on the axis goes slowly over the last hundredths only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firmware_protocol.messages import EdgeNotice, ErrorCode, RestCause, Source
from rig.errors import BenchError, RequestRefused
from rig.model.mounted import Backlash, Datum
from rig.model.settings import BenchSettings
from rig.procedures.events import StepBegan, Tell, Touched
from rig.procedures.mover import Motion, Mover

BACK_OFF_MM = 0.4  # more than any backlash that a bench may have, and its run-up
REACH_MM = 0.5  # beyond the face, once it was found: no touch goes further
CLEAR_MM = 1.0  # from where the face should be, at a higher speed
# Slowly before an edge of the probe, and on beyond its opening: many times what a
# probe scatters by; from the second touch on nearer, by what touches before scattered
SLOW_MM = 0.02
LEAST_SLOW_MM = 0.01
_SCATTERS = 10.0  # an edge that comes sooner only costs another touch


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """What is known of bench and probe before a face is touched.

    Attributes:
        backlash_mm: Way from where the probe closes to where it opens, delays left out.
        late_mm: Travel during the delay of the probe at the speed of a slow touch.
        scatter_mm: Standard deviation of a touch.
    """

    backlash_mm: float
    late_mm: float
    scatter_mm: float


def play_of(datum: Datum, backlash: Backlash) -> Play:
    """Return what a touch-off showed of bench and probe."""
    return Play(
        backlash_mm=backlash.of_screw_mm,
        late_mm=datum.late_mm,
        scatter_mm=datum.standard_uncertainty_mm * math.sqrt(datum.n),
    )


def touches_of_face(
    mover: Mover,
    settings: BenchSettings,
    found_steps: int,
    *,
    touches: int,
    reach_steps: int,
    tell: Tell,
    play: Play | None = None,
) -> tuple[list[EdgeNotice], list[EdgeNotice]]:
    """Touch the face so many times; return the edges of the probe, closing and opening.

    Args:
        mover: The axis, at rest against the face.
        settings: How it is driven.
        found_steps: Where the probe closed at the search speed.
        touches: How many slow touches.
        reach_steps: Position that no touch goes beyond.
        tell: Told of progress.
        play: What is known of bench and probe; None if nothing is.

    Raises:
        BenchError: The probe does not do what it should.
        Stopped: Somebody stopped it.
    """
    toucher = _Toucher(mover, settings, reach_steps)
    toucher.leave(found_steps, play)
    closings: list[EdgeNotice] = []
    openings: list[EdgeNotice] = []
    for index in range(1, touches + 1):
        tell(StepBegan(what=f"touch {index} of {touches}"))
        closing, opening = toucher.touch()
        closings.append(closing)
        openings.append(opening)
        tell(Touched(index=index, wanted=touches, position_steps=closing.position))
    return closings, openings


def closings_of_known_face(
    mover: Mover,
    settings: BenchSettings,
    expected_steps: int,
    *,
    touches: int,
    reach_steps: int,
    tell: Tell,
    play: Play,
) -> list[EdgeNotice]:
    """Touch a face that was touched before; return the edges at which the probe closed.

    Where it opens is not asked for, so the way back is quick.

    Args:
        mover: The axis, before the face.
        settings: How it is driven.
        expected_steps: Where the probe should close at the speed of a slow touch.
        touches: How many slow touches.
        reach_steps: Position that no touch goes beyond.
        tell: Told of progress.
        play: What is known of bench and probe.

    Raises:
        NoContact: The probe did not close.
        BenchError: The probe does not open again.
        Stopped: Somebody stopped it.
    """
    toucher = _Toucher(mover, settings, reach_steps)
    toucher.expect(expected_steps, play)
    closings: list[EdgeNotice] = []
    for index in range(1, touches + 1):
        tell(StepBegan(what=f"touch {index} of {touches}"))
        closings.append(toucher.close_only())
        at_steps = closings[-1].position
        tell(Touched(index=index, wanted=touches, position_steps=at_steps))
    return closings


class NoContact(BenchError):
    """The probe did not close on the whole way."""


def contact_of(motion: Motion) -> EdgeNotice:
    """Return the edge at which the probe closed.

    Raises:
        NoContact: It did not.
    """
    closings = [edge for edge in motion.of(Source.PROBE) if edge.level]
    if motion.cause is not RestCause.TOUCHED or not closings:
        raise NoContact(
            "the touch probe did not close on the whole way",
            hint="check the probe and its wiring, and that a target is mounted",
        )
    return closings[-1]


class _Toucher:
    """Carries out single touches."""

    def __init__(self, mover: Mover, settings: BenchSettings, reach_steps: int) -> None:
        self._mover = mover
        self._reach_steps = reach_steps
        self._slow_mm_s = settings.touch_speed_mm_s
        # Neither needs a ramp
        self._quick_mm_s = mover.touch_speed_mm_s(settings.search_speed_mm_s)
        self._slow_steps = self._near_steps = mover.steps(SLOW_MM)
        self._far_steps = mover.steps(BACK_OFF_MM)
        self._play_steps = self._far_steps
        self._later_steps = self._late_steps = 0
        self._closing_steps: int | None = None

    def leave(self, found_steps: int, play: Play | None) -> None:
        """Back off from the contact that found the face, no farther than is due."""
        if play is not None:
            self._know(play)
            self._closing_steps = found_steps - self._later_steps
            self._back_off(found_steps, self._quick_way_back, self._quick_mm_s)
            return
        opened = self._back_off(found_steps, self._far_steps, self._quick_mm_s)
        # Edges come later at the higher speed, so this is farther than they will lie
        self._play_steps = found_steps - opened.position
        # The play of the screw has to be taken up before the probe can close again
        self._come_near(opened.position - self._slow_steps)

    def touch(self) -> tuple[EdgeNotice, EdgeNotice]:
        """Touch once; return the edges at which the probe closed and opened.

        The first is slow all the way if nobody knew where its edges would come.
        """
        first = self._closing_steps is None
        if self._closing_steps is not None:
            self._come_near(self._closing_steps - self._slow_steps)
        closing = self._close()
        if not first and self._opens_early(
            closing.position - self._play_steps + self._slow_steps
        ):
            closing = self._close()
        way = self._play_steps + self._slow_steps
        opening = self._back_off(closing.position, way, self._slow_mm_s)
        self._closing_steps = closing.position
        self._play_steps = closing.position - opening.position
        self._slow_steps = self._near_steps
        return closing, opening

    def expect(self, closing_steps: int, play: Play) -> None:
        """Come near a face that was touched before."""
        self._know(play)
        self._closing_steps = closing_steps
        motion = self._mover.touch(closing_steps - self._slow_steps, self._quick_mm_s)
        if motion.cause is RestCause.TOUCHED:
            self.leave(contact_of(motion).position, play)

    def close_only(self) -> EdgeNotice:
        """Touch once and back off quickly; return the probe's closing edge."""
        assert self._closing_steps is not None
        self._come_near(self._closing_steps - self._slow_steps)
        closing = self._close()
        self._back_off(closing.position, self._quick_way_back, self._quick_mm_s)
        self._closing_steps = closing.position
        self._slow_steps = self._near_steps
        return closing

    def _know(self, play: Play) -> None:
        late_mm = max(0.0, play.late_mm)
        near_mm = max(LEAST_SLOW_MM, min(_SCATTERS * play.scatter_mm, SLOW_MM))
        self._near_steps = self._mover.steps(near_mm)
        way_mm = max(0.0, play.backlash_mm) + 2.0 * late_mm
        self._play_steps = self._mover.steps(way_mm)
        self._late_steps = self._mover.steps(late_mm)
        later = self._quick_mm_s / self._slow_mm_s - 1.0
        self._later_steps = max(0, self._mover.steps(later * late_mm))

    @property
    def _quick_way_back(self) -> int:
        """Way in which the probe opens at the quick speed, at which it is later."""
        return self._later_steps + self._play_steps + self._slow_steps

    def _close(self) -> EdgeNotice:
        """Touch slowly; once more from afar if the quick way may have met the face.

        The probe is late, so its edge comes at rest then, or within the travel of its
        delay.
        """
        began_steps = self._mover.position_steps
        try:
            closing = self._met()
        except RequestRefused as exc:
            if exc.code != ErrorCode.PROBE_CLOSED:
                raise
        else:
            if closing.position - began_steps > self._late_steps + 1:
                return closing
        here_steps = self._mover.position_steps
        self._back_off(here_steps, self._far_steps, self._slow_mm_s)
        return self._met()

    def _met(self) -> EdgeNotice:
        return contact_of(self._mover.touch(self._reach_steps, self._slow_mm_s))

    def _come_near(self, target_steps: int) -> None:
        """Go quickly to before a contact; from an early one, back off far."""
        if target_steps <= self._mover.position_steps:
            return
        motion = self._mover.touch(target_steps, self._quick_mm_s)
        if motion.cause is RestCause.TOUCHED:
            at_steps = contact_of(motion).position
            self._back_off(at_steps, self._far_steps, self._slow_mm_s)

    def _opens_early(self, target_steps: int) -> bool:
        """Go quickly to before the opening; return whether it came on that way.

        An opening at another speed is late by another way, so it says nothing.
        """
        if target_steps >= self._mover.position_steps:
            return False
        motion = self._mover.go(target_steps, self._quick_mm_s)
        return any(not edge.level for edge in motion.of(Source.PROBE))

    def _back_off(
        self, from_steps: int, way_steps: int, speed_mm_s: float
    ) -> EdgeNotice:
        """Back off until the probe has opened; return the edge at which it did.

        Raises:
            BenchError: It did not open.
        """
        lowest = self._mover.traits.travel_low_steps
        for way in (way_steps, self._far_steps):
            motion = self._mover.go(max(from_steps - way, lowest), speed_mm_s)
            openings = [edge for edge in motion.of(Source.PROBE) if not edge.level]
            if openings:
                return openings[0]
        raise BenchError(
            f"the touch probe did not open within {BACK_OFF_MM} mm of leaving it",
            hint="the probe sticks, its wire is broken, or the backlash is far too"
            " large",
        )
