"""The large live view, which a class can follow from the back of the room."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from rig.tui.instructor.lesson_pictures import points
from rig.tui.instructor.lesson_screen import LessonScreen
from rig.tui.pictures.state_plot import StatePlot
from rig.tui.rig.rig_events import Reading
from rig.tui.state.motion_of import motion_scene
from rig.tui.state.situation import Situation
from rig.tui.state.status_words import OPERATED, output_sign
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.picture_view import PictureView


class ClassLiveScreen(LessonScreen):
    """Target, sensor, gap, output and edges, large."""

    HEADING = "Live"

    def compose_step(self) -> ComposeResult:
        """Yield the motion, and the output over the gap."""
        yield Static("", id="who")
        yield MotionView(id="live-motion", far=True)
        yield PictureView(id="loop")

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "PgDn goes on: let the class predict first. F4 measures."

    def show_pictures(self, now: Situation) -> None:
        """Draw it."""
        self.query_one(MotionView).show(now)
        self.show_reading(self.app.reading)

    def show_reading(self, reading: Reading | None) -> None:
        """Show where the target is now and what the output does."""
        now = self.app.situation
        self.query_one(MotionView).show_reading(now, reading)
        self.put("#who", _who(now, reading))
        self.query_one("#loop", PictureView).picture = StatePlot(
            far_mm=motion_scene(now).far_mm,
            operate_mm=points(now.run, "operate_mm"),
            release_mm=points(now.run, "release_mm"),
            gap_mm=None if reading is None else reading.gap_mm,
            operated=output_sign(reading, now.sensor) is OPERATED,
        )


def _who(now: Situation, reading: Reading | None) -> str:
    sensor = "no sensor" if now.sensor is None else now.sensor.name
    target = "no target" if now.target is None else now.target.name
    parts = [f"gap of {target} from {sensor}"]
    if reading is not None:
        parts.append(f"edges {reading.edges}")
        if reading.edge_gap_mm is not None:
            parts.append(f"last edge latched at {reading.edge_gap_mm:.3f} mm")
    return "   ".join(parts)
