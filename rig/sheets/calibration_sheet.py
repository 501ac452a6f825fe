"""Calibrations of axes in rows, words and rounded numbers."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.axis.axis_test import AxisTest
from rig.analysis.axis.block_fit import BlockFit
from rig.analysis.axis.calibration_state import CalibrationState
from rig.inquiry.axis_calibration import (
    CalibrationResult,
    Calibrations,
    StandingCalibration,
)
from rig.model.rounding import format_decimals, format_figure, round_to_uncertainty
from rig.sheets.place_check_sheet import PlaceCheckSheet, place_check_sheet

# Figure of the axis test: its name in ISO 230-2 with its symbol
_TEST_FIGURES = {
    "reversal": "reversal value B",
    "repeatability_up": "repeatability, up",
    "repeatability_down": "repeatability, down",
    "repeatability": "repeatability, both directions R",
    "systematic_up": "systematic deviation, up",
    "systematic_down": "systematic deviation, down",
    "systematic": "systematic deviation, both directions E",
    "mean_systematic": "range of the mean deviations M",
    "accuracy_up": "accuracy, up",
    "accuracy_down": "accuracy, down",
    "accuracy": "accuracy, both directions A",
}
_Laid = tuple[str, tuple[tuple[str, str], ...], tuple[str, ...]]
_DECIMALS = 5  # 0.01 µm: these figures have no uncertainty to be rounded by


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionRow:
    """The correction at one place; all text.

    Attributes:
        rig_id: Identity of the rig.
        certificate: What the calibration is recorded under.
        place: Place from home, mm.
        correction: Actual minus commanded place, mm, with its sign.
        uncertainty: Standard uncertainty of the correction, mm.
        holds: First and last day on which the calibration holds.
        state: Whether it may be relied on.
    """

    rig_id: str
    certificate: str
    place: str
    correction: str
    uncertainty: str
    holds: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationHead:
    """Which calibration it is, and whether it holds; all text.

    Attributes:
        rig_id: Identity of the rig.
        certificate: What the calibration is recorded under.
        holds: First and last day on which it holds.
        state: Whether it may be relied on.
        sign: Sign that goes before the state.
        instrument: Standard uncertainty of the indicator or the blocks, mm.
    """

    rig_id: str
    certificate: str
    holds: str
    state: str
    sign: str
    instrument: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationSheet:
    """One calibration with its axis test.

    Attributes:
        head: Rig, certificate, and whether the calibration holds.
        name: Name of the calibration and of its rig.
        lead: What the figures are, in one sentence.
        figures: Name and value of each figure of the axis test or of the blocks' fit,
            with its unit.
        corrections: The correction at every place.
        statements: What these fall short of, and the state of the calibration.
    """

    head: CalibrationHead
    name: str
    lead: str
    figures: tuple[tuple[str, str], ...]
    corrections: tuple[CorrectionRow, ...]
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationsSheet:
    """The calibrations in force.

    Attributes:
        corrections: The correction at every place of every rig; may be empty.
        statements: What is to be known of them.
        place_checks: The newest check of every rig's screw at several places.
    """

    corrections: tuple[CorrectionRow, ...]
    statements: tuple[str, ...]
    place_checks: tuple[PlaceCheckSheet, ...]


def calibration_sheet(result: CalibrationResult) -> CalibrationSheet:
    """Lay out a calibration with its axis test."""
    laid: _Laid = ("", (), ())
    if result.axis_test is not None:
        laid = _of_axis_test(result.axis_test)
    if result.blocks is not None:
        laid = _of_blocks(result.blocks)
    lead, figures, short = laid
    said = [*short, *filter(None, [result.statement, result.period])]
    return CalibrationSheet(
        head=_head(result),
        name=f"calibration {result.calibration_id} of {result.rig_id}",
        lead=lead,
        figures=figures,
        corrections=_corrections(result),
        statements=tuple(_sentence(words) for words in said),
    )


def _of_axis_test(test: AxisTest) -> _Laid:
    figures = [
        (name, f"{format_decimals(getattr(test, field), _DECIMALS)} mm")
        for field, name in _TEST_FIGURES.items()
    ]
    figures.append(("mean reversal", str(format_figure(test.mean_reversal))))
    lead = (
        f"ISO 230-2, from n = {test.n} runs each way; only the mean reversal has an"
        " uncertainty of its own."
    )
    return lead, tuple(figures), test.statements


def _of_blocks(fit: BlockFit) -> _Laid:
    n = fit.residuals_mm.size - 1
    covered = f"{fit.positions_mm[0]:.4g} to {fit.positions_mm[-1]:.4g} mm from home"
    lead = (
        "Scale, and what repeats with each turn of the screw, from contacts on"
        f" n = {n} gauge blocks and on the face; it holds from {covered}."
    )
    largest_um = 1000.0 * float(abs(fit.residuals_mm).max())
    figures = (
        ("error of the scale", str(format_figure(fit.scale_error))),
        ("periodic error, amplitude", str(format_figure(fit.amplitude))),
        ("largest reading off the fit", f"{format_decimals(largest_um, 2)} µm"),
        (
            "a correction over a reading, standard uncertainties",
            format_decimals(fit.largest_ratio, 2),
        ),
    )
    return lead, figures, fit.statements


def calibrations_sheet(result: Calibrations) -> CalibrationsSheet:
    """Lay out the calibrations in force."""
    if not result.in_force:
        said = ["no axis has a calibration: positions rest on the nominal screw"]
    else:
        said = [
            one.statement
            for one in result.in_force
            if one.state is not CalibrationState.VALID
        ]
    if result.earlier:
        said.append(f"{result.earlier} earlier calibrations are kept, not in force")
    return CalibrationsSheet(
        corrections=tuple(row for one in result.in_force for row in _corrections(one)),
        statements=tuple(_sentence(words) for words in said),
        place_checks=tuple(place_check_sheet(one) for one in result.place_checks),
    )


def _head(result: CalibrationResult) -> CalibrationHead:
    valid = result.state is CalibrationState.VALID
    return CalibrationHead(
        rig_id=result.rig_id,
        certificate=result.certificate,
        holds=f"{result.calibrated_on} to {result.due_on}",
        state=result.state.value,
        sign="✓" if valid else "✗",
        # Somebody gave it, nobody measured it: all its digits
        instrument=round_to_uncertainty(result.instrument_uncertainty_mm, 0.0)[0],
    )


def _corrections(one: StandingCalibration) -> tuple[CorrectionRow, ...]:
    places = zip(
        one.positions_mm,
        one.corrections_mm,
        one.standard_uncertainty_mm,
        strict=True,
    )
    rows = []
    for place, correction, uncertainty in places:
        shown, rounded = round_to_uncertainty(correction, uncertainty)
        rows.append(
            CorrectionRow(
                rig_id=one.rig_id,
                certificate=one.certificate,
                # Somebody chose the place, nobody measured it: all its digits
                place=round_to_uncertainty(place, 0.0)[0],
                correction=shown if shown.startswith("-") else f"+{shown}",
                uncertainty=rounded,
                holds=f"{one.calibrated_on} to {one.due_on}",
                state=one.state.value,
            )
        )
    return tuple(rows)


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
