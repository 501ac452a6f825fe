"""Checks of the screw at several places in rows, words and rounded numbers."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.place_check import PlaceCheckResult, PlaceVerdict
from rig.model.bench_declaration import ValueSource
from rig.model.bench_items import PERIODIC
from rig.model.figures import Figure
from rig.model.rounding import format_decimals, format_figure, format_p, signed
from rig.sheets.bench_words import utc

PLACE_HEAD = (
    "place",
    "face mm",
    "phase, turns",
    "after min",
    "operate mm",
    "release mm",
    "off the fit, operate µm",
    "release µm",
    "run",
)
_SIGNS = {
    PlaceVerdict.AGREES: "✓",
    PlaceVerdict.EXCEEDS: "✗",
    PlaceVerdict.UNDECIDED: "?",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceCheckSheet:
    """One check; all text.

    Attributes:
        name: Identity of the check, its rig and its time.
        lead: What the figures are, in one sentence.
        figures: Name and value of each figure, with its unit.
        places: One row a place, in the order of `PLACE_HEAD`.
        verdict: Sign and sentence on what is declared.
        statements: What the figures fall short of, the calibration in force, and where
            to clamp next.
    """

    name: str
    lead: str
    figures: tuple[tuple[str, str], ...]
    places: tuple[tuple[str, ...], ...]
    verdict: str
    statements: tuple[str, ...]


def place_check_sheet(result: PlaceCheckResult) -> PlaceCheckSheet:
    """Lay out a check."""
    simulated = ", SIMULATED" if result.simulated else ""
    said = [f"{words[:1].upper()}{words[1:]}." for words in result.fit.statements]
    return PlaceCheckSheet(
        name=(
            f"check {result.check_id} of the screw of {result.rig_id}{simulated},"
            f" {utc(result.entered_at)}"
        ),
        lead=(
            f"One sine of {result.lead_mm:g} mm through what {result.sensor} against"
            f" {result.target} gave at n = {len(result.places)} places of its holder."
        ),
        figures=tuple(_figures(result)),
        places=tuple(
            (
                str(number),
                format_decimals(row.face_mm, 3),
                format_decimals(row.phase_turns, 2),
                format_decimals(row.minutes, 1),
                format_decimals(row.operate_mm, 4),
                format_decimals(row.release_mm, 4),
                _um(row.operate_residual_mm),
                _um(row.release_residual_mm),
                row.run_id,
            )
            for number, row in enumerate(result.places, start=1)
        ),
        verdict=_verdict(result),
        statements=(*said, *_calibration(result), *_advice(result)),
    )


def _figures(result: PlaceCheckResult) -> list[tuple[str, str]]:
    fit = result.fit
    found = [("periodic error, amplitude", _shown(fit.first.amplitude))]
    if fit.first.told:
        found.append(("its phase at home", _shown(fit.first.phase)))
    if fit.second is not None:
        found.append(("amplitude with half of the lead", _shown(fit.second.amplitude)))
    if fit.drift is not None:
        found.append(("drift of the sensor", _shown(fit.drift)))
    chi = (
        f"{format_decimals(fit.chi_square, 1)} for"
        f" {fit.degrees_of_freedom} degrees of freedom, {format_p(fit.chance)}"
    )
    return [
        *found,
        ("bound that follows", f"{format_decimals(result.bound_um, 2)} µm"),
        ("seen of the amplitude by operate", _share(fit.operate_sensitivity)),
        ("seen of it by release", _share(fit.release_sensitivity)),
        ("seen of it by their difference", _share(fit.travel_sensitivity)),
        ("chi-square by touches and sweeps alone", chi),
    ]


def _shown(figure: Figure) -> str:
    return str(format_figure(figure))


def _share(sensitivity: float) -> str:
    return f"{format_decimals(100.0 * sensitivity, 0)} %"


def _um(residual_mm: float) -> str:
    return signed(format_decimals(1000.0 * residual_mm, 1))


def _verdict(result: PlaceCheckResult) -> str:
    words: str = result.verdict.value
    if result.declared_source is ValueSource.ASSUMED:
        words = words.replace("declared", "assumed")
    declared = f"{result.declared_um:g} µm, {result.declared_source.value}"
    if result.declared_source is ValueSource.ASSUMED:
        declared = f"{result.declared_um:g} µm"
    return (
        f"{_SIGNS[result.verdict]} The periodic error of the screw {words}"
        f" ({declared})."
    )


def _calibration(result: PlaceCheckResult) -> list[str]:
    left = result.calibrated
    if left is None:
        return []
    word = "agrees with" if result.calibration_holds else "does not agree with"
    return [
        f"After the corrections of the calibration {result.certificate} an amplitude"
        f" of {_shown(left.amplitude)} is left: what was found {word} it."
    ]


def _advice(result: PlaceCheckResult) -> list[str]:
    said = []
    if result.advice_mm:
        places = ", ".join(format_decimals(mm, 2) for mm in result.advice_mm)
        said.append(
            f"Phases of the screw are unseen: clamp the face near {places} mm next."
        )
    bound = format_decimals(result.bound_um, 2)
    if result.taken_over:
        said.append(f"{PERIODIC}={bound} is declared of {result.rig_id}, measured.")
    else:
        said.append(
            f"`gapsweep bench set {PERIODIC}={bound} --source measured --rig-id"
            f" {result.rig_id}` declares it."
        )
    return said
