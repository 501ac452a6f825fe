"""What changes by itself while a rig stands there: warmth, creep, supply.

All of it is a smooth function of the time since the session began; what a rig is made
of says how much each matters to it. Nothing here is random: a session is drawn once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

REFERENCE_C: Final = 20.0  # ISO 1: lengths hold at this temperature
SUPPLY_V: Final = 24.0  # a sensor's distances hold at this supply
_HOUR_S: Final = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """The room, the rig's own warmth and the supply during one session.

    Attributes:
        air_c: Temperature of the air as the session begins.
        drift_k_h: Change of that in an hour.
        cycle_k: Amplitude of what the room's control makes it swing by.
        cycle_s: Period of that swing.
        cycle_phase_rad: Phase of it as the session begins.
        motor_k: Rise of the temperature of the screw, in the end, by the motor.
        motor_time_s: Time constant of that.
        screw_per_k: Expansion of the screw (1/K).
        loop_mm_per_k: Move of the face, away from the target, for each K of the air:
            what the frame and both holders make together.
        creep_mm: Move of the face away from the target, in the end, as a clamp
            settles.
        creep_time_s: Time constant of that.
        supply_v: Voltage of the sensor's supply as the session begins.
        supply_v_h: Change of that in an hour.
        powered_s: How long the sensor has had its supply as the session begins.
    """

    air_c: float = REFERENCE_C
    drift_k_h: float = 0.0
    cycle_k: float = 0.0
    cycle_s: float = 1200.0
    cycle_phase_rad: float = 0.0
    motor_k: float = 0.0
    motor_time_s: float = 1800.0
    screw_per_k: float = 0.0
    loop_mm_per_k: float = 0.0
    creep_mm: float = 0.0
    creep_time_s: float = 1800.0
    supply_v: float = SUPPLY_V
    supply_v_h: float = 0.0
    powered_s: float = 0.0

    def air_at_c(self, time_s: float) -> float:
        """Return the temperature of the air."""
        turn = 2.0 * math.pi * time_s / self.cycle_s + self.cycle_phase_rad
        swing = self.cycle_k * math.sin(turn)
        return self.air_c + self.drift_k_h * time_s / _HOUR_S + swing

    def screw_scale(self, time_s: float) -> float:
        """Return the length of the screw over its length at 20 °C."""
        motor_k = self.motor_k * _gone(time_s, self.motor_time_s)
        warmer_k = self.air_at_c(time_s) - REFERENCE_C + motor_k
        return 1.0 + self.screw_per_k * warmer_k

    def face_shift_mm(self, time_s: float) -> float:
        """Return how far the face has moved away from the target since it was made."""
        warmer_k = self.air_at_c(time_s) - REFERENCE_C
        settled_mm = self.creep_mm * _gone(time_s, self.creep_time_s)
        return self.loop_mm_per_k * warmer_k + settled_mm

    def supply_at_v(self, time_s: float) -> float:
        """Return the voltage of the sensor's supply."""
        return self.supply_v + self.supply_v_h * time_s / _HOUR_S


def _gone(time_s: float, constant_s: float) -> float:
    return 1.0 - math.exp(-time_s / constant_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How a sensor's distances follow its surroundings, as shares of themselves.

    Attributes:
        per_k: Change for each K.
        warm_up: What is still missing from the distances as the supply comes on;
            below 0 they shrink while it warms up.
        warm_time_s: Time constant of that.
        per_v: Change for each volt of the supply.
    """

    per_k: float = 0.0
    warm_up: float = 0.0
    warm_time_s: float = 600.0
    per_v: float = 0.0

    def reach(
        self, surroundings: Surroundings, time_s: float, set_v: float = SUPPLY_V
    ) -> float:
        """Return the factor on the distances at which the sensor sees.

        Args:
            surroundings: The session.
            time_s: Time since it began.
            set_v: What the supply is set to; the session's deviation comes to it.
        """
        warmer_k = surroundings.air_at_c(time_s) - REFERENCE_C
        missing = math.exp(-(surroundings.powered_s + time_s) / self.warm_time_s)
        more_v = surroundings.supply_at_v(time_s) - SUPPLY_V + (set_v - SUPPLY_V)
        return (
            (1.0 + self.per_k * warmer_k)
            * (1.0 - self.warm_up * missing)
            * (1.0 + self.per_v * more_v)
        )
