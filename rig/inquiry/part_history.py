"""All that is on record of one part, in order of time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from rig.analysis.limits.verdict import Decision
from rig.inquiry.run_list import run_list
from rig.model.figure_kinds import KIND_OF_OPTION
from rig.model.figures import Figure
from rig.model.part_number import one_spelling
from rig.records import RunFilter, Store
from rig.records.hand_readings import HandBook
from rig.records.lot_book import LotBook
from rig.records.studies import StudyBook


class PartEventKind(StrEnum):
    """What was done with a part."""

    RUN = "run"
    LOT = "lot"
    STUDY = "study"
    BY_HAND = "by hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartEvent:
    """One thing that was done with a part.

    Attributes:
        at: When, UTC.
        kind: What it was.
        what: Sensor and target of a run, or which lot or study it was for.
        result: What came of it, in a word or two.
        value: Operate point of a run, or the value read; None where there is none.
        unit: Unit of the value; empty where there is none.
        expanded_uncertainty: Expanded uncertainty (95 %) of the value; None if there
            is none.
        decision: What was decided about the part; None for no verdict.
        reason: Why, or what was seen; may be empty.
        person: Who did it; null if nobody said.
        run_id: The run behind it; null where there is none.
        simulated: Whether a simulated rig made it.
    """

    at: datetime
    kind: PartEventKind
    what: str
    result: str
    value: float | None
    unit: str
    expanded_uncertainty: float | None
    decision: Decision | None
    reason: str
    person: str | None
    run_id: str | None
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PartHistory:
    """A part and all that is on record of it.

    Attributes:
        part: Serial or sample number, in its one spelling.
        simulated: Whether a simulated rig made any of it.
        events: Everything, oldest first; empty for a part that is not on record.
    """

    part: str
    simulated: bool
    events: tuple[PartEvent, ...]


def part_history(store: Store, part: str) -> PartHistory:
    """Return what is on record of a part, all read at one moment.

    Args:
        store: Open records.
        part: Serial or sample number in any spelling.

    Raises:
        RecordsError: The records cannot be read.
    """
    number = one_spelling(part)
    with store.snapshot() as moment:
        found = [
            *_runs(moment, number),
            *_lots(moment, number),
            *_studies(moment, number),
            *_by_hand(moment, number),
        ]
    # What was entered from a run stands behind it
    order = list(PartEventKind)
    found.sort(key=lambda one: (one.at, order.index(one.kind)))
    return PartHistory(
        part=number,
        simulated=any(one.simulated for one in found),
        events=tuple(found),
    )


def _runs(store: Store, part: str) -> Iterator[PartEvent]:
    for row in run_list(store, RunFilter(part=part)).runs:
        figure = row.operate_mm
        yield PartEvent(
            at=row.started_at,
            kind=PartEventKind.RUN,
            what=f"{row.sensor} against {row.target}",
            result=row.result,
            value=None if figure is None else figure.value,
            unit="" if figure is None else figure.unit,
            expanded_uncertainty=_uncertainty(figure),
            decision=row.verdict,
            reason=row.outcome_sentence or row.void or "",
            person=row.operator,
            run_id=row.run_id,
            simulated=row.simulated,
        )


def _uncertainty(figure: Figure | None) -> float | None:
    return None if figure is None else figure.expanded_uncertainty


def _lots(store: Store, part: str) -> Iterator[PartEvent]:
    book = LotBook(store)
    for lot_id, one in book.readings_of_part(part):
        yield PartEvent(
            at=one.entered_at,
            kind=PartEventKind.LOT,
            what=f"{book.lot(lot_id).product}, lot {lot_id}",
            result="inspected",
            value=one.value,
            unit=one.unit,
            expanded_uncertainty=one.expanded_uncertainty,
            decision=Decision(one.decision),
            reason=one.reason,
            person=one.person or None,
            run_id=one.run_id or None,
            simulated=one.simulated,
        )


def _studies(store: Store, part: str) -> Iterator[PartEvent]:
    for entry, row, one in StudyBook(store).readings_of_part(part):
        yield PartEvent(
            at=one.entered_at,
            kind=PartEventKind.STUDY,
            what=f"{entry.title or entry.figure}, study {entry.study_id}",
            result=f"row {row.order}, trial {row.trial}",
            value=one.value,
            unit=one.unit,
            expanded_uncertainty=None,
            decision=None,
            reason="",
            person=row.appraiser,
            run_id=one.run_id or None,
            simulated=one.simulated,
        )


def _by_hand(store: Store, part: str) -> Iterator[PartEvent]:
    for one in HandBook(store).every():
        if one.part != part:
            continue
        kind = KIND_OF_OPTION.get(one.figure)
        yield PartEvent(
            at=one.entered_at,
            kind=PartEventKind.BY_HAND,
            what=f"{one.sensor} against {one.target}",
            result=one.figure if kind is None else kind.name,
            value=one.value_mm,
            unit="mm",
            expanded_uncertainty=None,
            decision=None,
            reason="",
            person=one.person,
            run_id=None,
            simulated=False,
        )
