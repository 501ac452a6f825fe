"""Forms for an approval, and for a file of products."""

from __future__ import annotations

from pathlib import Path

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.tui.frame.record_form import RecordForm


class ApprovalForm(RecordForm[str]):
    """Leads to the name of whoever approves a version, or to None.

    Args:
        title: Name and version of the product.
        person: Who is offered as the one who approves it.
    """

    AUTO_FOCUS = "#product-person"
    CAPTION = "Ctrl+S puts it on record for good. Escape leaves."

    def __init__(self, title: str, person: str) -> None:
        super().__init__()
        self._title = title
        self._person = person

    def compose_fields(self) -> ComposeResult:
        """Yield title and field."""
        yield Static(f"Approve {self._title}?", id="question-title", markup=False)
        yield Static(
            "It is in force from then on: runs, batches and lots that name the product"
            " are held against it. Those from before keep their version.",
            markup=False,
        )
        with Vertical(id="product-form-fields"):
            yield from _person("Approved by", self._person)

    def answer(self) -> str:
        """Return who approves it.

        Raises:
            InputError: Nobody is named.
        """
        return _named(self.query_one("#product-person", Input), "Approved by")


class ProductFileForm(RecordForm[tuple[Path, str]]):
    """Leads to a file and who enters what stands in it, or to None.

    Args:
        person: Who is offered as the one who enters it.
    """

    AUTO_FOCUS = "#product-path"
    CAPTION = "Ctrl+S puts all of it on record, or nothing. Escape leaves."

    def __init__(self, person: str) -> None:
        super().__init__()
        self._person = person

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        yield Static("Products from a file", id="question-title")
        yield Static(
            "TOML with [[product]] tables, or a table with a row for each. Each is the"
            " next version of its product, and nothing refers to it before it is"
            " approved.",
            markup=False,
        )
        with Vertical(id="product-form-fields"):
            with Horizontal():
                yield Static("File", classes="name")
                yield Input(
                    placeholder="e.g. products.toml",
                    id="product-path",
                    compact=True,
                    max_length=200,
                )
            yield from _person("Entered by", self._person)

    def answer(self) -> tuple[Path, str]:
        """Return the file and who enters it.

        Raises:
            InputError: A field is empty.
        """
        path = _named(self.query_one("#product-path", Input), "File")
        person = _named(self.query_one("#product-person", Input), "Entered by")
        return Path(path).expanduser(), person


def _person(words: str, name: str) -> ComposeResult:
    with Horizontal():
        yield Static(words, classes="name")
        yield Input(
            name,
            placeholder="who it is",
            id="product-person",
            compact=True,
            max_length=40,
        )


def _named(field: Input, words: str) -> str:
    text = field.value.strip()
    if not text:
        field.focus()
        raise InputError(f"{words} is empty")
    return text
