"""Documents of a measurement-system study: its layout and what it gives."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.study.measurement_system import CrossedStudy, Spreads
from rig.analysis.study.study_results import AverageRange, StudyIntervals, StudyPlots
from rig.analysis.study.tolerance_share import ToleranceShare
from rig.inquiry.study import StudyResult
from rig.records.studies import StudyEntry, StudyRow


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyLayout:
    """A study as it was laid out.

    Attributes:
        study_id: Identity of the study.
        sheet: File to be filled in.
        rows: Readings to be taken, in order.
    """

    study_id: str
    sheet: str
    rows: tuple[StudyRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceDocument(CrossedStudy):
    """Figures by analysis of variance, with their shares.

    Attributes:
        measurement_percent: Measurement over total, %.
        distinct_categories: Number of groups of parts that are told apart.
        distinct_categories_ratio: Number of such groups before it is cut to a whole
            number.
    """

    measurement_percent: float
    distinct_categories: int
    distinct_categories_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeDocument(AverageRange):
    """Figures by average and range, with their shares.

    Attributes:
        measurement_percent: Measurement over total, %.
        distinct_categories: Number of groups of parts that are told apart.
        distinct_categories_ratio: Number of such groups before it is cut to a whole
            number.
    """

    measurement_percent: float
    distinct_categories: int
    distinct_categories_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyDocument:
    """A study as it is printed.

    Attributes:
        simulated: Whether a simulated rig made any reading.
        study_id: Identity of the study; None for a file.
        title: Title of the study, or the name of its file.
        unit: Unit of the readings.
        parts: Names of the parts, in the order of the block.
        appraisers: Names of the appraisers likewise.
        trials: Number of trials.
        readings: All readings: parts by appraisers by trials.
        analysis_of_variance: Figures by analysis of variance.
        intervals: Intervals of the figures of the study.
        tolerance: Share of the tolerance; None if nobody gave one.
        average_and_range: Figures by average and range.
        plots: Data of the plots.
        altered_runs: Runs that are not as they were written.
    """

    simulated: bool
    study_id: str | None
    title: str
    unit: str
    parts: tuple[str, ...]
    appraisers: tuple[str, ...]
    trials: int
    readings: FloatArray
    analysis_of_variance: VarianceDocument
    intervals: StudyIntervals
    tolerance: ToleranceShare | None
    average_and_range: RangeDocument
    plots: StudyPlots
    altered_runs: tuple[str, ...]


def study_layout(entry: StudyEntry, sheet: str) -> StudyLayout:
    """Return a layout as it is printed."""
    return StudyLayout(study_id=entry.study_id, sheet=sheet, rows=entry.rows)


def study_document(result: StudyResult) -> StudyDocument:
    """Return a result as it is printed."""
    crossed, ranges = result.crossed, result.ranges
    return StudyDocument(
        simulated=bool(result.simulated),
        study_id=None if result.entry is None else result.entry.study_id,
        title=result.title,
        unit=result.study.unit,
        parts=result.study.parts,
        appraisers=result.study.appraisers,
        trials=crossed.shape[2],
        readings=result.study.readings,
        analysis_of_variance=VarianceDocument(
            **_shares(crossed.spreads),
            **{f.name: getattr(crossed, f.name) for f in fields(crossed)},
        ),
        intervals=result.intervals,
        tolerance=result.tolerance,
        average_and_range=RangeDocument(
            **_shares(ranges.spreads),
            **{f.name: getattr(ranges, f.name) for f in fields(ranges)},
        ),
        plots=result.plots,
        altered_runs=tuple(
            one.check.run_id for one in result.runs if one.check.intact is False
        ),
    )


def _shares(spreads: Spreads) -> dict[str, Any]:
    return {
        "measurement_percent": spreads.measurement_percent,
        "distinct_categories": spreads.categories,
        "distinct_categories_ratio": spreads.categories_ratio,
    }
