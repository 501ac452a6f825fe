"""The parts on record, a page at a time, each with the outcome that counts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from rig.analysis.limits.verdict import Decision, gravest
from rig.inquiry.effective_range import EffectiveRange
from rig.inquiry.judged_tries import JudgedTry, judged_tries
from rig.inquiry.limit_margins import limit_margins
from rig.inquiry.part_results import failed_by_sight
from rig.inquiry.parts_tried import counting_outcome
from rig.model.figures import Figure
from rig.records import Store
from rig.records.lot_book import LotBook
from rig.records.part_index import (
    PartFound,
    PartsBy,
    PartsFound,
    PartsWanted,
    find_parts,
)

BY_SIGHT = "failed by sight"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """A part, with what counts of all that was tried of it.

    On each target the newest outcome counts that tells of the part. Of these the row
    has the newest that has limits, else the newest.

    Attributes:
        part: Serial or sample number.
        sensor: Sensor that it was measured as; empty if it was never tried.
        target: Target of the outcome that the row has; empty if it was never tried.
        result: What came of it in a word or two; empty if it was never tried.
        operate: Operate point of it; None without figures.
        limits: Limits of the operate point, with the decision; None where there can be
            no verdict.
        decision: The gravest of all that decides about the part; None for no verdict.
        tried: How many runs and attempts that came to none are of it.
        last_at: When something was put on record of it last, UTC.
        simulated: Whether a simulated rig made the outcome.
        changed: Whether a run of it is not as it was written.
    """

    part: str
    sensor: str
    target: str
    result: str
    operate: Figure | None
    limits: EffectiveRange | None
    decision: Decision | None
    tried: int
    last_at: datetime
    simulated: bool
    changed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PartList:
    """A page of the parts on record.

    Attributes:
        rows: Parts in the order asked for.
        matching: How many have all words that were asked for.
        on_record: How many there are at all.
    """

    rows: tuple[PartRow, ...]
    matching: int
    on_record: int


def part_list(store: Store, wanted: PartsWanted) -> PartList:
    """Return a page of parts, all read at one moment.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        found = _find(moment, wanted)
        run_ids = [run_id for part in found.parts for run_id in part.run_ids]
        judged = judged_tries(moment, run_ids)
        rows = [
            _row(part, [judged[one] for one in part.run_ids if one in judged])
            for part in found.parts
        ]
        failed = failed_by_sight(LotBook(moment), {part.number for part in found.parts})
    return PartList(
        rows=tuple(_seen(row, row.part in failed) for row in rows),
        matching=found.matching,
        on_record=found.on_record,
    )


def runs_of_parts(store: Store, wanted: PartsWanted) -> list[str]:
    """Return all runs of the parts that fit, on every page.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        found = _find(moment, replace(wanted, first=0, limit=None, only_runs=True))
    return [run_id for part in found.parts for run_id in part.run_ids]


def _find(store: Store, wanted: PartsWanted) -> PartsFound:
    margins = limit_margins(store) if wanted.by is PartsBy.MARGIN else None
    return find_parts(store, wanted, margins)


def _row(part: PartFound, tries: Sequence[JudgedTry]) -> PartRow:
    bare = PartRow(
        part=part.number,
        sensor="",
        target="",
        result="",
        operate=None,
        limits=None,
        decision=None,
        tried=part.tried,
        last_at=part.last_at,
        simulated=False,
        changed=any(one.changed for one in tries),
    )
    if not tries:
        return bare
    counting = _counting(tries)
    shown = next((one for one in counting if one.limits is not None), counting[0])
    return replace(
        bare,
        sensor=shown.tried.sensor.name,
        target=shown.tried.target.name,
        result=shown.tried.words,
        operate=None if shown.figures is None else shown.figures.operate,
        limits=shown.limits,
        decision=gravest(one.decision for one in counting if one.decision is not None),
        simulated=shown.tried.simulated,
    )


def _counting(tries: Sequence[JudgedTry]) -> list[JudgedTry]:
    """Return the outcome that counts on each target, the newest first."""
    by_target: defaultdict[tuple[str, str], list[JudgedTry]] = defaultdict(list)
    for one in tries:
        by_target[one.tried.sensor.name, one.tried.target.name].append(one)
    found = []
    for some in by_target.values():
        of = {one.tried.run_id: one for one in some}
        by_time = sorted(
            (one.tried for one in some), key=lambda tried: tried.last_tried
        )
        found.append(of[counting_outcome(by_time).run_id])
    found.sort(key=lambda one: one.tried.last_tried, reverse=True)
    return found


def _seen(row: PartRow, failed: bool) -> PartRow:
    """Return a row that says if the part was failed by sight in a lot."""
    if not failed:
        return row
    return replace(
        row,
        result=BY_SIGHT,
        operate=None,
        limits=None,
        decision=Decision.DOES_NOT_CONFORM,
    )
