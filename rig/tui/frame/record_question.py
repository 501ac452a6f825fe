"""Asks before something goes on record for good: a lot, a study."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from rig.tui.state.keys import SAVE, SAVE_WORD, bound
from rig.tui.widgets.chord_button import ChordButton


class RecordQuestion(ModalScreen[bool]):
    """Leads to yes by a chord or a click only.

    Args:
        title: What is to go on record.
        words: All that will be on record.
    """

    AUTO_FOCUS = "#back"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(SAVE, "save", SAVE_WORD, id="record.save", show=False),
        bound("escape", "leave", "Back", id="record.not-now", show=False),
    ]

    def __init__(self, title: str, words: Content) -> None:
        super().__init__()
        self._title = title
        self._words = words

    def compose(self) -> ComposeResult:
        """Yield what will be on record, and the answers."""
        with Vertical(id="question"):
            yield Static(self._title, id="question-title")
            # Long words scroll, so that the answers stay on a small screen
            with VerticalScroll(id="record-scroll"):
                yield Static(self._words, id="record-words")
            with Horizontal(id="answers"):
                yield Button("Not now", id="back")
                yield ChordButton(SAVE_WORD, chord=SAVE, id="save")
            yield Static(
                "Ctrl+S puts it on record for good. Escape leaves.",
                id="record-caption",
                classes="caption",
            )

    def action_save(self) -> None:
        """Have it put on record."""
        self.dismiss(True)

    def action_leave(self) -> None:
        """Put nothing on record."""
        self.dismiss(False)

    @on(Button.Pressed)
    def _answered(self, event: Button.Pressed) -> None:
        if event.button.id == "save":
            self.action_save()
        else:
            self.action_leave()
