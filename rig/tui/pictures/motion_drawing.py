"""Draws the motion: target over the ruler, output, edges piling up below it. Pure.

`still` is what stands until the next edge; `moving` puts the target, the gap and the
falling dots on a copy of it.
"""

from __future__ import annotations

from collections.abc import Sequence

from rig.sheets.running_means import RunningMean
from rig.tui.pictures.block_letters import block_letters
from rig.tui.pictures.grid import Grid, Ink
from rig.tui.pictures.lens import Lens, Piles, centre_of, half_of, piles_for
from rig.tui.pictures.motion_rows import MotionRows, rows_for
from rig.tui.pictures.motion_scene import (
    SCATTER_WORDS,
    STATES,
    Fall,
    MotionScene,
    Pose,
    Way,
    progress_words,
    tell_motion,
)
from rig.tui.pictures.scale import Scale

_TICKS_APART = 11
_LENS_TICKS_APART = 9
_TURNS_DOWN = 0.35  # share of a fall that goes along the fan
_BESIDE_LARGE = 37  # columns of a mean with speed and n
_NO_FACE = "where the face is, is not known yet"
_BEAD = {2: ("▟█▙", "▜█▛"), 3: ("▟███▙", "█████", "▜███▛")}
_RING = {2: ("╭─╮", "╰─╯"), 3: ("╭───╮", "│   │", "╰───╯")}
_BEAD[4] = ("▗▟███▙▖", "███████", "███████", "▝▜███▛▘")
_RING[4] = ("╭─────╮", "│     │", "│     │", "╰─────╯")
_OPERATE = (Ink.OPERATE, Ink.OPERATE_AGAIN, Ink.OPERATE_BAND)
_RELEASE = (Ink.RELEASE, Ink.RELEASE_AGAIN, Ink.RELEASE_BAND)


