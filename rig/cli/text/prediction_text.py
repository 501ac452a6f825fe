"""Measured runs beside theory, as plain text."""

from __future__ import annotations

from rig.cli.text.table import SIMULATED, table
from rig.sheets.prediction_sheet import PredictionRow, PredictionSheet

_HEAD = ("target", "thickness", "predicted mm", "range", "measured", "deviation", "E_n")


def prediction_text(sheet: PredictionSheet) -> str:
    """Return a row for every run, and why some are not comparable."""
    lines = [SIMULATED] if sheet.simulated else []
    lines += [f"# {note}" for note in sheet.notes]
    if sheet.rows:
        lines.append(table([*_HEAD, ""], [_cells(one) for one in sheet.rows]))
        lines += dict.fromkeys(
            f"{one.material}: {one.theory.property}" for one in sheet.rows
        )
    for one in sheet.not_comparable:
        lines.append(f"{one.sentence}.")
        if one.property_unknown:
            lines.append(f"  Give it with --property {one.material}=LOW:HIGH.")
    lines += [sheet.rank_correlation] if sheet.rank_correlation else []
    return "\n".join(lines)


def _cells(one: PredictionRow) -> list[str]:
    return [
        one.material,
        one.thickness,
        one.theory.predicted,
        one.theory.interval,
        one.measured.brief,
        one.deviation,
        one.score,
        f"{one.sign} {one.verdict}",
    ]
