"""Which rows and columns each part of the picture of the motion gets. Pure."""

from __future__ import annotations

from dataclasses import dataclass

SMALLEST = (46, 9)
_APART = 3  # columns between the lenses


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionRows:
    """Where the parts are, in rows from the top and columns from the left.

    Attributes:
        width: Columns of the whole picture.
        letters: Rows of the state and of the gap: 1 is plain text.
        track: First row of the track that the target glides along.
        track_rows: How many it has.
        body: Columns of the sensor.
        target: Columns of the target.
        fan: Rows between the ruler and the lenses, which lead from one to the other.
        dots: First row of the dots.
        dot_rows: How many there are.
        signs: Rows of means with their ±, one a speed.
        figures: Rows of the figures below.
        large: Whether the first figure stands in block letters.
        legend: Whether a row at the foot says how far it is and what the signs mean.
    """

    width: int
    letters: int
    track: int
    track_rows: int
    body: int
    target: int
    fan: int
    dots: int
    dot_rows: int
    signs: int
    figures: int
    large: bool
    legend: bool

    @property
    def ruler(self) -> int:
        """Row of the ruler's line."""
        return self.track + self.track_rows

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


def rows_for(width: int, height: int, speeds: int) -> MotionRows | None:
    """Share a size out among the parts; None where words say more.

    Args:
        width: Columns.
        height: Rows.
        speeds: Number of speeds that there are means for.
    """
    if width < SMALLEST[0] or height < SMALLEST[1]:
        return None
    letters = 5 if height >= 27 and width >= 84 else 1
    large = height >= 36 and width >= 96
    signs = max(1, min(speeds, 2)) if height >= 14 else 1
    figures = 5 if large else max(1, min(1 + speeds, 3)) if height >= 18 else 1
    fan = (height >= 17) + (height >= 26) + (height >= 42)
    steps = (11, 13, 20, 26, 34, 44, 52)
    track_rows = 1 + sum(height >= step for step in steps) + (height >= 44)
    track = letters + (height >= 30)
    dots = track + track_rows + 2 + fan
    legend = height >= 13
    below = signs + 2 + figures + legend + (height >= 40)
    return MotionRows(
        width=width,
        letters=letters,
        track=track,
        track_rows=track_rows,
        body=9 if width < 100 else 13 if width < 150 else 17,
        target=3 if width < 100 else 4,
        fan=fan,
        dots=dots,
        dot_rows=max(1, height - dots - below),
        signs=signs,
        figures=figures,
        large=large,
        legend=legend,
    )
