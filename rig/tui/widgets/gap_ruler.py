"""The gap ruler: face, target, and every sweep's two points as marks.

`draw_ruler` is pure: what is to be drawn goes in, lines of text come out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from textual.app import RenderResult
from textual.content import Content
from textual.events import Click
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

GUTTER = 10  # columns for the names of the lines
_PLACES_WITHOUT_SENSOR_MM = 20.0
_MARGIN_RATIO = 0.15  # beside the points in the close-up
_NARROWEST_MM = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class RulerPicture:
    """What a ruler shows, in mm of gap.

    Attributes:
        far_mm: Where the ruler ends.
        gap_mm: Where the target is; None if that is not known.
        band_mm: Coarse operate and release point.
        operate_mm: Operate points of the good sweeps.
        release_mm: Release points of the good sweeps.
        target_name: What the target is called.
        operated: Whether the output is operated.
    """

    far_mm: float = _PLACES_WITHOUT_SENSOR_MM
    gap_mm: float | None = None
    band_mm: tuple[float, float] | None = None
    operate_mm: tuple[float, ...] = ()
    release_mm: tuple[float, ...] = ()
    target_name: str = "target"
    operated: bool = False


@dataclass(frozen=True, slots=True)
class _Scale:
    low_mm: float
    high_mm: float
    columns: int

    def column(self, gap_mm: float) -> int:
        share = (gap_mm - self.low_mm) / (self.high_mm - self.low_mm)
        return round(share * (self.columns - 1))

    def holds(self, gap_mm: float) -> bool:
        return 0 <= self.column(gap_mm) < self.columns


def draw_ruler(picture: RulerPicture, width: int, *, close_up: bool) -> list[str]:
    """Return the five lines of a ruler."""
    columns = max(12, width - GUTTER - 1)
    scale = _scale(picture, columns, close_up=close_up)
    ticks, labels = _ticks(scale, picture.band_mm)
    return [
        _gutter("face    ▐█" if scale.low_mm == 0 else "close-up")
        + _target(picture, scale),
        _gutter("operate ◂") + _marks(picture.operate_mm, scale, "◂", "◀"),
        _gutter("release ▸") + _marks(picture.release_mm, scale, "▸", "▶"),
        _gutter("gap") + ticks,
        _gutter("mm") + labels,
    ]


def _gutter(name: str) -> str:
    return f"{name:<{GUTTER}}"[:GUTTER]


def _scale(picture: RulerPicture, columns: int, *, close_up: bool) -> _Scale:
    points = (*picture.operate_mm, *picture.release_mm, *(picture.band_mm or ()))
    if not close_up or not points:
        return _Scale(0.0, picture.far_mm, columns)
    low, high = min(points), max(points)
    margin = max(_NARROWEST_MM, _MARGIN_RATIO * (high - low))
    return _Scale(low - margin, high + margin, columns)


def _target(picture: RulerPicture, scale: _Scale) -> str:
    cells = [" "] * scale.columns
    gap_mm = picture.gap_mm
    if gap_mm is None:
        return "".join(cells)
    name = picture.target_name
    if scale.holds(gap_mm):
        at = scale.column(gap_mm)
        body = ("█▌ " + name) if at + len(name) + 3 <= scale.columns else f"{name} █▌"
        start = at if body.startswith("█") else at - len(name) - 1
    elif scale.column(gap_mm) < 0:
        body, start = f"◁ {name}", 0
    else:
        body = f"{name} ▷"
        start = scale.columns - len(body)
    for offset, sign in enumerate(body):
        if 0 <= start + offset < scale.columns:
            cells[start + offset] = sign
    return "".join(cells)


def _marks(points_mm: tuple[float, ...], scale: _Scale, one: str, more: str) -> str:
    counts = [0] * scale.columns
    for point_mm in points_mm:
        if scale.holds(point_mm):
            counts[scale.column(point_mm)] += 1
    signs = (" ", one)
    return "".join(signs[n] if n < 2 else more for n in counts)


def _ticks(scale: _Scale, band_mm: tuple[float, float] | None) -> tuple[str, str]:
    step_mm = _tick_step_mm(scale)
    line = ["─"] * scale.columns
    if band_mm is not None:
        first, last = (scale.column(edge_mm) for edge_mm in sorted(band_mm))
        for column in range(max(0, first), min(scale.columns, last + 1)):
            line[column] = "═"
    labels = [" "] * scale.columns
    decimals = max(0, -math.floor(math.log10(step_mm) + 1e-9))
    for index in range(
        math.ceil(scale.low_mm / step_mm - 1e-9),
        math.floor(scale.high_mm / step_mm + 1e-9) + 1,
    ):
        at = scale.column(index * step_mm)
        line[at] = "┴"
        text = f"{index * step_mm:.{decimals}f}"
        start = min(max(0, at - len(text) // 2), scale.columns - len(text))
        labels[start : start + len(text)] = text
    return "".join(line), "".join(labels)


def _tick_step_mm(scale: _Scale) -> float:
    """Return 1, 2 or 5 times a power of ten, some ten columns apart."""
    wanted_mm = (scale.high_mm - scale.low_mm) * 10 / scale.columns
    power = 10.0 ** math.floor(math.log10(wanted_mm))
    return next(n * power for n in (1, 2, 5, 10) if n * power >= wanted_mm * 0.999)


class GapRuler(Widget):
    """Shows where face, target and switching points are. A click changes the scale."""

    class CloseUpWanted(Message):
        """The ruler was clicked."""

    picture: reactive[RulerPicture] = reactive(RulerPicture)
    """What is drawn."""
    close_up: reactive[bool] = reactive(False)
    """Whether only the neighbourhood of the points is drawn."""

    def render(self) -> RenderResult:
        """Return the five lines, each in its style."""
        lines = draw_ruler(self.picture, self.size.width, close_up=self.close_up)
        target = "bold $accent" if self.picture.operated else "bold"
        styles = (target, "$text-success", "$text-warning", "$text-muted", "")
        return Content("\n").join(
            Content.assemble((line, style)) if style else Content(line)
            for line, style in zip(lines, styles, strict=True)
        )

    def on_click(self, event: Click) -> None:
        """Ask for the other scale."""
        event.stop()
        self.post_message(self.CloseUpWanted())
