"""An order from what was typed; says in one sentence what is wrong with it."""

from __future__ import annotations

from rig.errors import InputError
from rig.model.mounted import Sensor, Target
from rig.procedures.run import RunOrder


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
        sweeps=_whole(sweeps),
        speeds_mm_s=_speeds(speeds),
    )


def _whole(text: str) -> int:
    try:
        return int(text)
    except ValueError as exc:
        raise InputError(
            f"sweeps is {text!r}: give a whole number, such as 10"
        ) from exc


def _speeds(text: str) -> tuple[float, ...]:
    try:
        return tuple(float(part) for part in text.split(","))
    except ValueError as exc:
        raise InputError(
            f"speeds is {text!r}: give numbers in mm/s parted by commas, such as 1, 4"
        ) from exc
