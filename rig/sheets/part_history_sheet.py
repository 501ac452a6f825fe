"""The history of a part in rows and words, once for all surfaces."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from rig.inquiry.part_history import PartEvent, PartEventKind, PartHistory
from rig.model.rounding import unit_words
from rig.sheets.part_rows import value_words
from rig.sheets.run_list_sheet import DASH
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.tried_sheet import verdict_word


@dataclass(frozen=True, slots=True, kw_only=True)
class PartEventRow:
    """One thing that was done with the part; all text, a dash where there is nothing.

    Attributes:
        at: When, UTC, to the minute.
        kind: Run, lot, study or by hand.
        what: What was measured, or what it was for.
        result: What came of it.
        value: Value with its uncertainty and unit.
        verdict: Sign and words; empty where none is asked for.
        person: Who did it.
        run_id: Identity of the run behind it.
        reason: Why, or what was seen; may be empty.
        simulated: Whether a simulated rig made it.
    """

    at: str
    kind: str
    what: str
    result: str
    value: str
    verdict: str
    person: str
    run_id: str
    reason: str
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PartHistorySheet:
    """A part and all that is on record of it.

    Attributes:
        part: Serial or sample number.
        lead: How much of what is on record, in one sentence.
        simulated: How many rows a simulated rig made.
        rows: Everything, oldest first.
    """

    part: str
    lead: str
    simulated: int
    rows: tuple[PartEventRow, ...]


def part_history_sheet(found: PartHistory) -> PartHistorySheet:
    """Lay out the history of a part."""
    return PartHistorySheet(
        part=found.part,
        lead=_lead(found),
        simulated=sum(one.simulated for one in found.events),
        rows=tuple(map(_row, found.events)),
    )


def _lead(found: PartHistory) -> str:
    if not found.events:
        return f"Nothing is on record of part {found.part}."
    counts = Counter(one.kind.value for one in found.events)
    words = ", ".join(f"{kind}: {count}" for kind, count in counts.items())
    return f"Part {found.part}: {words}."


def _verdict(one: PartEvent) -> str:
    if one.decision is not None:
        return f"{VERDICT_SIGNS[one.decision]} {verdict_word(one.decision)}"
    return verdict_word(None) if one.kind is PartEventKind.RUN else ""


def _value(one: PartEvent) -> str:
    if one.value is None:
        return DASH
    value, uncertainty = value_words(one.value, one.expanded_uncertainty, one.unit)
    unit = unit_words(one.unit)
    if one.expanded_uncertainty is None:
        return f"{value} {unit} (no ±)"
    return f"{value} {uncertainty} {unit}"


def _row(one: PartEvent) -> PartEventRow:
    return PartEventRow(
        at=f"{one.at:%Y-%m-%d %H:%M}",
        kind=one.kind.value,
        what=one.what,
        result=one.result,
        value=_value(one),
        verdict=_verdict(one),
        person=one.person or DASH,
        run_id=one.run_id or DASH,
        reason=one.reason,
        simulated=one.simulated,
    )
