"""Keys that come faster than a person types: what a barcode scanner sends.

Pure: knows keys and times, no screen and no clock.
"""

from __future__ import annotations

from enum import Enum, auto
from typing import Final

LONGEST_GAP_S: Final = 0.05
"""Within a burst; scanners type a character every 1 to 40 ms, fast typists every 60."""
_SURE_LENGTH = 4
_SURE_LENGTH_WITH_END = 2
_ENDS = frozenset({"enter", "tab", "ctrl+j", "ctrl+m"})
_CHORD = "ctrl+"


class Stroke(Enum):
    """What a key is to the burst under way."""

    FIRST = auto()
    """A character after a pause: a burst may begin."""
    MORE = auto()
    """A character right after another one."""
    END = auto()
    """Enter, Tab or a line feed right after a character: a scan's suffix."""
    INSIDE = auto()
    """A control character right after another key of the burst; part of the code."""
    OTHER = auto()
    """Any other key; it ends what might have become a burst."""


class Burst:
    """Follows the keys one after another.

    Attributes:
        text: Characters that print, since the last pause or the last suffix.
        ended: Whether a suffix came after them.
    """

    def __init__(self) -> None:
        self.text = ""
        self.ended = False
        self._last_s: float | None = None

    @property
    def sure(self) -> bool:
        """Whether so much came so fast that nobody typed it.

        One character over and over is a key that is held down.
        """
        if self.ended:
            return len(self.text) >= _SURE_LENGTH_WITH_END
        return len(self.text) >= _SURE_LENGTH and len(set(self.text)) > 1

    def take(self, key: str, character: str | None, at_s: float) -> Stroke:
        """Take a key.

        Args:
            key: Name of the key, as the UI library has it.
            character: What it prints; None if it prints nothing.
            at_s: When it was struck, in seconds of any clock that only goes on.
        """
        last_s = self._last_s
        self._last_s = at_s
        follows = last_s is not None and at_s - last_s <= LONGEST_GAP_S and self.text
        if character is not None:
            goes_on = follows and not self.ended
            self.text = self.text + character if goes_on else character
            self.ended = False
            return Stroke.MORE if goes_on else Stroke.FIRST
        if follows and key in _ENDS and not self.ended:
            self.ended = True
            return Stroke.END
        if follows and (key in _ENDS or key.startswith(_CHORD)):
            return Stroke.INSIDE
        self.text, self.ended = "", False
        return Stroke.OTHER


def cleaned(text: str) -> str:
    """Return a code without control characters and without blanks around it."""
    return "".join(sign for sign in text if sign.isprintable()).strip()
