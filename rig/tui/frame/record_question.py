"""Asks before something goes on record for good: a lot, a decision, a study."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from rig.tui.state.keys import SAVE, SAVE_WORD
from rig.tui.widgets.chord_button import ChordButton
from rig.tui.widgets.tick_box import TickBox


class RecordQuestion(ModalScreen[bool | None]):
    """Leads to None, or to what is ticked, by a chord or a click only.

    Args:
        title: What is to go on record.
        words: All that will be on record.
        tick: What can be ticked, as it was agreed; empty for nothing.
        must_tick: Whether nothing goes on record without the tick.
    """

    AUTO_FOCUS = "#back"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(SAVE, "save", SAVE_WORD, id="record.save", show=False),
        Binding("escape", "leave", "Back", id="record.not-now", show=False),
    ]

    def __init__(
        self, title: str, words: Content, *, tick: str = "", must_tick: bool = False
    ) -> None:
        super().__init__()
        self._title = title
        self._words = words
        self._tick = tick
        self._must_tick = must_tick

    def compose(self) -> ComposeResult:
        """Yield what will be on record, and the answers."""
        with Vertical(id="question"):
            yield Static(self._title, id="question-title")
            # Long words scroll, so that the answers stay on a small screen
            with VerticalScroll(id="record-scroll"):
                yield Static(self._words, id="record-words")
            if self._tick:
                yield TickBox(self._tick, id="record-tick", compact=True)
            with Horizontal(id="answers"):
                yield Button("Not now", id="back")
                yield ChordButton(SAVE_WORD, chord=SAVE, id="save")
            yield Static("", id="record-caption", classes="caption")

    def on_mount(self) -> None:
        """Say how to answer."""
        self._show()

    @on(TickBox.Changed)
    def _show(self) -> None:
        words = "Ctrl+S puts it on record for good. Escape leaves."
        if self._must_tick and not self._ticked():
            words = "Tab leads to the tick, the space bar sets it. Escape leaves."
        self.query_one("#record-caption", Static).update(words)
        locked = self._must_tick and not self._ticked()
        self.query_one("#save", Button).disabled = locked

    def _ticked(self) -> bool:
        return any(tick.value for tick in self.query(TickBox))

    def action_save(self) -> None:
        """Have it put on record."""
        if self._ticked() or not self._must_tick:
            self.dismiss(self._ticked())

    def action_leave(self) -> None:
        """Put nothing on record."""
        self.dismiss(None)

    @on(Button.Pressed)
    def _answered(self, event: Button.Pressed) -> None:
        if event.button.id == "save":
            self.action_save()
        else:
            self.action_leave()
