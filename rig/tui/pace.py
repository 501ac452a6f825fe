"""The pace of sweeps so far, and a forecast in words. Pure; knows no clock."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

_FEWEST_SWEEPS = 3  # two speeds in turn and one more
_MOST_SWEEPS = 20  # older ones say less about the pace of now


def pace_of_sweeps(ended_at: Sequence[datetime]) -> float | None:
    """Return seconds a sweep by the times at which sweeps ended; None for too few."""
    if len(ended_at) < _FEWEST_SWEEPS:
        return None
    latest = ended_at[-_MOST_SWEEPS:]
    return (latest[-1] - latest[0]).total_seconds() / (len(latest) - 1)


def duration_text(seconds: float) -> str:
    """Return a duration in words, as coarse as a forecast deserves."""
    if seconds < 10:
        return "a few seconds"
    if seconds < 90:
        return f"about {round(seconds / 10) * 10} s"
    minutes = round(seconds / 60)
    if minutes < 90:
        return f"about {minutes} min"
    return f"about {minutes // 60} h {minutes % 60:02d} min"
