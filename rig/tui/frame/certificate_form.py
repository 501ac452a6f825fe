"""Asks what stands on a certificate; it is issued by a chord or a click only."""

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
from rig.tui.state.certificate_file import CertificateWish
from rig.tui.widgets.tick_box import TickBox

LETTERHEAD: Final = "certificate.letterhead"
"""Name that the path of the letterhead is kept under."""
_FIELDS = (
    ("letterhead", "Letterhead", "lab.toml: name, address, logo", 200),
    ("customer", "Customer", "name and address; may be empty", 160),
    ("order", "Order", "of the customer; may be empty", 60),
    ("number", "Document number", "empty: the next of the records", 40),
)


class CertificateForm(RecordForm[CertificateWish]):
    """Leads to what stands on a certificate, or to None.

    Args:
        words: What it is about.
        part: Number of the part, where it can be of that with all its targets; empty
            where it cannot.
    """

    app = getters.app(AppServices)
    AUTO_FOCUS = "#certificate-customer"
    CAPTION = "Ctrl+S issues it: its number is on record for good. Escape leaves."

    def __init__(self, words: str, *, part: str = "") -> None:
        super().__init__()
        self._words = words
        self._part = part

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        yield Static(f"Certificate of {self._words}", id="question-title")
        with Vertical(id="certificate-fields"):
            for name, words, hint, longest in _FIELDS:
                with Horizontal():
                    yield Static(words, classes="name")
                    yield Input(
                        self.app.kept(LETTERHEAD) if name == "letterhead" else "",
                        placeholder=hint,
                        id=f"certificate-{name}",
                        compact=True,
                        max_length=longest,
                    )
        if self._part:
            words = f"of part {self._part}, on every target"
            yield TickBox(words, id="certificate-part", compact=True)

    def answer(self) -> CertificateWish:
        """Return what is typed.

        Raises:
            InputError: No letterhead is named, or a field holds what is no text.
        """
        typed = {
            name: plain_text(self.query_one(f"#certificate-{name}", Input).value, words)
            for name, words, *_ in _FIELDS
        }
        if not typed["letterhead"]:
            self.query_one("#certificate-letterhead", Input).focus()
            raise InputError("Letterhead is empty")
        self.app.keep(LETTERHEAD, typed["letterhead"])
        return CertificateWish(
            letterhead=Path(typed["letterhead"]).expanduser(),
            customer=typed["customer"],
            customer_order=typed["order"],
            number=typed["number"],
            of_part=any(tick.value for tick in self.query(TickBox)),
        )
