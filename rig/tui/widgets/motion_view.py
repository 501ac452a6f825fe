"""The motion, live: target over the ruler, output, edges dropping onto their piles."""

from __future__ import annotations

import time
from typing import ClassVar, Final

from rich.segment import Segment
from textual import getters
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.geometry import Region
from textual.strip import Strip
from textual.timer import Timer
from textual.widget import Widget
from textual.widgets import Static

from rig.tui.pictures.glide import Glide
from rig.tui.pictures.grid import Grid
from rig.tui.pictures.motion_drawing import Drawn
from rig.tui.pictures.motion_rows import rows_for
from rig.tui.pictures.motion_scene import Fall, MotionScene, Pose, tell_motion
from rig.tui.rig.rig_events import Reading
from rig.tui.state.app_services import AppServices
from rig.tui.state.motion_of import motion_scene, reported_pose
from rig.tui.state.situation import Situation
from rig.tui.widgets.backlog import takes_more
from rig.tui.widgets.ink_styles import InkStyles
from rig.tui.widgets.told_view import ToldView

FRAMES_A_SECOND: Final = 15
CALM_FRAMES_A_SECOND: Final = 4
_WORDS_EVERY_S: Final = 1.0  # a voice that reads them needs that long
_FALL_S: Final = 0.55
_MOST_FALLING: Final = 6
_SILENT_S: Final = 0.5


class MotionCanvas(Widget):
    """Shows a grid; only the cells that changed go to the terminal."""

    def __init__(self) -> None:
        super().__init__(id="motion-canvas")
        self._grid: Grid | None = None
        self._strips: dict[int, Strip] = {}
        self._styles = InkStyles()

    def show(self, grid: Grid) -> None:
        """Show another grid."""
        before, self._grid = self._grid, grid
        same = before is not None and (before.width, before.height) == (
            grid.width,
            grid.height,
        )
        if before is None or not same:
            self._strips.clear()
            self.refresh()
            return
        changed = grid.changed(before)
        for row, _, _ in changed:
            self._strips.pop(row, None)
        if changed:
            self.refresh(*(Region(at, row, wide, 1) for row, at, wide in changed))

    def notify_style_update(self) -> None:
        """Take other colours."""
        super().notify_style_update()
        self._strips.clear()
        self._styles = InkStyles()

    def render_line(self, y: int) -> Strip:
        """Return a row."""
        grid = self._grid
        if grid is None or y >= grid.height:
            return Strip.blank(self.size.width, self.rich_style)
        if y not in self._strips:
            self._strips[y] = Strip(
                [
                    Segment(text, self._styles.of(self.app, ink, ground, bold=bold))
                    for text, ink, ground, bold in grid.runs(y)
                ],
                grid.width,
            )
        return self._strips[y]


