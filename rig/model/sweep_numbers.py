"""How often and how fast is swept: the bounds, and what somebody typed for them."""

from __future__ import annotations

from typing import Final

from rig.errors import InputError
from rig.model.number_input import numbers

MOST_SWEEPS: Final = 10_000
USUAL_SWEEPS: Final = 10
# Of a run until an uncertainty: within minutes, and past that systematic terms rule
MOST_SWEEPS_UNTIL: Final = 200
USUAL_SPEEDS_MM_S: Final = (1.0, 4.0)
SLOWEST_MM_S: Final = 0.05
# Faster, and a delay of 10 ms could carry the target to the face
FASTEST_MM_S: Final = 10.0


def parse_sweeps(text: str) -> int:
    """Return a number of sweeps as somebody typed it.

    Raises:
        InputError: It is no whole number.
    """
    try:
        return int(text)
    except ValueError as exc:
        raise InputError(
            f"sweeps is {text!r}: give a whole number, such as 10"
        ) from exc


def parse_speeds(text: str) -> tuple[float, ...]:
    """Return speeds in mm/s as somebody typed them: 1,4 or 0,5;4.

    Raises:
        InputError: One of them is no number.
    """
    return numbers(text, "speeds")


def check_sweeps(sweeps: int) -> None:
    """Refuse a number of sweeps that no run may have.

    Raises:
        InputError: It is out of range.
    """
    if not 1 <= sweeps <= MOST_SWEEPS:
        raise InputError(f"sweeps is {sweeps}: it must be 1 to {MOST_SWEEPS}")


def check_speeds(speeds_mm_s: tuple[float, ...]) -> None:
    """Refuse speeds at which no run may sweep.

    Raises:
        InputError: There is none, or one is out of range.
    """
    if not speeds_mm_s:
        raise InputError("speeds is empty: give one or more in mm/s, such as 1,4")
    for speed in speeds_mm_s:
        if not SLOWEST_MM_S <= speed <= FASTEST_MM_S:
            raise InputError(
                f"speed {speed:g} mm/s is out of range: it must be "
                f"{SLOWEST_MM_S:g} to {FASTEST_MM_S:g} mm/s"
            )
