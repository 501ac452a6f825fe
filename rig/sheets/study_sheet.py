"""A measurement-system study in rows, words and rounded numbers; draws nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.study.measurement_system import AnovaRow
from rig.analysis.study.study_results import StudyPlots
from rig.inquiry.study import StudyResult
from rig.model.figure_kinds import figure_name
from rig.model.rounding import (
    format_chance,
    format_decimals,
    format_significant,
    format_without_uncertainty,
)
from rig.records.studies import StudyEntry, StudyReading
from rig.sheets.bench_words import Pairs, utc
from rig.sheets.component_rows import SPREAD_MEANINGS
from rig.sheets.gauge_matter import tolerance_row
from rig.sheets.interval_rows import IntervalRow, interval_row
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet

_DIGITS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadRow:
    """One standard deviation by both methods; all text."""

    name: str
    meaning: str
    value: str
    interval: str
    share: str
    by_ranges: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaLine:
    """One line of the analysis of variance; all text."""

    source: str
    degrees_of_freedom: str
    sum_of_squares: str
    mean_square: str
    f: str
    p: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingLine:
    """One row of the sheet; all text."""

    order: str
    part: str
    appraiser: str
    trial: str
    value: str
    origin: str
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StudySheet:
    """A study worked out.

    Attributes:
        name: Title of the study, or the name of its file.
        lead: What it is, in one sentence.
        figure: Trade name of the figure that was read.
        total: Number of readings.
        simulated: How many of them a simulated rig made.
        job: What was laid out.
        unit: Unit of the readings.
        confidence: Confidence of the intervals, with the sign %.
        spreads: Standard deviations by both methods.
        ratios: What share of the spread the measurement has; distinct categories.
        methods: Sentences on how they were found.
        anova: The analysis of variance, before any pooling.
        cells: How many means and ranges lie beyond the control limits.
        lines: Every reading on record; empty for a file.
        runs: The runs behind the readings; None where they were entered by hand.
        statements: Sentences that go with the runs.
    """

    name: str
    lead: str
    figure: str
    total: int
    simulated: int
    job: Pairs
    unit: str
    confidence: str
    spreads: tuple[SpreadRow, ...]
    ratios: tuple[IntervalRow, ...]
    methods: tuple[str, ...]
    anova: tuple[AnovaLine, ...]
    cells: str
    lines: tuple[ReadingLine, ...]
    runs: RunsBehindSheet | None
    statements: tuple[str, ...]


def study_sheet(result: StudyResult) -> StudySheet:
    """Lay a study out."""
    study, entry = result.study, result.entry
    p, o, r = result.crossed.shape
    behind = runs_behind_sheet(result.runs) if result.runs else None
    return StudySheet(
        name=result.title,
        lead=f"{p} parts, {o} appraisers, {r} trials: n = {study.readings.size}"
        " readings.",
        figure="reading" if entry is None else figure_name(entry.figure),
        total=study.readings.size,
        simulated=result.simulated,
        job=() if entry is None else _job(entry, result),
        unit=study.unit,
        confidence=f"{100.0 * result.intervals.measurement.confidence:g} %",
        spreads=_spreads(result),
        ratios=_ratios(result),
        methods=_methods(result),
        anova=tuple(_anova_line(row) for row in result.crossed.full),
        cells=_cells(result.plots),
        lines=() if entry is None else reading_lines(entry, result.readings),
        runs=behind,
        statements=() if behind is None else behind.altered + behind.warnings,
    )


def _job(entry: StudyEntry, result: StudyResult) -> Pairs:
    study = result.study
    return (
        ("Study", entry.study_id),
        ("Figure", f"{figure_name(entry.figure)}, {entry.unit}"),
        ("Parts", ", ".join(study.parts)),
        (
            "Appraisers",
            ", ".join(f"{k}: {name}" for k, name in enumerate(study.appraisers, 1)),
        ),
        *_tolerance(entry),
        ("Laid out", utc(entry.begun_at)),
        ("Order of the readings", f"random, seed {entry.seed}"),
    )


def _tolerance(entry: StudyEntry) -> Pairs:
    if entry.tolerance is None:
        return ()
    return (("Tolerance", f"{entry.tolerance:g} {entry.unit}"),)


def _spreads(result: StudyResult) -> tuple[SpreadRow, ...]:
    found, n = result.crossed.spreads, result.study.readings.size
    rows = []
    for name, meaning in SPREAD_MEANINGS.items():
        own = getattr(found, name)
        interval = getattr(result.intervals, name)
        row = interval_row(name, meaning, own, interval, unit=result.study.unit, n=n)
        share = format_decimals(found.share_of_total(own), 1)
        rows.append(
            SpreadRow(
                name=name.capitalize(),
                meaning=meaning,
                value=row.value,
                interval=row.interval,
                share=f"{share} %",
                by_ranges=format_significant(getattr(result.ranges.spreads, name), 3),
            )
        )
    return tuple(rows)


def _ratios(result: StudyResult) -> tuple[IntervalRow, ...]:
    spreads, intervals = result.crossed.spreads, result.intervals
    n = result.study.readings.size
    beside = () if result.tolerance is None else (tolerance_row(result.tolerance, n),)
    return (
        interval_row(
            "Measurement over total",
            "what share of the spread is the measurement's own",
            spreads.measurement_percent,
            intervals.measurement_percent,
            unit="%",
            n=n,
        ),
        *beside,
        interval_row(
            "Distinct categories",
            f"counts as {spreads.categories}: how many groups of parts are told apart",
            spreads.categories_ratio,
            intervals.categories,
            unit="1",
            n=n,
        ),
    )


def _methods(result: StudyResult) -> tuple[str, ...]:
    beside = result.ranges.spreads
    share = format_decimals(beside.measurement_percent, 1)
    return (
        f"Spreads: {result.crossed.method}.",
        f"Intervals: {result.intervals.method}.",
        f"Beside them: {result.ranges.method}. It gives {share} % measurement over"
        f" total and {beside.categories} distinct categories, without an interval.",
    )


def _anova_line(row: AnovaRow) -> AnovaLine:
    return AnovaLine(
        source=row.source,
        degrees_of_freedom=str(row.degrees_of_freedom),
        sum_of_squares=format_significant(row.sum_of_squares, _DIGITS),
        mean_square=format_significant(row.mean_square, _DIGITS),
        f="–" if row.f is None else _ratio(row.f),
        p="–" if row.p is None else format_chance(row.p),
    )


def _ratio(f: float) -> str:
    return "∞" if f == float("inf") else format_significant(f, 4)


def _cells(found: StudyPlots) -> str:
    outside = _beyond(found.cell_means, found.mean_limits)
    wild = _beyond(found.cell_ranges, found.range_limits)
    return (
        f"{outside} of {found.cell_means.size} means of a part by an appraiser lie"
        " beyond the control limits: the more, the better the parts are told apart. Of"
        f" the ranges {wild} lie beyond, where none should."
    )


def _beyond(values: FloatArray, limits: tuple[float, float]) -> int:
    return int(((values < limits[0]) | (values > limits[1])).sum())


def reading_lines(
    entry: StudyEntry, readings: Mapping[int, StudyReading]
) -> tuple[ReadingLine, ...]:
    """Lay out the rows that have a reading, in their order."""
    return tuple(
        ReadingLine(
            order=str(row.order),
            part=row.part,
            appraiser=row.appraiser,
            trial=str(row.trial),
            value=format_without_uncertainty(one.value, one.unit),
            origin=one.run_id or f"by hand, {utc(one.entered_at)}",
            simulated=one.simulated,
        )
        for row in entry.rows
        if (one := readings.get(row.order)) is not None
    )
