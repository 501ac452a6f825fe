"""Two settings of the trimmer side by side, in sentences and rounded numbers."""

from __future__ import annotations

from rig.inquiry.lesson import PairRecords, SettingsDifference
from rig.inquiry.measured_run import MeasuredRun
from rig.model.rounding import (
    format_figure,
    format_without_uncertainty,
    round_to_uncertainty,
    signed,
)


def settings_lines(records: PairRecords) -> tuple[str, ...]:
    """Say what was measured at each setting and by how much the operate point moved."""
    lines = [_line("before", records.before), _line("after", records.after)]
    if records.before is not None and records.after is not None:
        lines.append(difference_words(records.difference))
    return tuple(lines)


def _line(name: str, one: MeasuredRun | None) -> str:
    if one is None:
        return f"{name}: not measured yet"
    figures = one.figures
    return (
        f"{name}: operate {format_figure(figures.operate).brief},"
        f" diff. travel {format_figure(figures.differential_travel).brief},"
        f" n = {figures.operate.n}"
    )


def difference_words(found: SettingsDifference | None) -> str:
    """Say by how much the operate point moved and whether that is sure."""
    if found is None:
        return "It takes two sweeps at least of each to compare them."
    half = 0.5 * (found.interval.upper - found.interval.lower)
    words = (
        f"After minus before: ({_rounded(found.difference_mm, half)}) mm"
        f" ({100.0 * found.interval.confidence:g} %, from the scatter),"
        f" {'a sure change' if found.sure else 'no sure change'}."
    )
    if not found.same_datum:
        words += " The datum was found again between them: its scatter comes on top."
    return words


def _rounded(difference_mm: float, half_mm: float) -> str:
    if half_mm == 0.0:
        return f"{signed(format_without_uncertainty(difference_mm, 'mm'))} ± 0"
    value, uncertainty = round_to_uncertainty(difference_mm, half_mm)
    return f"{signed(value)} ± {uncertainty}"
