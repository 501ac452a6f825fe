"""Keys that come faster than a person types: what a barcode scanner sends.

Pure: knows keys and times, no screen and no clock.
"""

from __future__ import annotations

from enum import Enum, auto
from typing import Final

from rig.model.gs1 import FNC1

LONGEST_GAP_S: Final = 0.05
"""Within a burst; scanners type a character every 1 to 40 ms, fast typists every 60."""
_SURE_LENGTH = 4
_SURE_LENGTH_WITH_END = 2
_ENDS = frozenset({"enter", "tab", "ctrl+j", "ctrl+m"})
_CHORD = "ctrl+"
_FNC1_KEY = "ctrl+right_square_bracket"  # what a terminal makes of GS, 0x1D
LONGEST_PREFIXED_GAP_S: Final = 2.0
"""Within a code after the prefix key, however slowly the scanner types."""


class Stroke(Enum):
    """What a key is to the burst under way."""

    FIRST = auto()
    """A character after a pause: a burst may begin."""
    MORE = auto()
    """A character right after another one."""
    END = auto()
    """Enter, Tab or a line feed right after a character: a scan's suffix."""
    PREFIX = auto()
    """The key that the scanner was told to send before each code."""
    INSIDE = auto()
    """A control character right after another key of the burst; part of the code."""
    OTHER = auto()
    """Any other key; it ends what might have become a burst."""


class Burst:
    """Follows the keys one after another.

    Args:
        prefix: Key or character that a scanner sends before each code, so that a code
            is one however slowly it comes; empty for none.

    Attributes:
        text: Characters that print, and FNC1 between elements, since the last pause or
            the last suffix.
        ended: Whether a suffix came after them.
    """

    def __init__(self, prefix: str = "") -> None:
        self._prefix = prefix
        self._prefixed = False
        self.text = ""
        self.ended = False
        self._last_s: float | None = None

    @property
    def sure(self) -> bool:
        """Whether so much came so fast that nobody typed it.

        One character over and over is a key that is held down.
        """
        if self._prefixed:
            return bool(self.text)
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
        longest_s = LONGEST_PREFIXED_GAP_S if self._prefixed else LONGEST_GAP_S
        in_time = last_s is not None and at_s - last_s <= longest_s
        if self._prefix and self._prefix in (key, character):
            self.text, self.ended, self._prefixed = "", False, True
            return Stroke.PREFIX
        begun = bool(self.text) or self._prefixed
        follows = in_time and begun
        self._prefixed = self._prefixed and in_time and not self.ended
        if character is not None:
            goes_on = follows and not self.ended
            first = not (goes_on and self.text)
            self.text = self.text + character if goes_on else character
            self.ended = False
            return Stroke.FIRST if first else Stroke.MORE
        if follows and key in _ENDS and not self.ended:
            self.ended = True
            return Stroke.END
        if follows and (key in _ENDS or key.startswith(_CHORD)):
            if key == _FNC1_KEY and not self.ended:
                self.text += FNC1
            return Stroke.INSIDE
        self.text, self.ended, self._prefixed = "", False, False
        return Stroke.OTHER


def cleaned(text: str) -> str:
    """Return a code without control characters and without blanks around it."""
    return "".join(sign for sign in text if sign.isprintable()).strip()
