"""What is known of one part: on each target the outcome that counts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from rig.analysis.limits.verdict import GUARDED, Decision, Rule
from rig.errors import InputError
from rig.inquiry.parts_tried import PartWithout, counting_outcomes
from rig.inquiry.recorded_run import RecordedRun, recorded_runs
from rig.inquiry.tried import Tried, tried_on_record
from rig.model.mounted import Sensor
from rig.model.part_number import one_spelling
from rig.records import RunFilter, Store
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotPart


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenToFail:
    """That a part was judged by sight in a lot and does not conform.

    Attributes:
        lot_id: Identity of the lot.
        reading: The reading on record.
    """

    lot_id: str
    reading: LotPart


@dataclass(frozen=True, slots=True, kw_only=True)
class PartResults:
    """What is known of one part.

    Attributes:
        part: Serial or sample number.
        sensor: What the part is.
        runs: Run that counts on each target, in order of time.
        without: Outcomes that count and are no figures, in order of time.
        seen: Lots of such sensors in which the part was failed by sight last.
        statements: What was left out and why.
    """

    part: str
    sensor: Sensor
    runs: tuple[RecordedRun, ...]
    without: tuple[PartWithout, ...]
    seen: tuple[SeenToFail, ...]
    statements: tuple[str, ...]


def part_results(
    store: Store, part: str, *, sensor: str | None = None, rule: Rule = GUARDED
) -> PartResults:
    """Return what is known of a part, at one moment.

    Args:
        store: Open records.
        part: Serial or sample number.
        sensor: Name of the sensor, where parts of several have this number.
        rule: Decision rule of the verdicts.

    Raises:
        InputError: Nothing of it is on record, or parts of several sensors have this
            number.
        RecordsError: The records cannot be read.
    """
    part = one_spelling(part)
    if not part:
        raise InputError("the part is empty", hint="give its serial or sample number")
    with store.snapshot() as moment:
        tried = tried_on_record(moment, RunFilter(part=part, sensor=sensor))
        if not tried:
            raise InputError(
                f"nothing is on record of part {part}",
                hint="`gapsweep results` lists parts with their runs",
            )
        sensors = {one.sensor for one in tried}
        names = sorted({one.name for one in sensors})
        if len(names) > 1:
            raise InputError(
                f"part {part} is on record for several sensors: {', '.join(names)}",
                hint="choose one with --sensor",
            )
        if len(sensors) > 1:
            raise InputError(
                f"part {part} was measured as {names[0]} under several data sheets",
                hint="name the run instead of the part",
            )
        by_target: defaultdict[str, list[Tried]] = defaultdict(list)
        for one in tried:
            by_target[one.target.name].append(one)
        counted = [
            counting_outcomes(some, target) for target, some in by_target.items()
        ]
        ids = [run_id for one in counted for run_id in one.run_ids]
        runs = recorded_runs(moment, ids, rule)
        own = sensors.pop()
        versions = {one.run.header.product for one in runs}
        products = {own.name, *(one.name for one in versions if one is not None)}
        seen = _seen_to_fail(LotBook(moment), part, products)
    return PartResults(
        part=part,
        sensor=own,
        runs=tuple(sorted(runs, key=lambda one: one.run.header.started_at)),
        without=tuple(w for one in counted for w in one.without),
        seen=seen,
        statements=tuple(s for one in counted for s in one.statements),
    )


def _seen_to_fail(
    book: LotBook, part: str, products: Collection[str]
) -> tuple[SeenToFail, ...]:
    """Return where a part was failed by sight, in lots of these products."""
    newest = dict(book.readings_of_part(part))
    return tuple(
        SeenToFail(lot_id=lot_id, reading=one)
        for lot_id, one in newest.items()
        if _failed_by_sight(one)
        and book.lot(lot_id).product in products
        and book.withdrawal(lot_id) is None
    )


def failed_by_sight(book: LotBook, parts: Collection[str]) -> frozenset[str]:
    """Return which of these parts were failed by sight last, in any lot that stands.

    Args:
        book: Lots on record.
        parts: Numbers in their one spelling; a page of a list at a time.

    Raises:
        RecordsError: The records cannot be read.
    """
    newest = {(lot_id, one.part): one for lot_id, one in book.readings_of_parts(parts)}
    return frozenset(
        one.part
        for (lot_id, _), one in newest.items()
        if _failed_by_sight(one) and book.withdrawal(lot_id) is None
    )


def _failed_by_sight(one: LotPart) -> bool:
    failed = one.decision == Decision.DOES_NOT_CONFORM.value
    return failed and not one.run_id and one.value is None
