"""A button for what must not happen by Enter: it takes clicks, and names its chord."""

from __future__ import annotations

from textual.widgets import Button

from rig.tui.state.keys import START, START_WORD, shown


class ChordButton(Button, can_focus=False):
    """Begins a motion or records when clicked; a key does so by a chord only.

    Args:
        words: What it does.
        chord: The key of the screen that does the same.
        id: Identity of the widget.
        compact: Whether it takes one line.
    """

    def __init__(
        self, words: str, *, chord: str, id: str, compact: bool = False
    ) -> None:
        label = f"{words}  ^{chord[-1]}"
        super().__init__(
            label,
            id=id,
            compact=compact,
            variant="primary",
            tooltip=f"{shown(chord)} does the same",
        )


class StartButton(ChordButton):
    """Begins a motion.

    Args:
        id: Identity of the widget.
        words: More about what begins; empty for the one word.
        compact: Whether it takes one line.
    """

    def __init__(self, *, id: str, words: str = "", compact: bool = False) -> None:
        super().__init__(words or START_WORD, chord=START, id=id, compact=compact)
