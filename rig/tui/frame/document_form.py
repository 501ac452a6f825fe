"""Asks what stands on a document; it is issued by a chord or a click only."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from textual import getters
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.model.plain_text import plain_text
from rig.tui.frame.record_form import RecordForm
from rig.tui.state.app_services import AppServices
from rig.tui.state.document_files import DocumentWish
from rig.tui.widgets.tick_box import TickBox

LETTERHEAD: Final = "document.letterhead"
"""Name that the path of the letterhead is kept under."""
_FIELDS = (
    ("letterhead", "Letterhead", "e.g. lab.toml: name, address, logo", 200),
    ("customer", "Customer", "name and address; may be empty", 160),
    ("order", "Order", "of the customer; may be empty", 60),
    ("number", "Document number", "empty: the next of the records", 40),
)
_OF_CUSTOMER = ("customer", "order")


class DocumentForm(RecordForm[DocumentWish]):
    """Leads to what stands on a document besides its results, or to None.

    Args:
        title: What is to be issued.
        to_customer: Whether customer and order are asked for.
        part: Number of the part, where it can be of that with all its targets; empty
            where it cannot.
    """

    app = getters.app(AppServices)
    AUTO_FOCUS = None
    CAPTION = "Ctrl+S issues it: its number is on record for good. Escape leaves."

    def __init__(self, title: str, *, to_customer: bool = True, part: str = "") -> None:
        super().__init__()
        self._title = title
        self._part = part
        self._fields = [
            field for field in _FIELDS if to_customer or field[0] not in _OF_CUSTOMER
        ]

    def on_mount(self) -> None:
        """Begin where something is to be typed."""
        kept = self.app.kept(LETTERHEAD)
        name = self._fields[1 if kept else 0][0]
        self.query_one(f"#document-{name}", Input).focus()

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        yield Static(self._title, id="question-title")
        with Vertical(id="document-fields"):
            for name, words, hint, longest in self._fields:
                with Horizontal():
                    yield Static(words, classes="name")
                    yield Input(
                        self.app.kept(LETTERHEAD) if name == "letterhead" else "",
                        placeholder=hint,
                        id=f"document-{name}",
                        compact=True,
                        max_length=longest,
                    )
        if self._part:
            words = f"of part {self._part}, on every target"
            yield TickBox(words, id="document-part", compact=True)

    def answer(self) -> DocumentWish:
        """Return what is typed.

        Raises:
            InputError: No letterhead is named, or a field holds what is no text.
        """
        typed = {
            name: plain_text(self.query_one(f"#document-{name}", Input).value, words)
            for name, words, *_ in self._fields
        }
        if not typed["letterhead"]:
            self.query_one("#document-letterhead", Input).focus()
            raise InputError("Letterhead is empty")
        self.app.keep(LETTERHEAD, typed["letterhead"])
        return DocumentWish(
            letterhead=Path(typed["letterhead"]).expanduser(),
            customer=typed.get("customer", ""),
            customer_order=typed.get("order", ""),
            number=typed["number"],
            of_part=any(tick.value for tick in self.query(TickBox)),
        )
