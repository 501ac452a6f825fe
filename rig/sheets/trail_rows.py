"""Entries of the trail as rows of text: every surface that shows it shows these."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from rig.inquiry.lot_trail import LotTrail
from rig.records.lot_entries import part_of
from rig.records.trail_book import TrailEntry
from rig.records.trail_chain import ChainCheck
from rig.sheets.bench_words import NOT_RECORDED, utc
from rig.sheets.lot_part_rows import NO_VALUE, part_row

NOTHING: Final = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailRow:
    """One entry of the trail; all text.

    Attributes:
        number: Number of the entry in the whole trail.
        when: When it was made.
        who: Who made it, and under whose authority.
        subject: What kind of thing was changed, and its identity.
        action: What was done.
        before: What was on record; a dash for nothing.
        after: What was on record from then on; a dash for nothing.
        why: Why; a dash where nothing had to be said.
    """

    number: str
    when: str
    who: str
    subject: str
    action: str
    before: str
    after: str
    why: str


def trail_rows(entries: Iterable[TrailEntry]) -> tuple[TrailRow, ...]:
    """Lay out entries of the trail in their order."""
    return tuple(map(_row, entries))


def lot_trail_words(trail: LotTrail) -> tuple[str, ...]:
    """Say whether the trail and the lot are as they were written."""
    if not trail.kept:
        return ("These records are of an earlier version, which kept no trail.",)
    fault = (f"LOT ALTERED: {trail.fault}.",) if trail.fault else ()
    return (*chain_words(trail.check), *fault)


def chain_words(check: ChainCheck) -> tuple[str, ...]:
    """Say whether the trail is as it was written."""
    if check.faults:
        return tuple(f"TRAIL ALTERED: {one.sentence}." for one in check.faults)
    if not check.entries:
        return ("The trail holds no entry.",)
    entries = "1 entry" if check.entries == 1 else f"{check.entries} entries"
    words = f"The trail is as it was written: {entries}, the last with the hash"
    return (f"{words} {check.head}.",)


def _row(one: TrailEntry) -> TrailRow:
    who = one.person or NOT_RECORDED
    if one.authority:
        who = f"{who}, authorised by {one.authority}"
    return TrailRow(
        number=str(one.entry),
        when=utc(one.at),
        who=who,
        subject=f"{one.kind} {one.subject}",
        action=one.action,
        before=_state(one.before),
        after=_state(one.after),
        why=one.reason or NOTHING,
    )


def _state(state: Mapping[str, Any] | None) -> str:
    """Say what was on record; the keys say what it is of."""
    said = [_WORDS[key](value) for key, value in (state or {}).items() if key in _WORDS]
    return "; ".join(words for words in said if words) or NOTHING


def _part(row: Mapping[str, Any]) -> str:
    laid_out = part_row(part_of(row), 0)
    seen = f": {laid_out.reason}" if laid_out.value == NO_VALUE else ""
    return f"part {laid_out.part}: {laid_out.text}, {laid_out.decision}{seen}"


def _parts(rows: list[Mapping[str, Any]]) -> str:
    return "1 result of a part" if len(rows) == 1 else f"{len(rows)} results of parts"


def _lot(row: Mapping[str, Any]) -> str:
    terms = row["terms"]
    limits = [
        f"{side} limit {terms[side]:g}" for side in ("lower", "upper") if terms[side]
    ]
    supplier = f" from {row['supplier']}" if row["supplier"] else ""
    agreed = ", ".join(limits) or "limits of the standard or the data sheet"
    aql_percent = terms["aql_percent"]
    quality = f"AQL {aql_percent:g} %" if aql_percent is not None else "Ac 0"
    return (
        f"{row['size']} of {row['product']}{supplier}, {quality},"
        f" {terms['figure']}: {agreed}"
    )


def _decision(row: Mapping[str, Any] | None) -> str:
    if row is None:
        return ""
    return "accepted" if row["accepted"] else "not accepted"


def _calibration(row: Mapping[str, Any]) -> str:
    table = row["table"]
    return f"{table['certificate']} of {row['calibrated_on']}, valid to {row['due_on']}"


def _declaration(found: Mapping[str, Any]) -> str:
    items = [f"{one['key']} {one['value']:g}" for one in found["values"]]
    named = [f"screw class {found['screw_class']}"] if found["screw_class"] else []
    return ", ".join((*named, *items)) or "nothing declared"


def _operator(row: Mapping[str, Any]) -> str:
    if not row["active"]:
        return "retired"
    return "may inspect and authorise" if row["authorises"] else "may inspect"


def _product(row: Mapping[str, Any] | str) -> str:
    """Say which version of a product; of a switching state the product says nothing."""
    return "" if isinstance(row, str) else f"version {row['version']}"


_WORDS: Final[dict[str, Callable[[Any], str]]] = {
    "lot": _lot,
    "part": _part,
    "parts": _parts,
    "decision": _decision,
    "calibration": _calibration,
    "declaration": _declaration,
    "text": str,
    "signature": lambda row: f"signed as {row['meaning']}",
    "withdrawn": lambda _: "withdrawn",
    "product": _product,
    "operator": _operator,
    "rig": lambda traits: f"{traits['steps_per_mm']:g} steps/mm as it states",
    "state": lambda state: f"{state['severity']} inspection",
}
