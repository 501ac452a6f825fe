"""Asks what was seen of a part that is judged without being measured."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static


class BySight(ModalScreen[tuple[bool, str] | None]):
    """Leads to a judgement with its reason, or to None."""

    AUTO_FOCUS = "#seen"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", id="by-sight.back", show=False),
    ]

    def __init__(self, part: str) -> None:
        super().__init__()
        self._part = part

    def compose(self) -> ComposeResult:
        """Yield reason and answers."""
        with Vertical(id="question"):
            yield Static(f"Part {self._part}, judged by sight", id="question-title")
            yield Static("What was seen? It goes on record as the reason.")
            yield Input(id="seen", placeholder="thread damaged", compact=True)
            with Horizontal(id="answers"):
                yield Button("✗ Does not conform", id="fails")
                yield Button("✓ Conforms", id="conforms")
            yield Static("Tab, then Enter answers. Escape leaves.", classes="caption")

    def action_leave(self) -> None:
        """Judge nothing."""
        self.dismiss(None)

    @on(Input.Submitted)
    def _next(self) -> None:
        self.query_one("#fails").focus()

    @on(Button.Pressed)
    def _answered(self, event: Button.Pressed) -> None:
        reason = self.query_one("#seen", Input).value.strip()
        if not reason:
            self.query_one("#seen").focus()
            return
        self.dismiss((event.button.id == "conforms", reason))
