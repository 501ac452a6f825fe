"""When each step pulse of a move comes: constant acceleration, closed form.

Knows steps and seconds; knows no direction, no position and no machine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

# A pulse is taken as given this small part of a step early, so that an instant
# that falls on a pulse by arithmetic counts it whatever the rounding.
_TIE_STEPS: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """A move of whole steps from rest to rest.

    Speed rises at a constant rate, cruises, and falls at the same rate; where the
    way is too short for that it is a triangle. Pulse n comes when the ideal motion
    has gone n steps.

    Attributes:
        steps: Length of the move, 0 or more.
        speed_steps_s: Speed to cruise at.
        acceleration_steps_s2: Acceleration of both ramps; None for a move without
            ramps.
    """

    steps: int
    speed_steps_s: float
    acceleration_steps_s2: float | None = None

    @property
    def ramp_steps(self) -> float:
        """Length of each ramp."""
        if self.acceleration_steps_s2 is None:
            return 0.0
        full = self.speed_steps_s**2 / (2.0 * self.acceleration_steps_s2)
        return min(full, self.steps / 2.0)

    @property
    def peak_steps_s(self) -> float:
        """Highest speed that the move reaches."""
        if self.acceleration_steps_s2 is None:
            return self.speed_steps_s
        return min(
            self.speed_steps_s, math.sqrt(self.acceleration_steps_s2 * self.steps)
        )

    @property
    def seconds(self) -> float:
        """How long the move takes, up to its last pulse."""
        return self.seconds_at(float(self.steps))

    def seconds_at(self, steps: float) -> float:
        """Return when the motion has gone so many steps, from 0 to `steps`."""
        acceleration = self.acceleration_steps_s2
        if acceleration is None or self.steps == 0:
            return steps / self.speed_steps_s
        ramp, peak = self.ramp_steps, self.peak_steps_s
        rising = math.sqrt(2.0 * min(steps, ramp) / acceleration)
        level = min(max(steps - ramp, 0.0), self.steps - 2.0 * ramp) / peak
        left = min(max(self.steps - steps, 0.0), ramp)
        falling = peak / acceleration - math.sqrt(2.0 * left / acceleration)
        return rising + level + falling

    def steps_at(self, seconds: float) -> float:
        """Return how far the motion has gone, 0 before it began."""
        if seconds <= 0.0 or self.steps == 0:
            return 0.0
        acceleration = self.acceleration_steps_s2
        if acceleration is None:
            return min(seconds * self.speed_steps_s, float(self.steps))
        ramp, peak = self.ramp_steps, self.peak_steps_s
        ramp_s = peak / acceleration
        level_s = (self.steps - 2.0 * ramp) / peak
        if seconds < ramp_s:
            return acceleration * seconds**2 / 2.0
        if seconds < ramp_s + level_s:
            return ramp + peak * (seconds - ramp_s)
        left_s = max(0.0, 2.0 * ramp_s + level_s - seconds)
        return self.steps - acceleration * left_s**2 / 2.0

    def pulses_at(self, seconds: float) -> int:
        """Return how many pulses have been given, one at that very instant included."""
        return math.floor(self.steps_at(seconds) + _TIE_STEPS)

    def speed_at(self, seconds: float) -> float:
        """Return the speed in steps a second."""
        acceleration = self.acceleration_steps_s2
        if acceleration is None:
            return self.speed_steps_s
        total_s = self.seconds
        into, left = max(0.0, seconds), max(0.0, total_s - seconds)
        return min(self.peak_steps_s, acceleration * min(into, left))

    def ended_at(self, steps: int, seconds: float) -> Profile:
        """Return this move, told at an instant to end after so many steps.

        Where it cannot brake in that distance it brakes at once; it never becomes
        longer. Up to that instant both moves are the same, since a ramp up and a
        cruise do not depend on where the move ends.
        """
        gone = self.steps_at(seconds)
        braking = 0.0
        if self.acceleration_steps_s2 is not None:
            speed = self.speed_at(seconds)
            braking = speed**2 / (2.0 * self.acceleration_steps_s2)
            least = math.ceil(gone + braking - _TIE_STEPS)
        else:
            least = math.floor(gone + _TIE_STEPS)
        return replace(self, steps=min(self.steps, max(steps, least)))
