"""Predict first, then measure: people's gaps and theory's beside the measured one."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from rig.inquiry.lesson import PREDICTED, Subject
from rig.inquiry.trimmer_setting import TURNED, setting_of
from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.procedures.motions_ahead import hands_clear, run_ahead
from rig.sheets.prediction_sheet import theory_row
from rig.tui.instructor.lesson_pictures import prediction_bars
from rig.tui.instructor.typing_screen import TypingScreen
from rig.tui.rig.bench_job import CarryOutRun
from rig.tui.rig.rig_events import Done, RigEvent
from rig.tui.state.keys import OTHER, START_SHOWN, bound
from rig.tui.state.situation import Situation
from rig.tui.widgets.picture_view import PictureView


class ClassPredictScreen(TypingScreen):
    """Theory and measurement stay hidden until somebody asks for them."""

    HEADING = "Predict"
    FIGURE = PREDICTED
    WHAT = "predicts"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            OTHER,
            "theory",
            "Theory",
            id="lesson.theory",
            tooltip="Show or hide it, with what was measured before",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._theory_for: set[Subject | None] = set()
        self._measured_for: set[Subject | None] = set()

    def compose_step(self) -> ComposeResult:
        """Yield the fields, the row that measures, and the comparison."""
        yield from self.typing_row()
        yield self.measure_row()
        yield PictureView(id="predictions")
        yield Static("", id="finding")

    def action_theory(self) -> None:
        """Show or hide what theory says of what is mounted, and a run from before."""
        self._theory_for ^= {self.subject}
        self.show_again()

    def hear(self, event: RigEvent) -> None:
        """Show the answer once it was measured here, where people had predicted."""
        super().hear(event)
        ended = isinstance(event, Done) and isinstance(event.job, CarryOutRun)
        if ended and self.is_current:
            self._measured_for.add(self.subject)
            self.show_again()

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._measured(now) is not None:
            return "Compare. v shows theory. Choose another target, or PgDn goes on."
        if self._on_record(now) is not None:
            return "Type name and gap, Enter adds. When all have, v shows the answer."
        return f"When all have: {START_SHOWN}, {hands_clear(run_ahead())}."

    def _measured(self, now: Situation) -> Figure | None:
        """Return the operate point, hidden until it is measured here or asked for."""
        open_here = self.subject in self._measured_for | self._theory_for
        return self._on_record(now) if open_here else None

    def _on_record(self, now: Situation) -> Figure | None:
        """Return the operate point of the last run, if it was of what is mounted."""
        run = now.run
        if run is None or run.figures is None:
            return None
        header = run.header
        same = (header.sensor, header.target) == (now.sensor, now.target)
        turned = setting_of(header) == TURNED
        return run.figures.operate if same and turned == self.turned else None

    def show_pictures(self, now: Situation) -> None:
        """Draw the comparison and say who came nearest."""
        measured = self._measured(now)
        predicted = self.typed.of(self.book.predicted)
        theory = self.book.theory if self.subject in self._theory_for else None
        bars = prediction_bars(predicted, theory, measured)
        self.query_one("#predictions", PictureView).picture = bars
        words = [_finding(predicted, measured)]
        if theory is not None:
            words.append(f"◆ {theory_row(theory).sentence}")
        self.put("#finding", "\n".join(words))


def _finding(predicted: dict[str, tuple[float, ...]], measured: Figure | None) -> str:
    if measured is None:
        return "Measured: hidden until everybody has predicted."
    words = f"Measured operate point: {format_figure(measured)}."
    if predicted:
        off = {who: values[-1] - measured.value for who, values in predicted.items()}
        nearest = min(off, key=lambda who: abs(off[who]))
        words += f" Nearest: {nearest}, {off[nearest]:+.3f} mm."
    return words
