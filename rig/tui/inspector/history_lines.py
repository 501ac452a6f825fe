"""A product from one supplier over its lots, as lines and pictures."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from rig.inquiry.supplier_history import SupplierHistory
from rig.model.rounding import unit_words
from rig.sheets.history_sheet import HistorySheet, SupplierSheet
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.picture import Mark
from rig.tui.pictures.worded_chart import WordedChart

# The columns that matter most come first
LOT_HEADS = (
    *("No.", "Lot", "Decision", "Inspected", "Fail", "Share", "Undecided"),
    *("Mean", "s", "Begun", "Size", ""),
)
_ALONG = "lot"


def head_lines(sheet: HistorySheet, one: SupplierSheet) -> Content:
    """Return product, supplier and what became of the lots."""
    return Content("\n").join(
        [
            Content.assemble((sheet.product, "bold"), f" from {one.name}"),
            Content(one.lead),
        ]
    )


def lot_cells(one: SupplierSheet) -> list[tuple[str, ...]]:
    """Return the lots as rows of a table."""
    return [
        (
            *(row.number, row.lot_id, row.decision, row.inspected, row.failing),
            *(row.share, row.undecided, row.mean, row.deviation, row.begun, row.size),
            "SIMULATED" if row.simulated else "",
        )
        for row in one.rows
    ]


def word_lines(one: SupplierSheet) -> Content:
    """Return charts, trends and what goes with them in words."""
    said = (*one.charts, *one.trends, *one.statements)
    return Content("\n\n").join([*map(Content, said)])


def shares_picture(found: SupplierHistory, sheet: SupplierSheet) -> WordedChart | None:
    """Return the chart of shares; None without one."""
    chart = found.shares
    if chart is None:
        return None
    numbers = _numbers(found.charted)
    return WordedChart(
        chart=Chart(
            x_title=_ALONG,
            y_title="share of parts that fail, %",
            series=(
                _line("upper limit", numbers, [100.0 * x for x in chart.upper]),
                _line("centre", numbers, [100.0 * chart.centre] * len(numbers)),
                _line("lower limit", numbers, [100.0 * x for x in chart.lower]),
                _points(numbers, [100.0 * x for x in chart.points]),
            ),
            whole_x=True,
            y_narrowest=1.0,
        ),
        words=sheet.charts[:1],
    )


def means_picture(found: SupplierHistory, sheet: SupplierSheet) -> WordedChart | None:
    """Return the chart of means; None without one."""
    pair = found.means
    if pair is None:
        return None
    chart, numbers = pair.location, _numbers(found.charted_means)
    unit = unit_words(found.lots[found.charted_means[-1]].unit)
    count = len(numbers)
    return WordedChart(
        chart=Chart(
            x_title=_ALONG,
            y_title=f"mean, {unit}",
            series=(
                _line("upper limit", numbers, [chart.upper] * count),
                _line("centre", numbers, [chart.centre] * count),
                _line("lower limit", numbers, [chart.lower] * count),
                _points(numbers, list(chart.points)),
            ),
            whole_x=True,
            y_narrowest=0.001,
        ),
        words=sheet.charts[-3:],
    )


def _numbers(charted: Sequence[int]) -> tuple[float, ...]:
    return tuple(float(index + 1) for index in charted)


def _line(name: str, x: tuple[float, ...], y: Sequence[float]) -> Series:
    return Series(name=name, x=x, y=tuple(map(float, y)), joined=True)


def _points(x: tuple[float, ...], y: Sequence[float]) -> Series:
    return Series(
        name=_ALONG, x=x, y=tuple(map(float, y)), mark=Mark.MEASURED, joined=True
    )
