"""What is known of a sensor's switching delay before it is measured."""

from __future__ import annotations

from rig.model.mounted import Sensor

# Delays add up to 1/f at most (IEC 60947-5-2, from memory); where no f is known, what
# the slowest usual sensors take (common practice, no source)
_LONGEST_DELAY_S = 0.02


def longest_delay_s(sensor: Sensor) -> float:
    """Return the longest switching delay that a sensor may have."""
    frequency = sensor.switching_frequency_hz
    return _LONGEST_DELAY_S if frequency is None else 1.0 / frequency
