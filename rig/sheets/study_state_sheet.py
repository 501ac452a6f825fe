"""How far a study is, in rows and words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rig.inquiry.study_state import StudyStanding, StudyState
from rig.inquiry.study_without import RowWithout
from rig.model.figure_kinds import figure_name
from rig.records.studies import StudyEntry, StudyRow
from rig.sheets.bench_words import utc
from rig.sheets.study_sheet import ReadingLine, reading_lines


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyLine:
    """One study in the list; all text.

    Attributes:
        study_id: Identity of the study.
        title: Title of the study.
        begun: When it was laid out, UTC.
        figure: Trade name of the figure that is read.
        size: How many parts, appraisers and trials.
        filled: How many readings of how many there are.
        complete: Whether every row has its reading.
    """

    study_id: str
    title: str
    begun: str
    figure: str
    size: str
    filled: str
    complete: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyStateSheet:
    """One study with the readings so far.

    Attributes:
        line: The study as the list shows it.
        unit: Unit of the readings.
        simulated: How many readings a simulated rig made.
        total: How many readings there are so far.
        progress: How far it is, in one sentence.
        rows: Every row in its order; a row that is due has no value, and as its origin
            how it ended if its part was tried and gave no figures.
        due: The row that is due next, in words; empty when every row has its reading.
    """

    line: StudyLine
    unit: str
    simulated: int
    total: int
    progress: str
    rows: tuple[ReadingLine, ...]
    due: str


def study_lines(found: tuple[StudyStanding, ...]) -> tuple[StudyLine, ...]:
    """Lay out the list of studies."""
    return tuple(_line(one.entry, one.filled) for one in found)


def study_state_sheet(state: StudyState) -> StudyStateSheet:
    """Lay out a study with its readings so far."""
    entry, due = state.entry, state.due
    read = {line.order: line for line in reading_lines(entry, state.readings)}
    return StudyStateSheet(
        line=_line(entry, len(state.readings)),
        unit=entry.unit,
        simulated=state.simulated,
        total=len(state.readings),
        progress=_progress(len(state.readings), len(entry.rows)),
        rows=tuple(
            read.get(str(row.order)) or _due(row, state.without) for row in entry.rows
        ),
        due=row_words(due[0]) if due else "",
    )


def row_words(row: StudyRow) -> str:
    """Say which part, appraiser and trial a row is of."""
    return (
        f"row {row.order}: part {row.part}, appraiser {row.appraiser},"
        f" trial {row.trial}"
    )


def _line(entry: StudyEntry, filled: int) -> StudyLine:
    parts, appraisers, trials = (
        len({getattr(row, name) for row in entry.rows})
        for name in ("part", "appraiser", "trial")
    )
    return StudyLine(
        study_id=entry.study_id,
        title=entry.title,
        begun=utc(entry.begun_at),
        figure=figure_name(entry.figure),
        size=f"{parts} parts, {appraisers} appraisers, {trials} trials",
        filled=f"{filled}/{len(entry.rows)}",
        complete=filled == len(entry.rows),
    )


def _progress(filled: int, wanted: int) -> str:
    if filled == wanted:
        return f"All {wanted} readings are on record."
    return f"{filled} of {wanted} readings are on record, {wanted - filled} are due."


def _due(row: StudyRow, without: Mapping[int, RowWithout]) -> ReadingLine:
    tried = without.get(row.order)
    return ReadingLine(
        order=str(row.order),
        part=row.part,
        appraiser=row.appraiser,
        trial=str(row.trial),
        value="",
        origin="" if tried is None else tried.result,
        simulated=False,
    )
