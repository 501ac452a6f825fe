"""Figures of a run by the names that people give; knows no screen and no option."""

from __future__ import annotations

from typing import Final

from rig.errors import InputError
from rig.model.figures import Figure, RunFigures

# As typed: field of the figures of a run, unit
FIGURES: Final = {
    "operate": ("operate", "mm"),
    "release": ("release", "mm"),
    "differential-travel": ("differential_travel", "mm"),
    "differential-travel-percent": ("differential_travel_percent", "%"),
    "response-time": ("response_time_operate", "ms"),
}


def figure_of(figures: RunFigures, name: str) -> Figure:
    """Return the figure that was asked for.

    Raises:
        InputError: The run does not give it.
    """
    found: Figure | None = getattr(figures, FIGURES[name][0])
    if found is None:
        raise InputError(
            f"the run gives no {name}: it was swept at a single speed",
            hint="sweep at two speeds or more",
        )
    return found
