"""The runs on record as rows of text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rig.inquiry.run_list import RunRow
from rig.model.attempts import Outcome
from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.sheets.bench_words import calibration_short
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.tried_sheet import verdict_word

DASH = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLine:
    """One run; a dash where there is nothing.

    Attributes:
        run_id: Identity in the records.
        started: When it began, UTC, to the minute.
        sensor: Name of the sensor.
        part: Serial or sample number.
        target: Name of the target.
        operator: Who answers for it.
        temperature: Ambient temperature, °C.
        calibration: Certificate, and whether it was in force.
        operate: Operate point with its uncertainty, mm.
        release: Release point likewise.
        travel: Differential travel likewise.
        n: Number of readings behind them.
        verdict: The gravest of all, in words.
        verdicts: Sign and symbol of each verdict.
        state: Whether it is simulated or was changed, and its outcome if it gave no
            figures.
    """

    run_id: str
    started: str
    sensor: str
    part: str
    target: str
    operator: str
    temperature: str
    calibration: str
    operate: str
    release: str
    travel: str
    n: str
    verdict: str
    verdicts: str
    state: str


def run_lines(rows: Iterable[RunRow]) -> tuple[RunLine, ...]:
    """Lay out the runs on record, in their order."""
    return tuple(_line(row) for row in rows)


def verdict_signs(row: RunRow) -> str:
    """Return sign and symbol of each verdict of a run."""
    signs = [f"{VERDICT_SIGNS[one]} {symbol}" for symbol, one in row.verdicts.items()]
    return ", ".join(signs) or DASH


def _line(row: RunRow) -> RunLine:
    return RunLine(
        run_id=row.run_id,
        started=f"{row.started_at:%Y-%m-%d %H:%M}",
        sensor=row.sensor,
        part=row.part or DASH,
        target=row.target,
        operator=row.operator or DASH,
        temperature=DASH if row.temperature_c is None else f"{row.temperature_c:.4g}",
        calibration=DASH
        if row.calibration is None
        else calibration_short(row.calibration),
        operate=_cell(row.operate_mm),
        release=_cell(row.release_mm),
        travel=_cell(row.differential_travel_mm),
        n=DASH if row.operate_mm is None else str(row.operate_mm.n),
        verdict=verdict_word(row.verdict),
        verdicts=verdict_signs(row),
        state=_state(row),
    )


def _cell(figure: Figure | None) -> str:
    return DASH if figure is None else format_figure(figure).cell


def _state(row: RunRow) -> str:
    words = ["SIMULATED"] if row.simulated else []
    if row.changes:
        words.append("CHANGED after it was recorded")
    if row.void:
        words.append(f"{row.result}; void: {row.void}")
    elif row.outcome is not Outcome.FIGURES:
        taken = f"{row.good_sweeps} of {row.sweeps_wanted} sweeps"
        words.append(f"{row.result}; unfinished, {taken}")
    return ", ".join(words)