class MotionView(ToldView):
    """Draws a motion as it is reported, or tells it in words.

    `show` gives it what stands, `show_reading` where the target is. It draws by itself
    while something moves, and rests otherwise.

    Args:
        id: Name of the view on its screen.
        far: Whether it is looked at from afar.

    Attributes:
        frames: How often it was drawn or told.
    """

    app = getters.app(AppServices)
    DEFAULT_CSS: ClassVar[str] = """
    MotionView { width: 1fr; height: 1fr; background: $background; }
    MotionView > MotionCanvas { width: 1fr; height: 1fr; }
    MotionView > VerticalScroll { display: none; width: 1fr; height: 1fr; }
    MotionView.-words > MotionCanvas { display: none; }
    MotionView.-words > VerticalScroll { display: block; }
    """

    def __init__(self, *, id: str, far: bool = False) -> None:
        super().__init__(id=id)
        self._far = far
        self._scene = MotionScene()
        self._glide = Glide()
        self._drawn: Drawn | None = None
        self._falls: list[tuple[float, bool, float]] = []  # begun at, operate, gap
        self._timer: Timer | None = None
        self._shown_s = 0.0
        self._behind = False  # whether a reading is left out for now
        self.frames = 0

    @property
    def falling(self) -> int:
        """How many points are on their way to their piles."""
        return len(self._falls)

    @property
    def at_rest(self) -> bool:
        """Whether all that was reported is shown."""
        return self._drawn is not None and not self._goes_on(self._shown_s)

    def compose(self) -> ComposeResult:
        """Yield the picture, and the same in words."""
        yield MotionCanvas()
        with VerticalScroll():
            yield Static("", id="motion-words")

    def on_mount(self) -> None:
        """Look for silence now and then."""
        self.in_words = self.in_words or self.app.pictures_in_words()
        self._timer = self.set_interval(1 / FRAMES_A_SECOND, self._tick, pause=True)
        self.set_interval(_SILENT_S, self._look)

    # ------------------------------------------------------------- what comes in

    def show(self, now: Situation) -> None:
        """Show how things stand; points that came since fall from the ruler."""
        scene = motion_scene(now)
        if scene == self._scene:
            return
        before, self._scene = self._scene, scene
        if scene.run and scene.run == before.run and not self._calm():
            self._let_fall(before, scene)
        else:
            self._falls.clear()
        self._drawn = None
        if takes_more(self.app._driver):
            self._draw()
        else:
            self._resume()

    def show_reading(self, now: Situation, reading: Reading | None) -> None:
        """Let the target glide to where it is reported."""
        at_s = time.monotonic()
        self._glide.see(reported_pose(now, reading), at_s)
        if self._calm() or self._in_words_now():
            self._draw_in_time(at_s)
        elif self._goes_on(at_s):
            self._resume()
        elif takes_more(self.app._driver):
            self._draw()
        else:
            self._resume()

    def on_resize(self) -> None:
        """Draw in the new size."""
        self._drawn = None
        self._draw()
        self._resume()

    def watch_in_words(self) -> None:
        """Draw it, or tell it."""
        self._draw()

    # ---------------------------------------------------------------- the frames

    def _let_fall(self, before: MotionScene, now: MotionScene) -> None:
        at_s = time.monotonic()
        for operate, old, new in (
            (True, before.operate_points(), now.operate_points()),
            (False, before.release_points(), now.release_points()),
        ):
            if now.operate and not before.operate:
                continue
            come = new[len(old) :]
            self._falls += [(at_s, operate, gap_mm) for gap_mm in come]
        self._falls = self._falls[-_MOST_FALLING:]
        if self._falls:
            self._resume()

    def _resume(self) -> None:
        if self._timer is not None:
            self._timer.resume()

    def _goes_on(self, at_s: float) -> bool:
        return bool(self._falls) or self._glide.goes_on(at_s)

    def _tick(self) -> None:
        at_s = time.monotonic()
        if takes_more(self.app._driver):
            self._draw()
            if not self._goes_on(at_s) and self._timer is not None:
                self._timer.pause()

    def _look(self) -> None:
        """Show what was left out, or that nothing was heard for a while."""
        silent = self._scene.doing and self.app.link_age_s() > _SILENT_S
        if silent or self._behind:
            self._draw()

    def _draw_in_time(self, at_s: float) -> None:
        every_s = _WORDS_EVERY_S if self._in_words_now() else 1 / CALM_FRAMES_A_SECOND
        self._behind = at_s - self._shown_s < every_s and bool(self._scene.doing)
        if not self._behind:
            self._draw()

    def _draw(self) -> None:
        size = self.size
        if not size.width or not self.is_attached or not self.screen.is_current:
            return
        at_s = self._shown_s = time.monotonic()
        self.frames += 1
        self._behind = False
        words = self._in_words_now()
        self.set_class(words, "-words")
        pose = self._pose(at_s)
        if words:
            text = self.query_one("#motion-words", Static)
            told = "\n".join(tell_motion(self._scene, pose))
            if text.content != told:
                text.update(told)
            return
        landed = [fall for fall in self._falls if at_s - fall[0] >= _FALL_S]
        if landed:
            self._falls = [fall for fall in self._falls if fall not in landed]
            self._drawn = None
        if self._drawn is None:
            falling = [(operate, gap_mm) for _, operate, gap_mm in self._falls]
            self._drawn = Drawn(
                self._scene, size.width, size.height, falling, far=self._far
            )
        falls = [
            Fall(gap_mm=gap_mm, operate=operate, share=(at_s - begun_s) / _FALL_S)
            for begun_s, operate, gap_mm in self._falls
        ]
        grid = self._drawn.moving(pose, falls)
        self.query_one(MotionCanvas).show(grid)

    def _pose(self, at_s: float) -> Pose:
        age_s = self.app.link_age_s() if self._scene.doing else 0.0
        silent_s = age_s if age_s > _SILENT_S else 0.0
        if self._calm():
            return self._glide.newest(silent_s=silent_s)
        return self._glide.pose(at_s, silent_s=silent_s)

    def _calm(self) -> bool:
        return self.app.motion_reduced()

    def _in_words_now(self) -> bool:
        size = self.size
        small = bool(size) and rows_for(size.width, size.height, 0) is None
        return self.in_words or small

    def words(self) -> list[str]:
        """Return what it shows, in words."""
        return tell_motion(self._scene, self._glide.newest())
