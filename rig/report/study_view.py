"""A measurement-system study as the text that a page shows of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from rig.analysis.study.measurement_system import AnovaRow, CrossedStudy
from rig.analysis.study.study_layout import StudyReadings
from rig.analysis.study.study_results import (
    AverageRange,
    StudyIntervals,
    study_plots,
)
from rig.inquiry.runs_behind import RunBehind
from rig.model.rounding import (
    format_chance,
    format_decimals,
    format_significant,
    format_without_uncertainty,
)
from rig.records.studies import StudyEntry, StudyReading
from rig.report.study_plots import (
    StudyNames,
    cells_plot,
    cells_words,
    components_plot,
    readings_plot,
)
from rig.sheets.bench_words import Pairs, utc
from rig.sheets.interval_rows import IntervalRow, interval_row
from rig.sheets.part_rows import figure_words
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet

_SPREADS = {
    "repeatability": "the same appraiser, the same part",
    "reproducibility": "between appraisers, with their interaction with parts",
    "measurement": "both together",
    "part": "between parts",
    "total": "all together",
}
_DIGITS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyMatter:
    """All that the report of a study is made from.

    Attributes:
        entry: As it was laid out.
        readings: Of each row of the sheet that has one, by its number.
        study: The same as a block.
        crossed: By analysis of variance.
        ranges: By average and range.
        intervals: Of the former.
        runs: Behind the readings; empty where they were entered by hand.
    """

    entry: StudyEntry
    readings: Mapping[int, StudyReading]
    study: StudyReadings
    crossed: CrossedStudy
    ranges: AverageRange
    intervals: StudyIntervals
    runs: tuple[RunBehind, ...]


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
class StudyView:
    """All that the page shows of a study.

    Attributes:
        name: As the user calls it.
        lead: What it is, in one sentence.
        simulated: How many readings a simulated rig made.
        job: What was read, by whom.
        unit: Of the readings.
        confidence: Of the intervals, with the sign %.
        spreads: Standard deviations by both methods.
        ratios: Measurement over total and the distinct categories.
        methods: How all this was found.
        anova: Table with interaction.
        components: Drawing of the shares.
        by_part: Drawing of all readings.
        cells: Drawing of means and ranges, with its words.
        lines: The sheet.
        runs: Behind the readings; None where there are none.
    """

    name: str
    lead: str
    simulated: int
    job: Pairs
    unit: str
    confidence: str
    spreads: tuple[SpreadRow, ...]
    ratios: tuple[IntervalRow, ...]
    methods: tuple[str, ...]
    anova: tuple[AnovaLine, ...]
    components: Markup
    by_part: Markup
    cells: tuple[Markup, str]
    lines: tuple[ReadingLine, ...]
    runs: RunsBehindSheet | None


def view_study(matter: StudyMatter) -> StudyView:
    """Put a study into words."""
    entry, study, crossed = matter.entry, matter.study, matter.crossed
    p, o, r = crossed.shape
    names = StudyNames(
        parts=study.parts,
        appraisers=study.appraisers,
        figure=figure_words(entry.figure),
        unit=study.unit,
    )
    plots = study_plots(study.readings, crossed.spreads)
    return StudyView(
        name=entry.title,
        lead=f"{p} parts, {o} appraisers, {r} trials: {study.readings.size} readings.",
        simulated=sum(one.simulated for one in matter.readings.values()),
        job=_job(matter),
        unit=study.unit,
        confidence=f"{100.0 * matter.intervals.measurement.confidence:g} %",
        spreads=_spreads(matter),
        ratios=_ratios(matter),
        methods=(
            f"Spreads: {crossed.method}.",
            f"Intervals: {matter.intervals.method}.",
            f"Beside them: {matter.ranges.method}.",
        ),
        anova=tuple(_anova_line(row) for row in crossed.full),
        components=components_plot(plots, plot_id="study-components"),
        by_part=readings_plot(study.readings, names, plot_id="study-readings"),
        cells=(cells_plot(plots, names, plot_id="study-cells"), cells_words(plots)),
        lines=_lines(matter),
        runs=runs_behind_sheet(matter.runs) if matter.runs else None,
    )


def _job(matter: StudyMatter) -> Pairs:
    entry, study = matter.entry, matter.study
    return (
        ("Study", entry.study_id),
        ("Figure", f"{figure_words(entry.figure)}, {entry.unit}"),
        ("Parts", ", ".join(study.parts)),
        (
            "Appraisers",
            ", ".join(f"{k}: {name}" for k, name in enumerate(study.appraisers, 1)),
        ),
        ("Laid out", utc(entry.begun_at)),
        ("Order of the readings", f"random, seed {entry.seed}"),
    )


def _spreads(matter: StudyMatter) -> tuple[SpreadRow, ...]:
    found, n = matter.crossed.spreads, matter.study.readings.size
    rows = []
    for name, meaning in _SPREADS.items():
        own = getattr(found, name)
        interval = getattr(matter.intervals, name)
        row = interval_row(name, meaning, own, interval, unit=matter.study.unit, n=n)
        share = format_decimals(found.share_of_total(own), 1)
        rows.append(
            SpreadRow(
                name=name.capitalize(),
                meaning=meaning,
                value=row.value,
                interval=row.interval,
                share=f"{share} %",
                by_ranges=format_significant(getattr(matter.ranges.spreads, name), 3),
            )
        )
    return tuple(rows)


def _ratios(matter: StudyMatter) -> tuple[IntervalRow, ...]:
    spreads, intervals = matter.crossed.spreads, matter.intervals
    n = matter.study.readings.size
    return (
        interval_row(
            "Measurement over total",
            "what share of the spread is the measurement's own",
            spreads.measurement_percent,
            intervals.measurement_percent,
            unit="%",
            n=n,
        ),
        interval_row(
            "Distinct categories",
            f"counts as {spreads.categories}: how many groups of parts are told apart",
            spreads.categories_ratio,
            intervals.categories,
            unit="1",
            n=n,
        ),
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


def _lines(matter: StudyMatter) -> tuple[ReadingLine, ...]:
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
        for row in matter.entry.rows
        if (one := matter.readings.get(row.order)) is not None
    )
