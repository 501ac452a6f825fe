"""The sensor's supply at another voltage while something is measured."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Final

from rig.errors import RigError
from rig.procedures.mover import Mover

# Sensors are available after 0.3 s (IEC 60947-5-2, from memory)
_SETTLES_S: Final = 0.3


@contextlib.contextmanager
def supply_set(mover: Mover, supply_v: float | None) -> Iterator[None]:
    """Hold the sensor's supply at a voltage, and put it back however that ends.

    Args:
        mover: The axis, at rest as this begins.
        supply_v: Voltage; None to leave the supply alone.

    Raises:
        BenchError: The rig cannot set it, or not to that.
        LinkError: The controller does not answer.
    """
    if supply_v is None:
        yield
        return
    mover.set_supply_v(supply_v)
    try:
        mover.settle(_SETTLES_S)
        yield
    finally:
        if mover.traits.supply_range_v is not None:
            # A rig that is gone, or that starts anew, has let go of it by itself
            with contextlib.suppress(RigError):
                mover.set_supply_v(mover.traits.supply_range_v[2])
