"""The figure of a part in words: its value and its uncertainty."""

from __future__ import annotations

from rig.model.rounding import format_without_uncertainty, round_to_uncertainty


def value_words(value: float, expanded: float | None, unit: str) -> tuple[str, str]:
    """Return a value and its expanded uncertainty, both rounded; "none" without one."""
    if expanded is None:
        return format_without_uncertainty(value, unit), "none"
    shown, rounded = round_to_uncertainty(value, expanded)
    return shown, f"± {rounded}"
