"""The large live view, which a class can follow from the back of the room."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from rig.tui.instructor.lesson_pictures import points
from rig.tui.instructor.lesson_screen import LessonScreen
from rig.tui.pictures.scene import Scene
from rig.tui.pictures.state_plot import StatePlot
from rig.tui.rig.rig_events import Reading
from rig.tui.state.situation import Situation
from rig.tui.state.status_words import OPERATED, RELEASED, output_sign
from rig.tui.widgets.blocks import Blocks
from rig.tui.widgets.picture_view import PictureView

_FAR_RATIO = 1.5
_FAR_MORE_MM = 2.5
_FAR_MM = 20.0


class ClassLiveScreen(LessonScreen):
    """Target, sensor, gap, output and edges, large."""

    HEADING = "Live"

    def compose_step(self) -> ComposeResult:
        """Yield big figures, and sensor and target to scale."""
        yield Static("", id="who")
        yield Blocks(id="big-gap")
        yield Blocks(id="big-output")
        yield PictureView(id="scene")
        yield PictureView(id="loop")

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "PgDn goes on: let the class predict first. F4 measures."

    def show_pictures(self, now: Situation) -> None:
        """Draw it."""
        self.show_reading(self.app.reading)

    def show_reading(self, reading: Reading | None) -> None:
        """Show where the target is now and what the output does."""
        now = self.app.situation
        sign = output_sign(reading, now.sensor)
        gap_mm = None if reading is None else reading.gap_mm
        gap = self.query_one("#big-gap", Blocks)
        gap.text = "--- mm" if gap_mm is None else f"{gap_mm:.3f} mm"
        output = self.query_one("#big-output", Blocks)
        output.tone = sign.style if sign is OPERATED else "$foreground"
        known = sign in (OPERATED, RELEASED)
        output.text = f"{sign.glyph} {sign.word.upper()}" if known else "· UNKNOWN"
        self.put("#who", _who(now, reading))
        self._draw(now, gap_mm, operated=sign is OPERATED)

    def _draw(self, now: Situation, gap_mm: float | None, *, operated: bool) -> None:
        sensor, target = now.sensor, now.target
        far_mm = _FAR_MM
        if sensor is not None:
            far_mm = _FAR_RATIO * sensor.rated_distance_mm + _FAR_MORE_MM
        operate, release = points(now.run, "operate_mm"), points(now.run, "release_mm")
        self.query_one("#scene", PictureView).picture = Scene(
            far_mm=far_mm,
            gap_mm=gap_mm,
            operated=operated,
            sensor_name="sensor" if sensor is None else sensor.name,
            target_name="target" if target is None else target.name,
            operate_mm=operate,
            release_mm=release,
        )
        self.query_one("#loop", PictureView).picture = StatePlot(
            far_mm=far_mm,
            operate_mm=operate,
            release_mm=release,
            gap_mm=gap_mm,
            operated=operated,
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
