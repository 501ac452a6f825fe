"""A forecast of time in words."""

from __future__ import annotations


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


def left_text(seconds: float | None) -> str:
    """Return how long something still takes, to follow other words; may be empty."""
    return f", {duration_text(seconds)} left" if seconds else ""
