"""A measurement-system study worked out, as a document and in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from rig.analysis.study.measurement_system import CrossedStudy, Spreads, crossed_study
from rig.analysis.study.study_layout import StudyReadings
from rig.analysis.study.study_results import (
    AverageRange,
    StudyIntervals,
    average_and_range,
    study_intervals,
    study_plots,
)
from rig.cli.text.table import table
from rig.model.plain import plain

_SPREADS = ("repeatability", "reproducibility", "measurement", "part", "total")


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """A study by both methods.

    Attributes:
        title: What the user calls it.
        study: Its readings.
        crossed: By analysis of variance.
        ranges: By average and range.
        intervals: Of the former.
    """

    title: str
    study: StudyReadings
    crossed: CrossedStudy
    ranges: AverageRange
    intervals: StudyIntervals


def work_out_study(study: StudyReadings, title: str, confidence: float) -> WorkedOut:
    """Work a study out.

    Raises:
        InputError: It is too small, or nothing scatters within its cells.
    """
    crossed = crossed_study(study.readings)
    return WorkedOut(
        title=title,
        study=study,
        crossed=crossed,
        ranges=average_and_range(study.readings),
        intervals=study_intervals(crossed, confidence),
    )


def study_document(found: WorkedOut) -> dict[str, Any]:
    """Return all figures and the data of the plots."""
    crossed, ranges = found.crossed, found.ranges
    return {
        "title": found.title,
        "unit": found.study.unit,
        "parts": list(found.study.parts),
        "appraisers": list(found.study.appraisers),
        "trials": crossed.shape[2],
        "readings": plain(found.study.readings),
        "analysis_of_variance": _spreads_document(crossed.spreads) | plain(crossed),
        "intervals": plain(found.intervals),
        "average_and_range": _spreads_document(ranges.spreads) | plain(ranges),
        "plots": plain(study_plots(found.study.readings, crossed.spreads)),
    }


def _spreads_document(spreads: Spreads) -> dict[str, Any]:
    return {
        "measurement_percent": spreads.measurement_percent,
        "distinct_categories": spreads.categories,
        "distinct_categories_ratio": spreads.categories_ratio,
    }


def study_text(found: WorkedOut) -> str:
    """Return spreads with their intervals, categories and the table of variance."""
    study, crossed, ranges = found.study, found.crossed, found.ranges
    intervals = found.intervals
    parts, appraisers, trials = crossed.shape
    share, other = (
        f"{one.measurement_percent:.2f} %" for one in (crossed.spreads, ranges.spreads)
    )
    span, categories = intervals.measurement_percent, intervals.categories
    return "\n".join(
        [
            f"{found.title}: {parts} parts, {appraisers} appraisers, {trials} trials,"
            f" n = {study.readings.size}",
            _spreads_table(found),
            f"measurement over total: {share}, interval {span.lower:.2f} to"
            f" {span.upper:.2f} %; average and range {other}",
            f"distinct categories: {crossed.spreads.categories}, interval"
            f" {categories.lower:.2f} to {categories.upper:.2f}; average and range"
            f" {ranges.spreads.categories}",
            f"{crossed.method}; {intervals.method}",
            f"last column: {ranges.method}",
            _anova_text(crossed),
        ]
    )


def _spreads_table(found: WorkedOut) -> str:
    rows = []
    for name in _SPREADS:
        own = getattr(found.crossed.spreads, name)
        span = getattr(found.intervals, name)
        rows.append(
            [
                name,
                f"{own:.5g}",
                f"{span.lower:.5g} to {span.upper:.5g}",
                f"{found.crossed.spreads.share_of_total(own):.1f}",
                f"{getattr(found.ranges.spreads, name):.5g}",
            ]
        )
    head = [
        f"standard deviation {found.study.unit}",
        "analysis of variance",
        f"{100 * found.intervals.measurement.confidence:g} % interval",
        "% of total",
        "average and range",
    ]
    return table(head, rows)


def _anova_text(crossed: CrossedStudy) -> str:
    rows = [
        [
            row.source,
            str(row.degrees_of_freedom),
            f"{row.sum_of_squares:.6g}",
            f"{row.mean_square:.6g}",
            "" if row.f is None else f"{row.f:.4g}",
            "" if row.p is None else f"{row.p:.3g}",
        ]
        for row in crossed.full
    ]
    head = ["source", "dof", "sum of squares", "mean square", "F", "p"]
    return table(head, rows)
