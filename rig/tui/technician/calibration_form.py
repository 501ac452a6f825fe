"""A form for a calibration: the file with its readings, and what goes with them."""

from __future__ import annotations

from pathlib import Path

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.inquiry.axis_calibration import CalibrationOrder
from rig.model.grounds import Grounds
from rig.tui.frame.record_form import RecordForm
from rig.tui.state.typed_numbers import typed_day, typed_number
from rig.tui.widgets.number_field import NUMBER

_FIELDS = (
    ("path", "File with readings", "e.g. axis.csv", None),
    ("rig", "Rig", "its identity, as F2 shows it", None),
    ("certificate", "Certificate", "what it is recorded under", None),
    ("made", "Made on", "e.g. 2026-11-20", NUMBER),
    ("due", "Holds until", "e.g. 2027-11-20", NUMBER),
    ("instrument", "Instrument, u in µm", "standard uncertainty", NUMBER),
    ("reason", "Why", "e.g. due again, screw renewed", None),
)
_COLUMNS = "CSV: target_mm, direction (up or down), deviation_mm or reading_mm."
_UM_PER_MM = 1000.0


class CalibrationForm(RecordForm[tuple[Path, CalibrationOrder]]):
    """Leads to a file and what goes with it by a chord or a click, or to None.

    Args:
        rig_id: Rig to offer: the one that is connected; may be empty.
        person: Who enters the calibration; may be empty.
    """

    AUTO_FOCUS = "#calibration-path"
    CAPTION = "Ctrl+S puts it on record: it is in force from then on."

    def __init__(self, rig_id: str, person: str = "") -> None:
        super().__init__()
        self._person = person
        self._rig_id = rig_id

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
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

    def answer(self) -> tuple[Path, CalibrationOrder]:
        """Return the file and what goes with it.

        Raises:
            InputError: A field is empty or not right.
        """
        return Path(self._needed("path")).expanduser(), self._order()

    def _order(self) -> CalibrationOrder:
        instrument_um = typed_number(self._needed("instrument"), "Instrument") or 0.0
        return CalibrationOrder(
            rig_id=self._needed("rig"),
            certificate=self._needed("certificate"),
            calibrated_on=typed_day(self._needed("made"), "Made on"),
            due_on=typed_day(self._needed("due"), "Holds until"),
            instrument_uncertainty_mm=instrument_um / _UM_PER_MM,
            grounds=Grounds(person=self._person, reason=self._needed("reason")),
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
