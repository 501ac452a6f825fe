"""Repeatability building up: dots, mean and spread as the sweeps come."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from rig.model.rounding import format_figure
from rig.procedures.motions_ahead import hands_clear, run_ahead
from rig.tui.instructor.lesson_pictures import repeat_plot, sweep_points
from rig.tui.instructor.lesson_screen import LessonScreen
from rig.tui.state.keys import START_SHOWN
from rig.tui.state.situation import Situation
from rig.tui.widgets.picture_view import PictureView


class ClassRepeatScreen(LessonScreen):
    """Dot plot of the operate points, and the points of each sweep below it."""

    HEADING = "Repeat"
    SWEEPS = 30

    def compose_step(self) -> ComposeResult:
        """Yield the row that measures and both pictures."""
        yield self.measure_row()
        yield PictureView(id="dots")
        yield PictureView(id="points")
        yield Static("", id="finding")

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.run is not None and now.run.figures is not None:
            return "Which spread is the sensor's? PgDn goes on to the trimmer."
        return f"{START_SHOWN}, {hands_clear(run_ahead())}. Speeds: 1, 4."

    def show_pictures(self, now: Situation) -> None:
        """Draw what has been swept so far."""
        self.query_one("#dots", PictureView).picture = repeat_plot(now.run)
        self.query_one("#points", PictureView).picture = sweep_points(now.run)
        self.put("#finding", _finding(now))


def _finding(now: Situation) -> str:
    run = now.run
    if run is None or run.figures is None:
        return "Repeat accuracy comes with the end of the run."
    figures = run.figures
    operate = f"Operate, delay removed: {format_figure(figures.operate)}."
    repeat = figures.repeat_accuracy_short_term
    if repeat is None:
        return operate
    shown = format_figure(repeat)
    said = f"R, short term, not the 8 h test: {shown.brief}, n = {shown.n}."
    return f"{operate}\n{said}"
