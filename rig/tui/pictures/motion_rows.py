"""Which rows and columns each part of the picture of the motion gets. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

SMALLEST = (46, 9)
_FAR_ROWS = 14
_WIDE_LETTERS = 76
_TRACK_STEPS = (11, 13, 20, 26, 34, 44, 44, 52)
_FAN_STEPS = (17, 26, 42)
# What goes first where there is too little height
_LESSER: Final[tuple[dict[str, Any], ...]] = (
    {"legend": False},
    {"signs": 1},
    {"figures": 1, "large": False},
    {"track_rows": 2},
    {"fan": 0},
    {"track_rows": 1},
)
_APART = 3  # columns between the lenses


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionRows:
    """Where the parts are, in rows from the top and columns from the left.

    Attributes:
        width: Columns of the whole picture.
        letters: Rows of the state and of the gap: 1 is plain text.
        blank: Rows left free below them.
        track_rows: Rows of the track that the target glides along.
        body: Columns of the sensor.
        target: Columns of the target.
        fan: Rows between the ruler and the lenses, which lead from one to the other.
        dot_rows: Rows of the dots.
        signs: Rows of means with their ±, one a speed.
        figures: Rows of the figures below.
        large: Whether the first figure stands in block letters.
        legend: Whether a row at the foot says how far it is and what the signs mean.
    """

    width: int
    letters: int
    blank: int
    track_rows: int
    body: int
    target: int
    fan: int
    dot_rows: int
    signs: int
    figures: int
    large: bool
    legend: bool

    @property
    def track(self) -> int:
        """First row of the track."""
        return self.letters + self.blank

    @property
    def ruler(self) -> int:
        """Row of the ruler's line."""
        return self.track + self.track_rows

    @property
    def dots(self) -> int:
        """First row of the dots."""
        return self.ruler + 2 + self.fan

    @property
    def below(self) -> int:
        """How many rows there are below the dots."""
        return self.signs + 2 + self.figures + self.legend

    @property
    def sign_row(self) -> int:
        """First row of the means."""
        return self.dots + self.dot_rows

    @property
    def lens_axis(self) -> int:
        """Row of the lines below the lenses."""
        return self.sign_row + self.signs

    @property
    def figure_row(self) -> int:
        """First row of the figures."""
        return self.lens_axis + 2

    @property
    def lens_width(self) -> int:
        """Columns of a lens."""
        return (self.width - _APART) // 2

    def far_mm(self, least_mm: float, band_mm: float) -> float:
        """Return where the ruler ends: the band stands above the seam of the lenses.

        So no line from the ruler to a lens crosses another.
        """
        track = self.width - self.body - self.target
        return max(least_mm, band_mm * track / (0.5 * self.width - self.body))

    def column(self, share: float) -> float:
        """Return the column of a place on the ruler, 0 at the face to 1 at its end."""
        return self.body + share * (self.width - self.body - self.target)


def rows_for(
    width: int, height: int, speeds: int, *, far: bool = False
) -> MotionRows | None:
    """Share a size out among the parts; None where words say more.

    Args:
        width: Columns.
        height: Rows.
        speeds: Number of speeds that there are means for.
        far: Whether it is looked at from afar: state and gap are large first of all.
    """
    if width < SMALLEST[0] or height < SMALLEST[1]:
        return None
    rows = _wanted(width, height, speeds, far=far)
    for lesser in _LESSER:
        if rows.dots + 1 + rows.below > height:
            rows = replace(rows, **lesser)
    dot_rows = height - rows.dots - rows.below
    return replace(rows, dot_rows=dot_rows) if dot_rows > 0 else None


def _wanted(width: int, height: int, speeds: int, *, far: bool) -> MotionRows:
    letters = 1
    if width >= _WIDE_LETTERS and height >= (_FAR_ROWS if far else 27):
        letters = 10 if height >= 44 and width >= 170 else 5
    if far:
        height -= letters - 1  # the rest is as in a picture without letters
    large = height >= 36 and width >= 96
    return MotionRows(
        width=width,
        letters=letters,
        blank=int(height >= 30),
        track_rows=1 + sum(height >= step for step in _TRACK_STEPS),
        body=9 if width < 100 else 13 if width < 150 else 17,
        target=3 if width < 100 else 4,
        fan=sum(height >= step for step in _FAN_STEPS),
        dot_rows=1,
        signs=max(1, min(speeds, 2)) if height >= 14 else 1,
        figures=5 if large else max(1, min(1 + speeds, 3)) if height >= 18 else 1,
        large=large,
        legend=height >= 13,
    )
