"""A single-gauge study in rows and words."""

from __future__ import annotations

from rig.analysis.study.single_gauge import (
    ENOUGH_READINGS,
    FINE_ENOUGH_PERCENT,
    SingleGauge,
)
from rig.inquiry.gauge_study import SingleGaugeResult
from rig.model.rounding import format_decimals, format_p
from rig.sheets.gauge_matter import GaugeMatter
from rig.sheets.interval_rows import interval_row

_ASKED = "common practice asks for at least 1.33"


def single_gauge_matter(result: SingleGaugeResult) -> GaugeMatter:
    """Lay a single-gauge study out."""
    found, unit = result.study, result.source.unit
    n = found.n
    return GaugeMatter(
        kind="Single-gauge study",
        lead=f"One part, reference {found.reference:g} {unit}, tolerance"
        f" {found.tolerance:g} {unit}: n = {n} readings.",
        figures=(
            interval_row(
                "Cg",
                f"a fifth of the tolerance over six standard deviations; {_ASKED}",
                found.cg,
                found.cg_interval,
                unit="1",
                n=n,
            ),
            interval_row(
                "Cgk",
                f"a tenth of the tolerance minus the bias, over three; {_ASKED}",
                found.cgk,
                found.cgk_interval,
                unit="1",
                n=n,
            ),
            interval_row(
                "Bias",
                f"mean minus reference; by chance: {format_p(found.p)}",
                found.bias,
                found.bias_interval,
                unit=unit,
                n=n,
            ),
            interval_row(
                "Repeatability",
                "standard deviation of a reading",
                found.sd,
                found.sd_interval,
                unit=unit,
                n=n,
            ),
        ),
        tables=(),
        methods=(
            "Cg = 0.2 T / (6 s), Cgk = (0.1 T - |bias|) / (3 s), T the tolerance and s"
            " the standard deviation.",
            "Intervals: chi-squared for s and Cg, Student's t for the bias, a"
            " generalised one for Cgk. The reference is taken as exact.",
        ),
        drawn="Every reading in order, with the reference and a tenth of the tolerance"
        " to either side of it.",
        statements=_statements(found),
    )


def _statements(found: SingleGauge) -> tuple[str, ...]:
    said = []
    if found.n < ENOUGH_READINGS:
        said.append(
            f"{found.n} readings; common practice asks for at least {ENOUGH_READINGS},"
            " better 50."
        )
    if found.step_percent > FINE_ENOUGH_PERCENT:
        share = format_decimals(found.step_percent, 1)
        said.append(
            f"The readings lie on steps of {found.step:g}, {share} % of the tolerance;"
            f" common practice asks for at most {FINE_ENOUGH_PERCENT:g} %."
        )
    return tuple(said)
