"""The speeds that a run takes when nobody chooses them."""

from __future__ import annotations

from rig.link.traits import RigTraits
from rig.model.mounted import Sensor
from rig.model.settings import BenchSettings
from rig.model.sweep_numbers import FASTEST_MM_S
from rig.procedures.assumed_delay import longest_delay_s
from rig.procedures.estimate import Durations
from rig.procedures.kinematics import ramp_mm
from rig.procedures.speeds import choose_speeds

# What the weakest usual target leaves before the face, of the rated distance
_ROOM_SHARE = 0.1


def planned_speeds(
    traits: RigTraits, settings: BenchSettings, sensor: Sensor
) -> tuple[float, ...]:
    """Return the speeds at which a sensor gives an uncertainty in the least time."""
    durations = Durations(traits=traits, settings=settings)
    room_mm = _ROOM_SHARE * sensor.rated_distance_mm
    top_mm_s = min(FASTEST_MM_S, traits.speed_limit_steps_s / traits.steps_per_mm)

    def fits(speed_mm_s: float) -> bool:
        brakes_mm = ramp_mm(speed_mm_s, settings.acceleration_mm_s2)
        runs_on_mm = speed_mm_s * longest_delay_s(sensor)
        return speed_mm_s <= top_mm_s and brakes_mm + runs_on_mm <= room_mm

    return choose_speeds(lambda speed: durations.pair_s(sensor, speed), fits)
