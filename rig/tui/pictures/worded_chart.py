"""A chart that is told in words of somebody else's: those of the sheet."""

from __future__ import annotations

from dataclasses import dataclass

from rig.tui.pictures.chart import SMALLEST, Chart
from rig.tui.pictures.picture import fitted


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedChart:
    """A chart with the same in words and rounded numbers.

    Attributes:
        chart: What is drawn.
        words: What is told, a line each.
    """

    chart: Chart
    words: tuple[str, ...]

    @property
    def title(self) -> str:
        """What it shows, with the units."""
        return self.chart.title

    def draw(self, width: int, height: int) -> list[str]:
        """Return the chart, or the words where it finds no room."""
        if width < SMALLEST[0] or height < SMALLEST[1]:
            return fitted(self.tell(), width, height)
        return self.chart.draw(width, height)

    def tell(self) -> list[str]:
        """Return the words."""
        return [self.title, *self.words]