class Drawn:
    """What stands until the next edge, drawn in a size.

    Args:
        scene: What to draw.
        width: Columns.
        height: Rows.
        falling: Points on their way, which lie on no pile yet.
        far: Whether it is looked at from afar.

    Attributes:
        lenses: What lies below the ruler, of operate and of release points.
    """

    def __init__(
        self,
        scene: MotionScene,
        width: int,
        height: int,
        falling: Sequence[tuple[bool, float]] = (),
        *,
        far: bool = False,
    ) -> None:
        self._scene = scene
        self._operate = scene.operate_means()
        self._release = scene.release_means()
        speeds = max(len(self._operate), len(self._release))
        self._rows = rows_for(width, height, speeds, far=far)
        self._still = Grid(width, height)
        operate_mm, release_mm = scene.operate_points(), scene.release_points()
        half_mm = half_of([operate_mm, release_mm])
        wide = 1 if self._rows is None else self._rows.lens_width
        self.lenses = tuple(
            Lens(centre_of(points, half_mm), half_mm, left, max(2, wide))
            for points, left in ((operate_mm, 0), (release_mm, width - wide))
        )
        self._falling = falling
        self._far_mm = scene.far_mm
        self._piles = Piles(1, 0)
        self._tops: dict[tuple[bool, int], int] = {}
        if self._rows is not None:
            self._far_mm = self._rows.far_mm(scene.far_mm, scene.band_mm)
            self._draw_still(self._rows)

    @property
    def first_dot_row(self) -> int:
        """Row from which dots stand; 0 where there is room for words only."""
        return 0 if self._rows is None else self._rows.dots

    def moving(self, pose: Pose, falls: Sequence[Fall] = ()) -> Grid:
        """Return the picture at a moment."""
        rows = self._rows
        grid = self._still.copy()
        if rows is None:
            for row, line in enumerate(tell_motion(self._scene, pose)[: grid.height]):
                grid.put(0, row, line)
            return grid
        self._state(grid, rows, pose)
        self._target(grid, rows, pose)
        for fall in falls:
            self._fall(grid, rows, fall)
        return grid

    # ----------------------------------------------------------- what stands still

    def _draw_still(self, rows: MotionRows) -> None:
        grid, scene = self._still, self._scene
        ends = rows.width - rows.body
        grid.shade(rows.body, rows.track, ends, rows.track_rows, Ink.TRACK)
        self._piles = piles_for(
            (
                (self.lenses[0], scene.operate_points()),
                (self.lenses[1], scene.release_points()),
            ),
            rows.dot_rows,
        )
        for operate, lens in zip((True, False), self.lenses, strict=True):
            self._lens(grid, rows, lens, operate=operate)
        if rows.legend:
            _legend(grid, scene, self._operate)

    def _lens(self, grid: Grid, rows: MotionRows, lens: Lens, *, operate: bool) -> None:
        scene = self._scene
        means = self._operate if operate else self._release
        points = scene.operate_points() if operate else scene.release_points()
        ink, again, band = _OPERATE if operate else _RELEASE
        name = "operate ◂" if operate else "release ▸"
        if not points:
            words = f"{name} no point yet"
            grid.put(lens.left, rows.lens_axis - 1, words, Ink.MUTE)
            grid.put(lens.left, rows.lens_axis, "─" * lens.cells, Ink.FAINT)
            return
        self._fan(grid, rows, lens, sum(points) / len(points), ink)
        self._band(grid, rows, lens, means, band)
        self._pile_up(grid, rows, lens, operate=operate)
        for row, mean in enumerate(means[: rows.signs]):
            _mean_sign(grid, rows.sign_row + row, lens, mean, ink if not row else again)
        _lens_axis(grid, rows.lens_axis, lens)
        figure = scene.operate if operate else scene.release
        _figures(grid, rows, lens, name, figure, means, ink)

    def _fan(
        self, grid: Grid, rows: MotionRows, lens: Lens, at_mm: float, ink: Ink
    ) -> None:
        column = rows.column(at_mm / self._far_mm)
        if rows.body <= column < rows.width:
            for row in range(rows.track_rows):
                grid.put(round(column), rows.track + row, "┊", ink)
        if rows.fan:
            top, foot = rows.ruler + 2.0, rows.ruler + 1.9 + rows.fan
            for end in (lens.left, lens.left + lens.cells - 1):
                grid.slant((column, top), (float(end), foot), ink)

    def _band(
        self,
        grid: Grid,
        rows: MotionRows,
        lens: Lens,
        means: Sequence[RunningMean],
        band: Ink,
    ) -> None:
        half_mm = means[0].half_mm
        if half_mm is None:
            return
        low, high = (
            round(lens.column(means[0].mean_mm + side * half_mm)) for side in (-1, 1)
        )
        low, high = max(lens.left, low), min(lens.left + lens.cells - 1, high)
        grid.shade(low, rows.dots, high - low + 1, rows.dot_rows, band)

    def _pile_up(
        self, grid: Grid, rows: MotionRows, lens: Lens, *, operate: bool
    ) -> None:
        scene, piles = self._scene, self._piles
        slowest = scene.slowest_mm_s()
        ink, again, _ = _OPERATE if operate else _RELEASE
        foot = rows.dots + rows.dot_rows - 1
        points = [
            (gap_mm, point.speed_mm_s == slowest)
            for point in scene.points
            if (gap_mm := point.operate_mm if operate else point.release_mm) is not None
        ]
        for of, falling_mm in self._falling:
            # The newest of those that are equal
            found = [n for n, one in enumerate(points) if one[0] == falling_mm]
            if of is operate and found:
                del points[found[-1]]
        places = piles.places(lens, [gap_mm for gap_mm, _ in points]).tolist()
        counts: dict[int, int] = {}
        for at, (_, first) in zip(places, points, strict=True):
            up = counts.get(at, 0)
            counts[at] = up + 1
            if piles.rows:
                _dot(grid, at, foot - up * piles.rows, piles.rows, first, ink, again)
        if not piles.rows:
            for at, count in counts.items():
                grid.pillar(
                    at, piles.width, foot, count * rows.dot_rows / piles.most, ink
                )
            words = f"highest bar {piles.most} sweeps"
            grid.put(lens.left, rows.dots, words, Ink.MUTE)
        self._tops |= {(operate, at): count for at, count in counts.items()}

    # ----------------------------------------------------------------- what moves

    def _state(self, grid: Grid, rows: MotionRows, pose: Pose) -> None:
        operated = pose.output == STATES[0]
        ink = Ink.LAMP if operated else Ink.PLAIN
        gap = "---" if pose.gap_mm is None else f"{pose.gap_mm:.3f}"
        if rows.letters == 1:
            sign = "◉" if operated else "○" if pose.output in STATES else "·"
            at = grid.put(0, 0, f"{sign} {pose.output.upper()}", ink, bold=True)
            self._way(grid, at + 2, 0, pose)
            words = f"gap {gap} mm"
            grid.put(rows.width - len(words), 0, words, bold=True)
            return
        known = pose.output in STATES
        word = pose.output.upper() if known else "UNKNOWN"
        right = block_letters(gap, rows.width // 3, rows.letters)
        left = block_letters(word, rows.width - len(right[0]) - 24, rows.letters)
        for row, line in enumerate(left):
            grid.put(0, row, line, ink)
        begin = rows.width - len(right[0]) - 8
        for row, line in enumerate(right):
            grid.put(begin, row, line)
        grid.put(rows.width - 7, rows.letters - 2, "no ±", Ink.MUTE)
        grid.put(rows.width - 7, rows.letters - 1, "mm live", Ink.MUTE)
        self._way(grid, len(left[0]) + 3, rows.letters - 1, pose)

    def _way(self, grid: Grid, column: int, row: int, pose: Pose) -> None:
        sign = {Way.APPROACH: "◂ ", Way.RETREAT: "▸ "}.get(pose.way, "")
        at = grid.put(column, row, f"{sign}{pose.way}", Ink.MUTE)
        if pose.silent_s:
            grid.put(at + 2, row, f"heard {pose.silent_s:.1f} s ago", Ink.CARE)

    def _target(self, grid: Grid, rows: MotionRows, pose: Pose) -> None:
        scene = self._scene
        _sensor(grid, rows, scene.sensor_name, pose)
        middle = rows.track + rows.track_rows // 2
        name = scene.target_name
        if pose.gap_mm is None:
            self._without_face(grid, rows, pose)
            return
        _ruler(grid, rows, self._far_mm)
        for means, mark, ink in (
            (self._operate, "◂", Ink.OPERATE),
            (self._release, "▸", Ink.RELEASE),
        ):
            if means:
                column = round(rows.column(means[0].mean_mm / self._far_mm))
                if rows.body <= column < rows.width:
                    grid.put(column, rows.ruler, mark, ink, bold=True)
        if pose.gap_mm > self._far_mm:
            words = f"{name}, {pose.gap_mm:.1f} mm away ▷"
            grid.put_left_of(rows.width, middle, words, Ink.TARGET)
            return
        left = rows.column(max(0.0, pose.gap_mm) / self._far_mm)
        self._body(grid, rows, left, pose)
        if rows.track_rows > 2 and left - rows.body > 16:
            _gap_line(grid, rows.body, int(left) - 1, middle)
        _name(grid, rows, name, left, middle)

    def _body(self, grid: Grid, rows: MotionRows, left: float, pose: Pose) -> None:
        if pose.silent_s:
            # Nothing new was heard: an outline where it was last
            for column in (round(left), round(left) + rows.target - 1):
                last = rows.ruler - 1
                grid.upright(column, rows.track, last, "╎", Ink.TARGET)
            return
        right = left + rows.target
        grid.block(left, right, rows.track, rows.track_rows, Ink.TARGET)

    def _without_face(self, grid: Grid, rows: MotionRows, pose: Pose) -> None:
        last = rows.ruler - 1
        grid.upright(rows.body - 1, rows.track, last, "┊", Ink.SENSOR)
        grid.put(rows.body, rows.ruler, "─" * (rows.width - rows.body), Ink.FAINT)
        grid.put_left_of(rows.width, rows.ruler + 1, "home", Ink.MUTE)
        words = _NO_FACE
        if pose.from_home_mm is not None:
            share = 1.0 - pose.from_home_mm / self._scene.travel_mm
            self._body(grid, rows, rows.column(min(1.0, max(0.0, share))), pose)
            words = f"{pose.from_home_mm:.1f} mm from home; {_NO_FACE}"
        grid.put(rows.body, rows.ruler + 1, words, Ink.MUTE)

    def _fall(self, grid: Grid, rows: MotionRows, fall: Fall) -> None:
        lens = self.lenses[0 if fall.operate else 1]
        at = int(self._piles.places(lens, [fall.gap_mm])[0])
        size = max(1, self._piles.rows)
        up = self._tops.get((fall.operate, at), 0)
        foot = rows.dots + rows.dot_rows - 1 - up * size * bool(self._piles.rows)
        top = rows.ruler + 1
        begin = rows.column(fall.gap_mm / self._far_mm)
        along = min(1.0, fall.share / _TURNS_DOWN)
        column = begin + (at + 0.5 * (size - 1) - begin) * along
        row = round(top + (foot - top) * fall.share**2)
        ink = Ink.OPERATE if fall.operate else Ink.RELEASE
        grid.put(round(column), max(top, min(foot, row)), "●", ink, bold=True)


def _sensor(grid: Grid, rows: MotionRows, name: str, pose: Pose) -> None:
    last = rows.ruler - 1
    operated = pose.output == STATES[0]
    grid.shade(0, rows.track, rows.body - 1, rows.track_rows, Ink.BODY)
    grid.upright(rows.body - 1, rows.track, last, "█", Ink.SENSOR)
    shown = name if len(name) < rows.body else ""
    if rows.track_rows < 5:
        sign = "◉" if operated else "○"
        grid.put((rows.body - 2) // 2, rows.track, sign, Ink.LAMP, bold=True)
        if rows.track_rows > 1:
            grid.put(0, last, shown, Ink.PLAIN)
        return
    lamp = (_BEAD if operated else _RING)[3 if rows.track_rows >= 7 else 2]
    begin = (rows.body - 1 - len(lamp[0])) // 2
    for row, line in enumerate(lamp, start=rows.track + 1):
        grid.put(begin, row, line, Ink.LAMP)
    grid.put((rows.body - 1 - len(shown)) // 2, last, shown, Ink.PLAIN)


def _ruler(grid: Grid, rows: MotionRows, far_mm: float) -> None:
    cells = round(rows.column(1.0)) - rows.body + 1
    along = Scale(0.0, far_mm, cells)
    row = rows.ruler
    grid.put(max(0, rows.body - 8), row, "gap, mm", Ink.MUTE)
    grid.put(rows.body, row, "─" * cells, Ink.FAINT)
    for cell, label in along.ticks(_TICKS_APART):
        grid.put(rows.body + cell, row, "┴", Ink.FAINT)
        begin = rows.body + cell - len(label) // 2
        if begin + len(label) <= rows.width:
            grid.put(begin, row + 1, label, Ink.MUTE)


def _gap_line(grid: Grid, first: int, last: int, row: int) -> None:
    line = "◂" + "─" * (last - first - 1) + "▸"
    grid.put(first, row, line, Ink.MUTE)
    words = " gap "
    grid.put((first + last - len(words)) // 2, row, words, Ink.MUTE)


def _name(grid: Grid, rows: MotionRows, name: str, left: float, row: int) -> None:
    begin = round(left) + rows.target + 1
    if begin + len(name) <= rows.width:
        grid.put(begin, row, name, Ink.TARGET)
    elif rows.track_rows > 1:
        end = round(left) - 1
        where = row - 1 if rows.track_rows > 2 else row
        grid.put(end - len(name), where, name, Ink.TARGET)


def _dot(
    grid: Grid, column: int, foot: int, size: int, first: bool, ink: Ink, again: Ink
) -> None:
    """Draw a dot: full at the slowest speed, a ring at the others."""
    shape = ink if first else again
    if size == 1:
        grid.put(column, foot, "●" if first else "○", shape)
        return
    for row, line in enumerate((_BEAD if first else _RING)[size]):
        grid.put(column, foot - size + 1 + row, line, shape)


def _mean_sign(grid: Grid, row: int, lens: Lens, mean: RunningMean, ink: Ink) -> None:
    """Draw a mean with its ±; an end beyond the lens is an arrow."""
    first, last = lens.left, lens.left + lens.cells - 1
    middle = round(lens.column(mean.mean_mm))
    if mean.half_mm is not None:
        low, high = (
            round(lens.column(mean.mean_mm + side * mean.half_mm)) for side in (-1, 1)
        )
        shown = (max(first, low), min(last, high))
        grid.put(shown[0], row, "━" * (shown[1] - shown[0] + 1), ink)
        grid.put(shown[0], row, "┣" if low >= first else "◂", ink)
        grid.put(shown[1], row, "┫" if high <= last else "▸", ink)
    if first <= middle <= last:
        grid.put(middle, row, "┃", ink, bold=True)


def _lens_axis(grid: Grid, row: int, lens: Lens) -> None:
    grid.put(lens.left, row, "─" * lens.cells, Ink.FAINT)
    ticks = lens.ticks(_LENS_TICKS_APART)
    end = lens.left + lens.cells
    behind = lens.left
    for number, (column, label) in enumerate(ticks):
        grid.put(column, row, "┴", Ink.FAINT)
        if float(label) == 0.0:
            words = f"{lens.centre_mm:.4f} mm"
        else:
            unit = " µm" if number == len(ticks) - 1 else ""
            sign = "+" if float(label) > 0 else ""
            words = f"{sign}{label}{unit}"
        begin = max(lens.left, min(column - len(words) // 2, end - len(words)))
        if begin >= behind:
            grid.put(begin, row + 1, words, Ink.MUTE)
            behind = begin + len(words) + 1


def _figures(
    grid: Grid,
    rows: MotionRows,
    lens: Lens,
    name: str,
    figure: str,
    means: Sequence[RunningMean],
    ink: Ink,
) -> None:
    """Write the figures below a lens, each in the longest words that fit."""
    lines: list[tuple[str, ...]] = []
    if figure:
        lines.append((f"{name} {figure}", f"{name[-1]} {figure}"))
    lines += [_mean_words(name, mean) for mean in means]
    row, left = rows.figure_row, lens.left
    if rows.large:
        value = figure.partition(" ")[0].lstrip("(") if figure else means[0].mean
        large = block_letters(value, lens.cells - _BESIDE_LARGE, rows.figures)
        if len(large) == rows.figures:
            for number, line in enumerate(large):
                grid.put(left, row + number, line, ink)
            left += len(large[0]) + 3
    room = lens.left + lens.cells - left
    for number, forms in enumerate(lines[: rows.figures]):
        words = next((form for form in forms if len(form) <= room), "")
        grid.put(left, row + number, words, ink, bold=number == 0)


def _legend(grid: Grid, scene: MotionScene, means: Sequence[RunningMean]) -> None:
    """Say at the foot how far it is, and what dots and ± mean."""
    row = grid.height - 1
    at = 0
    if scene.wanted:
        at = grid.put(0, row, progress_words(scene), bold=True) + 3
    if not means:
        return
    others = "".join(f" ○ {mean.speed}" for mean in means[1:])
    speeds = f"● {means[0].speed}{others} mm/s, delay in"
    for words in (speeds, f"┣┃┫ {SCATTER_WORDS}"):
        if at + len(words) <= grid.width:
            at = grid.put(at, row, words, Ink.MUTE) + 3


def _mean_words(name: str, mean: RunningMean) -> tuple[str, ...]:
    return (
        f"{name} at {mean.speed} mm/s {mean.words} {mean.counts}",
        f"{name} at {mean.speed} mm/s {mean.words} n {mean.n}",
        f"{name[-1]} {mean.speed} mm/s {mean.words} n {mean.n}",
        f"{name[-1]} {mean.words} n {mean.n}",
        mean.words,
    )
