"""An order from what was typed; says in one sentence what is wrong with it."""

from __future__ import annotations

from rig.model.mounted import Sensor, Target
from rig.model.sweep_numbers import parse_speeds, parse_sweeps
from rig.procedures.run_order import RunOrder


def typed_order(
    sensor: Sensor, target: Target, *, sweeps: str, speeds: str
) -> RunOrder:
    """Return what is typed as an order.

    Raises:
        InputError: A number is not one, or not usable.
    """
    return RunOrder(
        sensor=sensor,
        target=target,
        sweeps=parse_sweeps(sweeps),
        speeds_mm_s=parse_speeds(speeds),
    )
