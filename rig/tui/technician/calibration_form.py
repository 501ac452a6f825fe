"""A form for a calibration: the file with its readings, and what goes with them."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from rig.errors import InputError
from rig.inquiry.axis_calibration import CalibrationOrder
from rig.tui.state.keys import SAVE, SAVE_WORD
from rig.tui.state.typed_numbers import typed_day, typed_number
from rig.tui.widgets.chord_button import ChordButton
from rig.tui.widgets.number_field import NUMBER

_FIELDS = (
    ("path", "File with readings", "axis.csv", None),
    ("rig", "Rig", "its identity, as F2 shows it", None),
    ("certificate", "Certificate", "what it is recorded under", None),
    ("made", "Made on", "2026-11-20", NUMBER),
    ("due", "Holds until", "2027-11-20", NUMBER),
    ("instrument", "Instrument, u in µm", "standard uncertainty", NUMBER),
)
_COLUMNS = "CSV: target_mm, direction (up or down), deviation_mm or reading_mm."
_UM_PER_MM = 1000.0


class CalibrationForm(ModalScreen[tuple[Path, CalibrationOrder] | None]):
    """Leads to a file and what goes with it by a chord or a click, or to None.

    Args:
        rig_id: Rig to offer: the one that is connected; may be empty.
    """

    AUTO_FOCUS = "#calibration-path"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(SAVE, "save", SAVE_WORD, id="calibration.save", show=False),
        Binding("escape", "leave", "Back", id="calibration.back", show=False),
        Binding("down", "app.focus_next", show=False),
        Binding("up", "app.focus_previous", show=False),
    ]

    def __init__(self, rig_id: str) -> None:
        super().__init__()
        self._rig_id = rig_id

    def compose(self) -> ComposeResult:
        """Yield the fields and the answers."""
        with Vertical(id="question"):
            yield Static("Calibration of an axis", id="question-title")
            yield Static(_COLUMNS, classes="caption")
            with Vertical(id="calibration-fields"):
                for name, words, hint, classes in _FIELDS:
                    with Horizontal():
                        yield Static(words, classes="name")
                        yield Input(
                            self._rig_id if name == "rig" else "",
                            placeholder=hint,
                            id=f"calibration-{name}",
                            compact=True,
                            classes=classes,
                            max_length=200,
                        )
            with Horizontal(id="answers"):
                yield Button("Not now", id="back")
                yield ChordButton(SAVE_WORD, chord=SAVE, id="save")
            yield Static(
                "Ctrl+S puts it on record: it is in force from then on.",
                id="calibration-caption",
                classes="caption",
            )

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    @on(Button.Pressed, "#back")
    def action_leave(self) -> None:
        """Add nothing."""
        self.dismiss(None)

    @on(Button.Pressed, "#save")
    def action_save(self) -> None:
        """Take what is typed, if it is right."""
        try:
            typed = Path(self._needed("path")).expanduser(), self._order()
        except InputError as exc:
            self.query_one("#calibration-caption", Static).update(f"✗ {exc}.")
            return
        self.dismiss(typed)

    def _order(self) -> CalibrationOrder:
        instrument_um = typed_number(self._needed("instrument"), "Instrument") or 0.0
        return CalibrationOrder(
            rig_id=self._needed("rig"),
            certificate=self._needed("certificate"),
            calibrated_on=typed_day(self._needed("made"), "Made on"),
            due_on=typed_day(self._needed("due"), "Holds until"),
            instrument_uncertainty_mm=instrument_um / _UM_PER_MM,
        )

    def _needed(self, name: str) -> str:
        """Return what is typed in a field that must not be empty.

        Raises:
            InputError: It is.
        """
        field = self.query_one(f"#calibration-{name}", Input)
        if not field.value.strip():
            field.focus()
            words = next(words for known, words, *_ in _FIELDS if known == name)
            raise InputError(f"{words} is empty")
        return field.value.strip()
