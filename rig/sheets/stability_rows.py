"""Stability of a gauge in rows and words."""

from __future__ import annotations

from rig.inquiry.gauge_study import StabilityResult
from rig.model.rounding import format_p, format_significant
from rig.sheets.chart_rows import chart_rows
from rig.sheets.gauge_matter import GaugeMatter, SheetTable
from rig.sheets.interval_rows import interval_row

_FEW = 20
_DOUBTFUL = 0.05


def stability_matter(result: StabilityResult) -> GaugeMatter:
    """Lay the stability out."""
    found, unit = result.study, result.source.unit
    k, n = len(found.groups), len(found.groups) * found.size
    step = "subgroup" if found.size > 1 else "reading"
    figures = [
        interval_row(
            "Mean",
            "of the check standard",
            found.mean,
            found.mean_interval,
            unit=unit,
            n=n,
        ),
        interval_row(
            "Drift",
            f"from one {step} to the next; by chance: {format_p(found.drift_p)}",
            found.drift,
            found.drift_interval,
            unit=unit,
            n=n,
        ),
    ]
    if found.bias is not None and found.bias_interval is not None:
        figures.append(
            interval_row(
                "Bias",
                f"mean minus the reference {found.reference:g}, taken as exact",
                found.bias,
                found.bias_interval,
                unit=unit,
                n=n,
            )
        )
    charts = chart_rows(found.charts, unit)
    of = f" of {found.size} readings each" if found.size > 1 else ""
    return GaugeMatter(
        kind="Stability",
        lead=f"{k} {step}s{of}: n = {n} readings.",
        figures=tuple(figures),
        tables=(
            SheetTable(
                caption=f"Control charts, in {unit}",
                head=("chart", "lower", "centre", "upper", "rules broken"),
                rows=tuple(
                    (row.name, row.lower, row.centre, row.upper, row.broken or "none")
                    for row in charts
                ),
            ),
        ),
        methods=(
            "Control limits: Shewhart charts at 3 standard deviations, from the mean"
            " range; NIST/SEMATECH e-Handbook, 6.3.2.",
            "Drift: ordinary least squares through the means in their order.",
            *_between(result),
        ),
        drawn=" ".join(str(row) for row in charts),
        statements=_statements(result),
    )


def _between(result: StabilityResult) -> tuple[str, ...]:
    between, unit = result.study.between, result.source.unit
    if between is None:
        return ()
    within, added = (
        format_significant(sd, 3) for sd in (between.sd_within, between.sd_between)
    )
    return (
        f"Within a subgroup the readings scatter by {within} {unit}; from one to"
        f" another {added} {unit} comes to that ({format_p(between.p)}).",
    )


def _statements(result: StabilityResult) -> tuple[str, ...]:
    found = result.study
    said = []
    if not found.stable:
        said.append(
            "The charts break a rule: the gauge is not stable, and its mean holds for"
            " no time."
        )
    if found.drift_p < _DOUBTFUL:
        said.append(
            f"The means drift ({format_p(found.drift_p)}): the mean holds for no time."
        )
    if not said:
        said.append(
            "The charts break no rule and no drift is shown: nothing says that the"
            " gauge is not stable."
        )
    if len(found.groups) < _FEW:
        said.append(
            f"{len(found.groups)} points make uncertain control limits; common practice"
            f" asks for {_FEW}."
        )
    return tuple(said)
