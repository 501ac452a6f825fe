"""What every picture can do, and the marks that all of them share."""

from __future__ import annotations

from enum import StrEnum
from typing import Protocol


class Picture(Protocol):
    """Something to be drawn, or told in words to who cannot see it drawn."""

    @property
    def title(self) -> str:
        """What it shows, with the unit."""

    def draw(self, width: int, height: int) -> list[str]:
        """Return exactly so many lines of exactly that width."""

    def tell(self) -> list[str]:
        """Return the same in plain words and numbers."""


class Mark(StrEnum):
    """Kinds of points; each has a shape of its own, and one for many in a cell."""

    OPERATE = "◂"
    RELEASE = "▸"
    VOID = "✗"
    MEASURED = "●"
    PREDICTED = "◇"
    THEORY = "◆"
    BEFORE = "□"
    AFTER = "■"
    DOT = "•"

    @property
    def many(self) -> str:
        """The sign for more than one of them in a cell."""
        return _MANY.get(self, self.value)


_MANY = {Mark.OPERATE: "◀", Mark.RELEASE: "▶"}


def fitted(lines: list[str], width: int, height: int) -> list[str]:
    """Return the lines cut or filled to a size."""
    cut = [f"{line[:width]:<{width}}" for line in lines[:height]]
    return cut + [" " * width] * (height - len(cut))


def notice(sentence: str, width: int, height: int) -> list[str]:
    """Return a sentence in the middle of an empty picture."""
    above = [""] * max(0, (height - 1) // 2)
    return fitted([*above, f"{sentence:^{width}}"], width, height)
