"""One switching-on of a sensor's supply, and what its output did then."""

from __future__ import annotations

from dataclasses import dataclass

CLOCK_ROUND_US = 2**32


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchOn:
    """The supply came on, by the controller's clock.

    Attributes:
        before_target: Whether the target stood where the sensor is operated.
        switched_us: When the supply was switched on.
        edges: Level and time, µs, of each change of the output since, in order.
    """

    before_target: bool
    switched_us: int
    edges: tuple[tuple[bool, int], ...]

    def after_ms(self, time_us: int) -> float:
        """Return how long after the switching a time is; the clock may have wrapped."""
        return (time_us - self.switched_us) % CLOCK_ROUND_US * 1e-3
