"""Asks what was seen of a part that is judged without being measured."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from rig.tui.frame.burst import cleaned
from rig.tui.state.keys import SAVE, SAVE_WORD, bound
from rig.tui.widgets.chord_button import ChordButton
from rig.tui.widgets.tick_box import TickBox


class BySight(ModalScreen[tuple[bool, str] | None]):
    """Leads to a judgement with its reason by a chord or a click, or to None."""

    AUTO_FOCUS = "#seen"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(SAVE, "save", SAVE_WORD, id="by-sight.save", show=False),
        bound("escape", "leave", "Back", id="by-sight.back", show=False),
    ]

    def __init__(self, part: str) -> None:
        super().__init__()
        self._part = part

    def compose(self) -> ComposeResult:
        """Yield reason and answers."""
        with Vertical(id="question"):
            yield Static(f"Part {self._part}, judged by sight", id="question-title")
            yield Static("What was seen? It goes on record as the reason.")
            yield Input(id="seen", placeholder="e.g. thread damaged", compact=True)
            yield TickBox("the part conforms", id="conforms", compact=True)
            with Horizontal(id="answers"):
                yield Button("Not now", id="back")
                yield ChordButton(SAVE_WORD, chord=SAVE, id="save")
            yield Static("", id="sight-caption", classes="caption")

    def on_mount(self) -> None:
        """Say what will be put on record."""
        self._show()

    @on(TickBox.Changed)
    def _show(self) -> None:
        words = "✓ conforms" if self._conforms() else "✗ does not conform"
        self.query_one("#sight-caption", Static).update(
            f"Ctrl+S puts on record: {words}. Escape leaves."
        )

    def _conforms(self) -> bool:
        return self.query_one("#conforms", TickBox).value

    def action_leave(self) -> None:
        """Judge nothing."""
        self.dismiss(None)

    @on(Input.Submitted)
    def _next(self) -> None:
        self.query_one("#conforms").focus()

    @on(Button.Pressed, "#back")
    def _back(self) -> None:
        self.dismiss(None)

    @on(Button.Pressed, "#save")
    def action_save(self) -> None:
        """Judge, if a reason is given."""
        reason = cleaned(self.query_one("#seen", Input).value)
        if reason:
            self.dismiss((self._conforms(), reason))
        else:
            self.query_one("#seen").focus()
            self.query_one("#sight-caption", Static).update(
                "✗ Say first what was seen of the part."
            )
