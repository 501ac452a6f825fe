"""Our themes: husk and slate for the dark, chaff and ink for the light, high contrast.

In high contrast every colour stands out from every ground by 7:1 or more.
"""

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
CONTRAST: Final = Theme(
    name="gapsweep-contrast",
    dark=True,
    primary="#ffd75f",
    secondary="#5fffff",
    accent="#ffff5f",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#121212",
    success="#5fff87",
    warning="#ffb347",
    error="#ff8080",
)
THEMES: Final = (DARK, LIGHT, CONTRAST)
