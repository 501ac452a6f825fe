"""What of a table is not to be read in full."""

from __future__ import annotations

from textual.widgets import DataTable


def cut_cells(table: DataTable[str]) -> list[str]:
    """Return the cells of a table in view that are cut, by their own column or by
    the edge of the table."""
    room = table.scrollable_content_region.width
    if not table.is_on_screen or not room:
        return []
    found, right = [], 0
    for number, column in enumerate(table.ordered_columns):
        right += column.get_render_width(table)
        texts = [str(column.label), *map(str, table.get_column_at(number))]
        found += [text for text in texts if right > room or len(text) > column.width]
    return [f"{table}: {text!r} is cut" for text in found if text]
