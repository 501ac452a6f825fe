"""Calibrations of axes as plain text; rounds nothing."""

from __future__ import annotations

from collections.abc import Sequence

from rig.cli.text.place_check_text import place_check_text
from rig.cli.text.table import table
from rig.sheets.calibration_sheet import (
    CalibrationSheet,
    CalibrationsSheet,
    CorrectionRow,
)

_HEAD = (
    "rig",
    "certificate",
    "place mm",
    "correction mm",
    "standard uncertainty mm",
    "holds",
    "state",
)


def calibration_text(sheet: CalibrationSheet) -> str:
    """Return a calibration with its axis test."""
    lines = [
        calibration_figures_text(sheet),
        _corrections(sheet.corrections),
        *sheet.statements,
    ]
    return "\n".join(lines)


def calibration_figures_text(sheet: CalibrationSheet) -> str:
    """Return what a calibration found, without the correction at every place."""
    figures = table(("figure", "value"), sheet.figures)
    return "\n".join([sheet.name, sheet.lead, figures])


def calibrations_text(sheet: CalibrationsSheet) -> str:
    """Return the calibrations in force."""
    tables = [_corrections(sheet.corrections)] if sheet.corrections else []
    checks = [f"\n{place_check_text(check)}" for check in sheet.place_checks]
    return "\n".join([*tables, *sheet.statements, *checks])


def _corrections(rows: Sequence[CorrectionRow]) -> str:
    cells = [
        (
            row.rig_id,
            row.certificate,
            row.place,
            row.correction,
            row.uncertainty,
            row.holds,
            row.state,
        )
        for row in rows
    ]
    return table(_HEAD, cells)
