"""Components of a nested or unbalanced study in rows and words."""

from __future__ import annotations

from rig.analysis.numbers.sequential_sums import SequentialSum
from rig.analysis.study.measurement_system import Spreads
from rig.inquiry.gauge_study import ComponentsResult
from rig.model.rounding import (
    format_decimals,
    format_degrees_of_freedom,
    format_significant,
)
from rig.sheets.gauge_matter import GaugeMatter, SheetTable, tolerance_row
from rig.sheets.interval_rows import interval_row

SPREAD_MEANINGS = {
    "repeatability": "the same appraiser, the same part",
    "reproducibility": "between appraisers, with their interaction with parts",
    "measurement": "both together",
    "part": "between parts",
    "total": "all together",
}
_DIGITS = 5


def component_matter(result: ComponentsResult) -> GaugeMatter:
    """Lay the components out."""
    study, n, unit = result.study, result.study.readings, result.source.unit
    spreads, intervals = study.spreads, study.intervals
    rows = [
        interval_row(
            name.capitalize(),
            f"{meaning}; {_share(spreads, name)} of the total",
            getattr(spreads, name),
            getattr(intervals, name),
            unit=unit,
            n=n,
        )
        for name, meaning in SPREAD_MEANINGS.items()
    ]
    rows.append(
        interval_row(
            "Measurement over total",
            "what share of the spread is the measurement's own",
            spreads.measurement_percent,
            intervals.measurement_percent,
            unit="%",
            n=n,
        )
    )
    if result.tolerance is not None:
        rows.append(tolerance_row(result.tolerance, n))
    rows.append(
        interval_row(
            "Distinct categories",
            f"counts as {spreads.categories}: how many groups of parts are told apart",
            spreads.categories_ratio,
            intervals.categories,
            unit="1",
            n=n,
        )
    )
    even = "balanced" if study.balanced else "unbalanced"
    return GaugeMatter(
        kind=f"Components of a {study.design.value} study",
        lead=f"{study.parts} parts, {study.appraisers} appraisers, {even}: n = {n}"
        " readings.",
        figures=tuple(rows),
        tables=(_variances(result), _anova(study.rows)),
        methods=(
            f"Components: {study.method}.",
            f"Intervals: {intervals.method}.",
        ),
        drawn="Shares of the total: "
        + ", ".join(
            f"{name} {_share(spreads, name)}"
            for name in ("measurement", "repeatability", "reproducibility", "part")
        )
        + ".",
        statements=study.statements,
    )


def _share(spreads: Spreads, name: str) -> str:
    share = spreads.share_of_total(getattr(spreads, name))
    return f"{format_decimals(share, 1)} %"


def _variances(result: ComponentsResult) -> SheetTable:
    study = result.study
    return SheetTable(
        caption=f"Variances, in the square of {result.source.unit}",
        head=("source", "by likelihood", "by mean squares"),
        rows=tuple(
            (
                name,
                format_significant(value, _DIGITS),
                format_significant(study.by_mean_squares[name], _DIGITS),
            )
            for name, value in study.components.items()
        ),
    )


def _anova(rows: tuple[SequentialSum, ...]) -> SheetTable:
    return SheetTable(
        caption="Analysis of variance, each source after those above it",
        head=(
            "source",
            "dof",
            "effective dof",
            "sum of squares",
            "mean square",
            "expected mean square",
        ),
        rows=tuple(
            (
                row.source,
                str(row.degrees_of_freedom),
                format_degrees_of_freedom(row.effective_degrees_of_freedom),
                format_significant(row.sum_of_squares, _DIGITS),
                format_significant(row.mean_square, _DIGITS),
                " + ".join(
                    _term(name, coefficient)
                    for name, coefficient in reversed(row.expected.items())
                    if coefficient > 0.0
                ),
            )
            for row in rows
        ),
    )


def _term(name: str, coefficient: float) -> str:
    if abs(coefficient - 1.0) < 1e-6:
        return name
    return f"{format_significant(coefficient, 4)} {name}"
