"""Readings by hand beside the rig's figure, as rows, sentences and rounded numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rig.analysis.classroom.hand_comparison import Growth, HandSummary
from rig.analysis.numbers.intervals import Interval
from rig.analysis.numbers.one_way import OneWay
from rig.inquiry.hand import RIG, HandResult
from rig.inquiry.trimmer_setting import setting_words
from rig.model.figure_kinds import KIND_OF_OPTION
from rig.model.rounding import (
    FigureText,
    format_figure,
    format_p,
    format_significant,
    round_to_interval,
    round_to_uncertainty,
    signed,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandRow:
    """What one person read; all text.

    Attributes:
        person: Name or number of the person.
        n: Number of readings.
        mean: Mean of the readings, without its unit.
        mean_interval: Lower and upper end of the interval of the mean, with its unit.
        sd: Standard deviation of a single reading, without its unit.
        sd_interval: Lower and upper end of the interval of the standard deviation, with
            its unit.
        bias: Mean less the rig's figure with its uncertainty and its unit.
        sentence: The comparison in words.
    """

    person: str
    n: str
    mean: str
    mean_interval: str
    sd: str
    sd_interval: str
    bias: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthRow:
    """How the mean of one person, or of the rig, settles; all text.

    Attributes:
        name: Name of the person or the rig that read.
        half_widths: Number of readings so far, and half width of the mean's interval.
    """

    name: str
    half_widths: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandSheet:
    """Readings by hand beside a run; all text.

    Attributes:
        simulated: Whether a simulated rig made the run.
        name: Name of the figure.
        setting: Setting of the trimmer that run and readings belong to.
        figure: The figure as the rig has it.
        unit: Unit of every value.
        confidence: Confidence of every interval, with the sign %.
        rows: One for everybody who read twice or more.
        between_people: How much people differ; empty for one person.
        between_short: How much people differ, for a narrow screen; empty for one
            person.
        growth: How the means settle.
        statements: Who was left out, and what goes with the figures.
    """

    simulated: bool
    name: str
    setting: str
    figure: FigureText
    unit: str
    confidence: str
    rows: tuple[HandRow, ...]
    between_people: str
    between_short: str
    growth: tuple[GrowthRow, ...]
    statements: tuple[str, ...]


def hand_sheet(result: HandResult) -> HandSheet:
    """Lay out readings by hand beside a run."""
    between = result.between_people
    return HandSheet(
        simulated=result.simulated,
        name=KIND_OF_OPTION[result.figure].name,
        setting=setting_words(result.setting),
        figure=format_figure(result.rig),
        unit=result.rig.unit,
        confidence="95 %",
        rows=tuple(_row(one) for one in result.people),
        between_people="" if between is None else _between_words(between),
        between_short="" if between is None else _between_short(between),
        growth=tuple(
            _growth(name, one) for name, one in result.growth_of_knowledge.items()
        ),
        statements=(*(f"{words}." for words in result.statements), *result.warnings),
    )


def hand_lines(sheet: HandSheet) -> tuple[str, ...]:
    """Return the comparison in sentences, the rig's figure first."""
    lines = [
        f"The rig, {sheet.setting}: {sheet.figure}.",
        *(row.sentence for row in sheet.rows),
    ]
    return (*lines, sheet.between_short) if sheet.between_short else tuple(lines)


def _row(one: HandSummary) -> HandRow:
    mean, mean_interval = _estimate(one.mean_mm, one.mean_interval)
    sd, sd_interval = _estimate(one.sd_mm, one.sd_interval)
    bias, size = round_to_uncertainty(
        one.bias.value, one.bias.expanded_uncertainty or 0.0
    )
    return HandRow(
        person=one.person,
        n=str(one.n),
        mean=mean,
        mean_interval=mean_interval,
        sd=sd,
        sd_interval=sd_interval,
        bias=f"({signed(bias)} ± {size}) mm",
        sentence=f"{one.sentence}.",
    )


def _estimate(value: float, interval: Interval) -> tuple[str, str]:
    if interval.lower == value:
        # Equal readings: only the upper end is there to round by
        shown, size = round_to_uncertainty(value, interval.upper - value)
        return shown, f"{shown} to {size} mm"
    shown, low, high = round_to_interval(value, interval.lower, interval.upper)
    return shown, f"{low} to {high} mm"


def _between_words(found: OneWay) -> str:
    f = "∞" if math.isinf(found.f) else format_significant(found.f, 3)
    return (
        "Between people: standard deviation"
        f" {format_significant(found.sd_between)} mm, of which no interval is known;"
        f" F = {f}. If people did not differ, an F this"
        f" large would come up with {format_p(found.p)}."
    )


def _between_short(found: OneWay) -> str:
    return (
        f"Between people: {format_significant(found.sd_between)} mm;"
        f" {format_p(found.p)} if they did not differ."
    )


def _growth(name: str, found: Growth) -> GrowthRow:
    return GrowthRow(
        name="the rig" if name == RIG else name,
        half_widths=tuple(
            (f"{n:.0f}", format_significant(half))
            for n, half in zip(found.n, found.half_width, strict=True)
        ),
    )
