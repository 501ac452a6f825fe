"""What a controller says of itself in its greeting and traits."""

from __future__ import annotations

from dataclasses import dataclass

from firmware_protocol.messages import Ability, Control, Input, Quantity

# Words of an order besides its motion, there and back, on a line of 115200 and of
# 250000 bits a second
_ORDER_S = 0.0065
_QUICK_ORDER_S = 0.003


def identity_of(name: str, serial: int) -> str:
    """Return what records keep a rig under: a name may be given to two of them."""
    return f"{name}.{serial}" if serial else name


@dataclass(frozen=True, slots=True, kw_only=True)
class RigTraits:
    """A rig as its controller describes it.

    Attributes:
        rig_id: Identity of the rig: its name, and its serial where it has one.
        firmware_version: Version of its firmware.
        protocol_version: "major.minor".
        boot_number: Changes with every start.
        steps_per_mm: Steps for a millimetre of travel.
        travel_low_steps: Lowest position that a soft limit may allow.
        travel_high_steps: Highest position that a soft limit may allow.
        speed_limit_steps_s: Highest speed.
        acceleration_limit_steps_s2: Highest acceleration.
        start_speed_steps_s: Speed that needs no ramp.
        silence_limit_s: Silence that stops a motion.
        min_pulse_s: Shorter levels of the sensor's output are interference.
        fail_safe: Inputs at which a broken wire stops the axis.
        abilities: What else it can do.
        home_clear_steps: How far homing goes on past the opening of the switch.
        home_search_steps: Way within which the switch must open and close in homing.
        build: What its firmware was built from; 0 for not told.
        quantities: What it measures around the sensor: sum of 2^number of each.
        controls: What it can set there, likewise.
        supply_range_v: Lowest and highest voltage that it can set the sensor's supply
            to, and what that is after a start; None where it sets none.
        scale_counts_per_mm: Counts of its linear scale for a millimetre; None without
            one.
    """

    rig_id: str
    firmware_version: str
    protocol_version: str
    boot_number: int
    steps_per_mm: float
    travel_low_steps: int
    travel_high_steps: int
    speed_limit_steps_s: int
    acceleration_limit_steps_s2: int
    start_speed_steps_s: int
    silence_limit_s: float
    min_pulse_s: float
    fail_safe: Input
    abilities: Ability
    home_clear_steps: int
    home_search_steps: int
    build: int
    quantities: int = 0
    controls: int = 0
    supply_range_v: tuple[float, float, float] | None = None
    scale_counts_per_mm: float | None = None

    def measures(self, quantity: Quantity) -> bool:
        """Return whether it measures a quantity."""
        return bool(self.quantities & 1 << quantity)

    def sets(self, control: Control) -> bool:
        """Return whether it can set something."""
        return bool(self.controls & 1 << control)

    @property
    def simulated(self) -> bool:
        """Whether there is no machine behind it."""
        return Ability.SIMULATED in self.abilities

    @property
    def order_s(self) -> float:
        """What an order costs in words; the link takes the fast rate where it can."""
        return _QUICK_ORDER_S if Ability.FAST_RATE in self.abilities else _ORDER_S
