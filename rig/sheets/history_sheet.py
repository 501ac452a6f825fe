"""A product over its lots in rows, words and rounded numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.batch.attribute_charts import AttributeChart
from rig.analysis.batch.control_charts import Signal
from rig.analysis.batch.trend import Trend
from rig.inquiry.sampled_lot import SampledLot
from rig.inquiry.supplier_history import ProductHistory, SupplierHistory
from rig.model.figure_kinds import figure_name
from rig.model.rounding import (
    format_decimals,
    format_p,
    format_significant,
    round_to_uncertainty,
    unit_words,
)
from rig.sheets.bench_words import utc
from rig.sheets.chart_rows import chart_rows
from rig.sheets.run_list_sheet import DASH
from rig.sheets.signs import VERDICT_SIGNS

NOBODY = "supplier not named"
_OPEN = "not decided"
_SOURCE = (
    "Charts: p, u and individuals charts of ISO 7870-2, from memory, limits at 3"
    " standard deviations; trend: test of Mann and Kendall, slope by Sen."
)
_LEVEL = 0.05  # below which a trend is told of


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """One lot; all text.

    Attributes:
        number: Place in the order of lots, from 1.
        lot_id: Identity of the lot.
        begun: Day on which its inspection began, UTC.
        size: Parts in the lot.
        inspected: Parts inspected, of how many of the sample.
        failing: Parts that do not conform.
        undecided: Parts that are undecided.
        share: Share of the inspected parts that fail.
        mean: Mean of the values, with the unit; a dash without any.
        deviation: Standard deviation of the values; a dash without one.
        decision: Decision with its sign.
        simulated: Whether a simulated part is behind it.
    """

    number: str
    lot_id: str
    begun: str
    size: str
    inspected: str
    failing: str
    undecided: str
    share: str
    mean: str
    deviation: str
    decision: str
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierSheet:
    """A product from one supplier.

    Attributes:
        name: Supplier, or that nobody said so.
        lead: Lots and what became of them, in one sentence.
        rows: Lots in order.
        charts: Each control chart in one sentence.
        trends: Each test of a trend in one sentence.
        statements: Sentences that go with them.
    """

    name: str
    lead: str
    rows: tuple[LotRow, ...]
    charts: tuple[str, ...]
    trends: tuple[str, ...]
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HistorySheet:
    """A product over its lots.

    Attributes:
        product: Name of the product.
        lead: Suppliers and lots, in one sentence.
        total: Number of lots.
        simulated: How many of them have a simulated part behind them.
        suppliers: Each supplier.
    """

    product: str
    lead: str
    total: int
    simulated: int
    suppliers: tuple[SupplierSheet, ...]


def history_sheet(found: ProductHistory) -> HistorySheet:
    """Lay out a product over its lots."""
    every = [one for supplier in found.suppliers for one in supplier.lots]
    names = ", ".join(one.supplier or NOBODY for one in found.suppliers)
    return HistorySheet(
        product=found.product,
        lead=f"{_several(len(every), 'lot', 'lots')}: {names}.",
        total=len(every),
        simulated=sum(one.simulated for one in every),
        suppliers=tuple(map(_supplier, found.suppliers)),
    )


def _supplier(found: SupplierHistory) -> SupplierSheet:
    every = found.lots
    accepted = sum(one.accepted is True for one in every)
    refused = sum(one.accepted is False for one in every)
    inspected = sum(one.inspected for one in every)
    failing = sum(one.failing for one in every)
    share = f" ({_percent(failing / inspected)})" if inspected else ""
    return SupplierSheet(
        name=found.supplier or NOBODY,
        lead=(
            f"{_several(len(every), 'lot', 'lots')}: {accepted} accepted,"
            f" {refused} not accepted, {len(every) - accepted - refused} {_OPEN};"
            f" {failing} of {inspected} inspected parts do not conform{share}."
        ),
        rows=tuple(_row(one, k) for k, one in enumerate(every, start=1)),
        charts=_charts(found),
        trends=_trends(found),
        statements=(
            *found.statements,
            *((_SOURCE,) if found.shares is not None else ()),
        ),
    )


def _row(one: SampledLot, number: int) -> LotRow:
    unit = f" {known}" if (known := unit_words(one.unit)) else ""
    mean, deviation = one.mean, one.standard_deviation
    return LotRow(
        number=str(number),
        lot_id=one.lot_id,
        begun=utc(one.begun_at)[:10],
        size=str(one.size),
        inspected=f"{one.inspected} of {one.sample}",
        failing=str(one.failing),
        undecided=str(one.undecided),
        share=_percent(one.failing / one.inspected) if one.inspected else DASH,
        mean=DASH if mean is None else f"{format_significant(mean, 5)}{unit}",
        deviation=DASH
        if deviation is None
        else f"{format_significant(deviation)}{unit}",
        decision=_decision(one.accepted),
        simulated=one.simulated,
    )


def _decision(accepted: bool | None) -> str:
    if accepted is None:
        return f"{VERDICT_SIGNS['undecided']} {_OPEN}"
    if accepted:
        return f"{VERDICT_SIGNS['conforms']} accepted"
    return f"{VERDICT_SIGNS['does not conform']} not accepted"


def _charts(found: SupplierHistory) -> tuple[str, ...]:
    told = []
    if found.shares is not None:
        told.append(_attribute_words(found.shares, found.charted, in_percent=True))
    if found.failures is not None:
        told.append(_attribute_words(found.failures, found.charted, in_percent=False))
    if found.means is not None:
        unit = _unit_of_means(found)
        figure = figure_name(found.lots[found.charted_means[-1]].figure)
        told.append(f"Means of the {figure}, a lot.")
        told += [str(row) for row in chart_rows(found.means, unit)]
    return tuple(told)


def _unit_of_means(found: SupplierHistory) -> str:
    unit: str = unit_words(found.lots[found.charted_means[-1]].unit)
    return unit


def _attribute_words(
    chart: AttributeChart, charted: Sequence[int], *, in_percent: bool
) -> str:
    def shown(value: float) -> str:
        return _percent(value) if in_percent else format_significant(value, 3)

    uppers = dict.fromkeys(
        shown(float(one)) for one in (min(chart.upper), max(chart.upper))
    )
    lowers = dict.fromkeys(
        shown(float(one)) for one in (min(chart.lower), max(chart.lower))
    )
    broken = _signals(chart.signals, charted)
    return (
        f"Chart of the {chart.name}: centre {shown(chart.centre)}, upper limit"
        f" {' to '.join(uppers)} and lower limit {' to '.join(lowers)} by the size of"
        f" the sample; {broken or 'no rule broken'}."
    )


def _signals(signals: Sequence[Signal], charted: Sequence[int]) -> str:
    """Name the lots by their number in the table."""
    return "; ".join(f"lot {charted[s.at] + 1}: {s.rule}" for s in signals)


def _trends(found: SupplierHistory) -> tuple[str, ...]:
    told = []
    if (shares := found.trend_of_shares) is not None:
        told.append(_trend_words("share of parts that fail", shares, "%", 100.0))
    if (means := found.trend_of_means) is not None:
        told.append(_trend_words("mean", means, _unit_of_means(found), 1.0))
    return tuple(told)


def _trend_words(name: str, found: Trend, unit: str, scale: float) -> str:
    way = "no trend shown"
    if found.p < _LEVEL:
        way = "rises" if found.statistic > 0 else "falls"
    interval = found.interval
    slope, low, high = _rounded(
        scale * found.slope, scale * interval.lower, scale * interval.upper
    )
    by = "counted out" if found.exact else "normal approximation"
    return (
        f"Trend of the {name}: {way} (Mann-Kendall: S = {found.statistic}, n ="
        f" {found.n}, {format_p(found.p)}, {by}); median slope {slope} {unit} a"
        f" lot, {low} to {high} at {100.0 * interval.confidence:g} %."
    )


def _rounded(value: float, low: float, high: float) -> tuple[str, str, str]:
    """Round a value and its interval by half the width of that."""
    half = (high - low) / 2.0
    # All slopes alike, but for the last digits of a computer's numbers
    if half <= 1e-9 * abs(value):
        same = format_significant(value, 3)
        return same, same, same
    shown, lower, upper = (round_to_uncertainty(x, half)[0] for x in (value, low, high))
    return shown, lower, upper


def _percent(share: float) -> str:
    return f"{format_decimals(100.0 * share, 1)} %"


def _several(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"
