"""Materials side by side, over their thickness, and on the curve of theory."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from rig.inquiry.lesson import (
    NO_MATERIALS,
    PairRecords,
    Subject,
    read_materials,
    read_pair,
)
from rig.inquiry.trimmer_setting import TURNED, setting_words
from rig.procedures.motions_ahead import hands_clear, run_ahead
from rig.records import Store
from rig.sheets.prediction_sheet import prediction_lines, prediction_sheet
from rig.tui.instructor.lesson_pictures import (
    material_bars,
    theory_chart,
    thickness_chart,
)
from rig.tui.instructor.lesson_screen import LessonScreen
from rig.tui.pictures.picture import Picture
from rig.tui.state.keys import OTHER, START_SHOWN, bound
from rig.tui.state.situation import Situation
from rig.tui.widgets.picture_view import PictureView

_PICTURES = ("bars", "thickness", "theory")


class ClassMaterialsScreen(LessonScreen):
    """The latest run of the sensor against every target that is on record."""

    HEADING = "Materials"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            OTHER,
            "next_picture",
            "Other picture",
            id="picture.next",
            tooltip="Bars, over the thickness, or on the curve of theory",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._shown = 0
        self._materials = NO_MATERIALS

    def compose_step(self) -> ComposeResult:
        """Yield the row that measures and the picture."""
        yield self.measure_row()
        yield PictureView(id="materials")
        yield Static("", id="finding")

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        return f"Pick a target. {START_SHOWN}, {hands_clear(run_ahead())}."

    def read_records(self, store: Store, subject: Subject) -> PairRecords:
        """Read the runs of the sensor too."""
        self._materials = read_materials(store, subject)
        return read_pair(store, subject)

    def action_next_picture(self) -> None:
        """Show the same runs in another way."""
        self._shown = (self._shown + 1) % len(_PICTURES)
        self.show_pictures(self.app.situation)

    def show_pictures(self, now: Situation) -> None:
        """Draw the runs."""
        self.query_one("#materials", PictureView).picture = self._picture()
        theory = _PICTURES[self._shown] == "theory"
        finding = self.query_one("#finding")
        finding.display = theory
        if theory:
            lines = prediction_lines(prediction_sheet(self._materials.beside_theory))
            self.put("#finding", "\n".join(lines))

    @property
    def _setting(self) -> str:
        return setting_words(TURNED) if self.turned else ""

    def _picture(self) -> Picture:
        shown = _PICTURES[self._shown]
        if shown == "thickness":
            return thickness_chart(self._materials.runs)
        if shown == "theory":
            return theory_chart(self._materials.beside_theory)
        return material_bars(self._materials.runs, self._setting)
