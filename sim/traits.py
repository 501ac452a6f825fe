"""What the simulated controller says of itself. Data only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from firmware_protocol.messages import Ability, Control, Input, Quantity, Trait

FIRMWARE: Final = "sim-0.1.0"
_TICK_NS: Final = 1000
_SUPPLY_LOW_MV: Final = 10000
_SUPPLY_HIGH_MV: Final = 30000
SUPPLY_START_MV: Final = 24000


@dataclass(frozen=True, slots=True, kw_only=True)
class Traits:
    """Limits and abilities of the controller.

    Attributes:
        steps_per_mm: Steps for a millimetre.
        travel_low_steps: Lowest position that a fence may allow; above where the
            home switch opens.
        travel_high_steps: Highest position that a fence may allow.
        speed_limit_steps_s: Highest speed.
        acceleration_limit_steps_s2: Highest acceleration; `home` uses it.
        start_speed_steps_s: Speed that needs no ramp.
        ring_size: Notices kept.
        silence_limit_ms: Silence of the host that stops a motion.
        abilities: What the controller can do; `SIMULATED` belongs to it.
        edge_rate_limit: Edges a second that the line carries at the first rate.
        min_pulse_us: How long a level of the output lasts for a `go` to turn on it.
        enable_rest_limit_s: Rest without a sound line after which the motor's current
            is taken away, where that can be done.
        home_clear_steps: How far `home` goes on past the opening of the switch.
        home_search_steps: Way within which the switch must open and close in `home`.
        build: What it was built from; 0 for not told.
        serial: Number of this controller; 0 for none.
        quantities: What `read` tells besides the scale.
        controls: What `put` sets.
        scale_per_m: Counts of the scale for a metre, where it has that ability.
    """

    steps_per_mm: float = 1600
    travel_low_steps: int = 400
    travel_high_steps: int = 64000
    speed_limit_steps_s: int = 40000
    acceleration_limit_steps_s2: int = 800000
    start_speed_steps_s: int = 1600
    ring_size: int = 32
    silence_limit_ms: int = 500
    abilities: Ability = (
        Ability.FAST_RATE
        | Ability.TOUCH_PROBE
        | Ability.SUPPLY_SENSE
        | Ability.SIMULATED
        | Ability.DRIVE_SENSE
        | Ability.ENABLE_OUTPUT
        | Ability.SETTINGS
    )
    edge_rate_limit: int = 250
    min_pulse_us: int = 50
    enable_rest_limit_s: int = 1800
    home_clear_steps: int = 200
    home_search_steps: int = 4000
    build: int = 0
    serial: int = 0
    quantities: frozenset[Quantity] = frozenset(Quantity) - {Quantity.SCALE}
    controls: frozenset[Control] = frozenset(Control)
    scale_per_m: int = 2_000_000

    @property
    def has_scale(self) -> bool:
        """Whether a scale is counted and latched."""
        return Ability.SCALE in self.abilities

    @property
    def readable(self) -> frozenset[Quantity]:
        """All that `read` tells."""
        return self.quantities | ({Quantity.SCALE} if self.has_scale else set())

    @property
    def travel_steps(self) -> int:
        """Length of the travel, from the home switch."""
        return self.travel_high_steps

    @property
    def probe_clear_steps(self) -> int:
        """Way down by which a probe that was closed must have opened; SPEC.md 10."""
        return int(self.steps_per_mm // 2)

    @property
    def enable_rest_s(self) -> int:
        """Rest after which the motor's current is taken away, 0 for never."""
        able = Ability.ENABLE_OUTPUT in self.abilities
        return self.enable_rest_limit_s if able else 0

    def fits(self, control: Control, value: int) -> bool:
        """Return whether a control can be set to a value."""
        if control is Control.SENSOR_SUPPLY:
            return value in (0, 1)
        return _SUPPLY_LOW_MV <= value <= _SUPPLY_HIGH_MV

    @property
    def fail_safe(self) -> Input:
        """Inputs at which a broken wire reads as what stops the axis."""
        fitted = {
            Input.PROBE: Ability.TOUCH_PROBE,
            Input.SUPPLY: Ability.SUPPLY_SENSE,
            Input.DRIVE: Ability.DRIVE_SENSE,
        }
        safe = Input.HOME
        for name, ability in fitted.items():
            if ability in self.abilities:
                safe |= name
        return safe

    def value(self, index: int) -> int | None:
        """Return a trait by number but the name, None for one that does not exist."""
        adjustable = Control.SUPPLY_VOLTAGE in self.controls
        values = {
            Trait.STEPS_PER_M: round(self.steps_per_mm * 1000),
            Trait.TRAVEL_LOW: self.travel_low_steps,
            Trait.TRAVEL_HIGH: self.travel_high_steps,
            Trait.SPEED_LIMIT: self.speed_limit_steps_s,
            Trait.ACCELERATION_LIMIT: self.acceleration_limit_steps_s2,
            Trait.START_SPEED: self.start_speed_steps_s,
            Trait.RING_SIZE: self.ring_size,
            Trait.SILENCE_LIMIT: self.silence_limit_ms,
            Trait.ABILITIES: int(self.abilities),
            Trait.TIME_TICK: _TICK_NS,
            Trait.EDGE_RATE_LIMIT: self.edge_rate_limit,
            Trait.FAIL_SAFE: int(self.fail_safe),
            Trait.MIN_PULSE: self.min_pulse_us,
            Trait.ENABLE_REST: self.enable_rest_s,
            Trait.HOME_CLEAR: self.home_clear_steps,
            Trait.HOME_SEARCH: self.home_search_steps,
            Trait.BUILD: self.build,
            Trait.HIGH_INPUTS: int(Input.PROBE | Input.HOME),
            Trait.SERIAL: self.serial,
            Trait.QUANTITIES: sum(1 << quantity for quantity in self.readable),
            Trait.CONTROLS: sum(1 << control for control in self.controls),
            Trait.SUPPLY_LOW: _SUPPLY_LOW_MV if adjustable else 0,
            Trait.SUPPLY_HIGH: _SUPPLY_HIGH_MV if adjustable else 0,
            Trait.SUPPLY_START: SUPPLY_START_MV if adjustable else 0,
            Trait.SCALE_PER_M: self.scale_per_m if self.has_scale else 0,
        }
        return {int(trait): value for trait, value in values.items()}.get(index)
