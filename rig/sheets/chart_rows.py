"""Control charts in words: limits, centre and the rules that they break."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.batch.control_charts import Chart, ChartPair
from rig.model.rounding import format_significant

_DIGITS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartRow:
    """One control chart; all text.

    Attributes:
        name: What is plotted.
        lower: Lower control limit, without unit.
        centre: Centre line.
        upper: Upper control limit.
        unit: Unit of them; empty for a ratio.
        broken: Rules that the points break, and where; empty for none.
    """

    name: str
    lower: str
    centre: str
    upper: str
    unit: str
    broken: str

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        levels = (
            f"Chart of {self.name}: limits {self.lower} to {self.upper}{unit}, centre"
            f" {self.centre}{unit};"
        )
        return f"{levels} {self.broken or 'no rule broken'}."


def chart_rows(pair: ChartPair, unit: str) -> tuple[ChartRow, ChartRow]:
    """Lay out the chart of location and that of spread.

    Args:
        pair: Pair of charts.
        unit: Unit of the readings; empty for a ratio.
    """
    return _row(pair.location, unit), _row(pair.spread, unit)


def _row(chart: Chart, unit: str) -> ChartRow:
    low, centre, high = (
        format_significant(level, _DIGITS)
        for level in (chart.lower, chart.centre, chart.upper)
    )
    return ChartRow(
        name=chart.name,
        lower=low,
        centre=centre,
        upper=high,
        unit=unit,
        broken="; ".join(f"point {s.at + 1}: {s.rule}" for s in chart.signals),
    )
