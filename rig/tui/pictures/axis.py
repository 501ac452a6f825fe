"""The axis along the foot of a picture."""

from __future__ import annotations

from itertools import pairwise

from rig.tui.pictures.canvas import Canvas
from rig.tui.pictures.scale import Scale

COLUMNS_APART = 11


def draw_axis(
    canvas: Canvas, along: Scale, left: int, row: int, ticks: list[tuple[int, str]]
) -> None:
    """Draw a line with ticks, and their labels in the row below.

    Labels that would touch the next one are left out.

    Args:
        canvas: Canvas to draw on.
        along: The scale.
        left: Column of the scale's first cell.
        row: Row of the line.
        ticks: Cells and labels.
    """
    canvas.put(left, row, "─" * along.cells)
    for (cell, text), (following, _) in pairwise([*ticks, (2 * along.cells, "")]):
        canvas.put(left + cell, row, "┴")
        start = min(max(0, cell - len(text) // 2), along.cells - len(text))
        if start + len(text) < following:
            canvas.put(left + start, row + 1, text)
