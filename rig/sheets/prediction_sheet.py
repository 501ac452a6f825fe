"""Measured runs beside theory, as rows, sentences and rounded numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rig.analysis.limits.verdict import Decision
from rig.inquiry.prediction import NotComparable, PredictedRun, PredictionResult
from rig.inquiry.theory import PROPERTY_WORDS, NoTheory, Theory
from rig.model.rounding import (
    FigureText,
    format_decimals,
    format_figure,
    format_without_uncertainty,
    round_to_uncertainty,
    signed,
)
from rig.sheets.signs import VERDICT_SIGNS

_AGREEMENT = {
    True: (VERDICT_SIGNS[Decision.CONFORMS], "agrees"),
    False: (VERDICT_SIGNS[Decision.DOES_NOT_CONFORM], "does not agree"),
    None: (VERDICT_SIGNS[Decision.UNDECIDED], "no ± to judge by"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TheoryRow:
    """Where theory says that a sensor operates; all text.

    Attributes:
        property: Name and range of the material's property, with its unit.
        predicted: Operate point at the middle of that range, without its unit.
        low: Smallest operate point over the range, without its unit.
        high: Largest operate point over the range, without its unit.
        interval: Smallest and largest operate point over the range, with the unit.
        curve: What the curve is for.
        sentence: The prediction in words, or the words why there is none.
    """

    property: str
    predicted: str
    low: str
    high: str
    interval: str
    curve: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictionRow:
    """One run beside theory; all text.

    Attributes:
        run_id: Identity of the run.
        sensor: Name of the sensor.
        material: Name of the target.
        thickness: Thickness of the target, with its unit.
        theory: What theory says.
        measured: Measured operate point.
        deviation: Measured less predicted, with its uncertainty if it has one.
        score: E_n; a dash without one.
        sign: Goes before the verdict.
        verdict: Whether measured and predicted agree.
        sentence: All of it in words.
    """

    run_id: str
    sensor: str
    material: str
    thickness: str
    theory: TheoryRow
    measured: FigureText
    deviation: str
    score: str
    sign: str
    verdict: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NotComparableRow:
    """One run that theory says nothing of; all text.

    Attributes:
        run_id: Identity of the run.
        material: Name of the target.
        measured: Measured operate point.
        sentence: Why it is not comparable.
        property_unknown: Whether a value of the material's property would help.
    """

    run_id: str
    material: str
    measured: FigureText
    sentence: str
    property_unknown: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictionSheet:
    """Runs beside theory; all text.

    Attributes:
        simulated: Whether a simulated rig made any of the runs.
        notes: What the theory is and what it holds for.
        rows: Runs that theory says something of.
        not_comparable: The others.
        rank_correlation: The sentence on ranks; empty without one.
    """

    simulated: bool
    notes: tuple[str, ...]
    rows: tuple[PredictionRow, ...]
    not_comparable: tuple[NotComparableRow, ...]
    rank_correlation: str


def prediction_sheet(result: PredictionResult) -> PredictionSheet:
    """Lay out runs beside theory."""
    rank = result.rank_correlation
    return PredictionSheet(
        simulated=result.simulated,
        notes=result.notes,
        rows=tuple(_row(one) for one in result.deviations),
        not_comparable=tuple(_not_comparable(one) for one in result.not_comparable),
        rank_correlation=""
        if rank is None
        else f"Rank correlation, measured against predicted: {format_decimals(rank, 2)}"
        f" (n = {len(result.deviations)}, too few for an interval).",
    )


def prediction_lines(sheet: PredictionSheet) -> tuple[str, ...]:
    """Return the comparison in sentences, and what the theory holds for."""
    said = [row.sentence for row in sheet.rows]
    said += [row.sentence for row in sheet.not_comparable]
    return tuple(f"{words}." for words in said) or (
        "No run of this sensor is on record yet.",
    )


def theory_row(found: Theory | NoTheory) -> TheoryRow:
    """Lay out what theory says of a sensor against a target."""
    if isinstance(found, NoTheory):
        return TheoryRow(
            property="",
            predicted="",
            low="",
            high="",
            interval="",
            curve="",
            sentence=f"Theory says nothing of this target: {found.reason}.",
        )
    return _theory_row(found)


def _theory_row(found: Theory | PredictedRun) -> TheoryRow:
    low_mm, high_mm = found.predicted_range_mm
    predicted, low, high = _rounded(found.predicted_mm, low_mm, high_mm)
    known = _property_words(found)
    said = (note.partition("target: ")[2] for note in found.curve.notes)
    curve = next((words for words in said if words), "a target that it does not name")
    return TheoryRow(
        property=known,
        predicted=predicted,
        low=low,
        high=high,
        interval=f"{low} to {high} mm",
        curve=curve,
        sentence=f"{known}: theory {low} to {high} mm; curve for {curve}.",
    )


def _rounded(middle: float, low: float, high: float) -> tuple[str, str, str]:
    """Round all three by half the range, which is the prediction's uncertainty."""
    half = 0.5 * (high - low)
    if half == 0.0:
        same = format_without_uncertainty(middle, "mm")
        return same, same, same
    values = [round_to_uncertainty(value, half)[0] for value in (middle, low, high)]
    return values[0], values[1], values[2]


def _property_words(found: Theory | PredictedRun) -> str:
    low, high = found.property_low, found.property_high
    span = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    unit = " S/m" if found.of.value.endswith("_s_m") else ""
    return f"{PROPERTY_WORDS[found.of]} {span}{unit}"


def _row(one: PredictedRun) -> PredictionRow:
    theory = _theory_row(one)
    sign, verdict = _AGREEMENT[one.agrees]
    measured = format_figure(one.measured)
    score = "–" if one.normalised is None else _score(one.normalised)
    thickness = f"{one.thickness_mm:g} mm"
    known = "" if one.normalised is None else f" (E_n {score})"
    return PredictionRow(
        run_id=one.run_id,
        sensor=one.sensor,
        material=one.material,
        thickness=thickness,
        theory=theory,
        measured=measured,
        deviation=_deviation(one),
        score=score,
        sign=sign,
        verdict=verdict,
        sentence=(
            f"{one.material}, {thickness}: theory {theory.interval}, measured"
            f" {measured.brief}, {sign} {verdict}{known}"
        ),
    )


def _score(normalised: float) -> str:
    if math.isinf(normalised):
        return "+∞" if normalised > 0.0 else "-∞"
    return signed(format_decimals(normalised, 2))


def _deviation(one: PredictedRun) -> str:
    size = one.expanded_uncertainty_mm
    if size is None:
        return f"{signed(format_without_uncertainty(one.deviation_mm, 'mm'))} mm"
    value, uncertainty = round_to_uncertainty(one.deviation_mm, size)
    return f"({signed(value)} ± {uncertainty}) mm"


def _not_comparable(one: NotComparable) -> NotComparableRow:
    measured = format_figure(one.measured)
    return NotComparableRow(
        run_id=one.run_id,
        material=one.material,
        measured=measured,
        sentence=(
            f"{one.material}, {one.thickness_mm:g} mm: measured {measured.brief},"
            f" not comparable: {one.reason}"
        ),
        property_unknown=one.property_unknown,
    )
