"""Our two themes: husk and slate for the dark, chaff and ink for the light."""

from __future__ import annotations

from typing import Final

from textual.theme import Theme

DARK: Final = Theme(
    name="gapsweep-dark",
    dark=True,
    primary="#c8a95a",
    secondary="#7fa7a3",
    accent="#e3c26f",
    foreground="#e8e4da",
    background="#15191b",
    surface="#1d2326",
    panel="#2a3236",
    success="#8fbf7a",
    warning="#e5a550",
    error="#e5675a",
)
LIGHT: Final = Theme(
    name="gapsweep-light",
    dark=False,
    primary="#7a5c12",
    secondary="#2f6561",
    accent="#8a5a00",
    foreground="#24221c",
    background="#f5f1e6",
    surface="#ebe5d6",
    panel="#d9d1bd",
    success="#2f6b22",
    warning="#8a4f00",
    error="#a8261b",
)
