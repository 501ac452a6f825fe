"""Settings of the simulated controller: which there are, what fits, and the name.

Knows no request and no state. What stands here is kept from one start to the next.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from firmware_protocol.fields import token_field
from firmware_protocol.messages import Ability, Trait
from sim.traits import Traits

NAME_TRAITS: Final = (Trait.NAME_1, Trait.NAME_2, Trait.NAME_3, Trait.NAME_4)
# Traits that can be set, and where they stand
_FIELDS: Final = {
    Trait.STEPS_PER_M: "steps_per_mm",
    Trait.TRAVEL_LOW: "travel_low_steps",
    Trait.TRAVEL_HIGH: "travel_high_steps",
    Trait.SPEED_LIMIT: "speed_limit_steps_s",
    Trait.ACCELERATION_LIMIT: "acceleration_limit_steps_s2",
    Trait.START_SPEED: "start_speed_steps_s",
    Trait.HOME_CLEAR: "home_clear_steps",
    Trait.HOME_SEARCH: "home_search_steps",
    Trait.SERIAL: "serial",
}
_FARTHEST_STEPS: Final = 2**29
_TOKEN: Final = token_field("name")
_FOUR: Final = 4


def name_words(name: str) -> tuple[int, ...]:
    """Return a name as the four traits tell it."""
    data = name.encode("ascii").ljust(_FOUR * len(NAME_TRAITS), b"\0")
    return tuple(
        int.from_bytes(data[start : start + _FOUR], "little")
        for start in range(0, len(data), _FOUR)
    )


@dataclass(slots=True)
class Settings:
    """Traits and name as they are set now.

    Attributes:
        traits: Limits and abilities.
        rig: Name of the rig.
        fastest: Limits of speed and acceleration that the controller was made for.
    """

    traits: Traits
    rig: str
    fastest: Traits

    def value(self, index: int) -> int | None:
        """Return a trait by number, None for one that does not exist."""
        if index in NAME_TRAITS:
            return name_words(self.rig)[NAME_TRAITS.index(Trait(index))]
        return self.traits.value(index)

    def is_setting(self, index: int) -> bool:
        """Return whether a trait can be set."""
        return (
            index in {*_FIELDS, *NAME_TRAITS}
            and Ability.SETTINGS in self.traits.abilities
        )

    def changed(self, index: int, value: int) -> tuple[Traits, str] | None:
        """Return traits and name with a setting changed; None if it does not fit."""
        trait = Trait(index)
        if trait in NAME_TRAITS:
            rig = self._name_with(NAME_TRAITS.index(trait), value)
            return None if rig is None else (self.traits, rig)
        given: dict[str, Any] = {_FIELDS[trait]: value}
        if trait is Trait.STEPS_PER_M:
            given = {_FIELDS[trait]: value / 1000}
        traits = replace(self.traits, **given)
        return (traits, self.rig) if self._fits(traits) else None

    def set(self, index: int, value: int) -> None:
        """Change a setting to a value that fits."""
        changed = self.changed(index, value)
        assert changed is not None  # checked among the objections
        self.traits, self.rig = changed

    def _name_with(self, part: int, value: int) -> str | None:
        if value < 0:
            return None
        words = list(name_words(self.rig))
        words[part] = value
        data = b"".join(word.to_bytes(_FOUR, "little") for word in words)
        try:
            return str(_TOKEN.read(data.rstrip(b"\0").decode("ascii")))
        except ValueError:
            return None

    def _fits(self, traits: Traits) -> bool:
        low, high = traits.travel_low_steps, traits.travel_high_steps
        start = traits.start_speed_steps_s
        acceleration = traits.acceleration_limit_steps_s2
        return (
            traits.steps_per_mm >= 2
            and 0 < low < high < _FARTHEST_STEPS
            and 0 < traits.home_clear_steps < traits.home_search_steps <= high
            and 0 < start <= traits.speed_limit_steps_s
            and traits.speed_limit_steps_s <= self.fastest.speed_limit_steps_s
            and 0 < acceleration <= self.fastest.acceleration_limit_steps_s2
            and acceleration <= 10 * start**2
            and traits.serial >= 0
        )
