"""How far a piece of work is: in large letters, as a bar and in sentences. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap

from rig.tui.pictures.block_letters import block_words
from rig.tui.pictures.picture import fitted

_ROOMY = 8  # rows above the sentences from which lines stand apart


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgressCard:
    """What comes next, and how much is done.

    Attributes:
        title: What it is about.
        letters: What comes next, in capitals, such as "PAIR 3 OF 24".
        done: How much is done.
        wanted: How much that is of.
        words: What stands below, a sentence or a few.
    """

    title: str
    letters: str
    done: int
    wanted: int
    words: tuple[str, ...]

    def draw(self, width: int, height: int) -> list[str]:
        """Return letters, bar and sentences; letters grow with the room."""
        below = [part for line in self.words for part in wrap(line, width)]
        room = height - len(below) - 1
        apart = [""] if room > _ROOMY else []
        letters = block_words(self.letters, width, max(1, room - 2 * len(apart)))
        full = round(width * self.done / self.wanted) if self.wanted else 0
        bar = "█" * min(width, full) + "░" * max(0, width - full)
        return fitted([*letters, *apart, bar, *apart, *below], width, height)

    def tell(self) -> list[str]:
        """Return the same in words."""
        return [self.title, f"{self.letters.lower()}", *self.words]
