"""The figure of a part in words: its name, its value, its uncertainty."""

from __future__ import annotations

from rig.model.figure_kinds import KIND_OF_OPTION
from rig.model.rounding import format_without_uncertainty, round_to_uncertainty


def figure_words(figure: str) -> str:
    """Return the trade name of a figure that was chosen by its option name."""
    kind = KIND_OF_OPTION.get(figure)
    return figure if kind is None else kind.name


def value_words(value: float, expanded: float | None, unit: str) -> tuple[str, str]:
    """Return a value and its expanded uncertainty, both rounded; "none" without one."""
    if expanded is None:
        return format_without_uncertainty(value, unit), "none"
    shown, rounded = round_to_uncertainty(value, expanded)
    return shown, f"± {rounded}"
