"""One part of a lot's sample judged and put on record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from rig.analysis.acceptance.sequential import Guidance
from rig.analysis.limits.verdict import Decision, Verdict
from rig.errors import InputError
from rig.inquiry.lot import LotStanding, counts_of, standing_of
from rig.inquiry.lot_again import grounds_of_reading
from rig.inquiry.lot_match import check_conditions, check_match
from rig.inquiry.lot_terms import ATTRIBUTES
from rig.inquiry.lot_verdict import Judged, judge_outcome, judge_run, judge_value
from rig.inquiry.lot_withdrawal import check_stands
from rig.inquiry.plausibility import check_value
from rig.inquiry.tried import Tried, tried_on_record
from rig.model.grounds import NO_GROUNDS, Grounds
from rig.model.sweeps import RunHeader
from rig.records import Reader, RunFilter, Store
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotPart


@dataclass(frozen=True, slots=True, kw_only=True)
class EnteredPart:
    """A part that was put on record, and where its lot stands then.

    Attributes:
        part: The reading on record.
        verdicts: Verdict of each figure by its symbol or name, the gravest first; empty
            where nothing was measured.
        standing: Where the lot stands with this part.
    """

    part: LotPart
    verdicts: Mapping[str, Verdict]
    standing: LotStanding


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPartDocument:
    """A part that was put on record, as its JSON document.

    Attributes:
        simulated: Whether the part was simulated.
        lot_id: Identity of the lot.
        part: The reading on record.
        verdicts: Verdict of each figure by its symbol or name, the gravest first; empty
            where nothing was measured.
        counts: Number of parts with each decision.
        sample: Number of parts to inspect.
        guidance: What the parts settle; None by variables.
    """

    simulated: bool
    lot_id: str
    part: LotPart
    verdicts: Mapping[str, Verdict]
    counts: Mapping[str, int]
    sample: int
    guidance: Guidance | None


def lot_part_document(found: EnteredPart) -> LotPartDocument:
    """Return the JSON document of a part."""
    standing = found.standing
    return LotPartDocument(
        simulated=found.part.simulated,
        lot_id=standing.lot.lot_id,
        part=found.part,
        verdicts=found.verdicts,
        counts=counts_of(standing.parts),
        sample=standing.sample,
        guidance=standing.guidance,
    )


def check_room(standing: LotStanding, part: str) -> None:
    """Refuse a part beyond the sample before anything is measured for it.

    Raises:
        InputError: The lot takes no such part.
    """
    lot_id = standing.lot.lot_id
    if not part.strip():
        raise InputError("the number of the part is empty")
    check_stands(standing)
    if standing.decision is not None:
        raise InputError(
            f"the lot {lot_id} is decided and takes no further part",
            hint="begin a new lot; a lot inspected again is --resubmitted",
        )
    known = {one.part for one in standing.parts}
    if part not in known and len(known) >= standing.sample:
        raise InputError(
            f"the sample of {standing.sample} parts is complete",
            hint=f"`gapsweep lot decide {lot_id}`; more parts would change the plan",
        )


def enter_run(
    store: Store,
    lot_id: str,
    part: str,
    run_id: str,
    *,
    now: datetime,
    grounds: Grounds = NO_GROUNDS,
) -> EnteredPart:
    """Judge a part by a run on record and put it on record.

    A run that gave no figures because the sensor failed counts too.

    Args:
        store: Open records.
        lot_id: Identity of the lot.
        part: Number of the part.
        run_id: The run.
        now: The time, UTC.
        grounds: Who inspects it, and for a part that was inspected before under whose
            authority and why.

    Raises:
        InputError: The lot takes no such part, or not again on these grounds; the run
            is of another part, on record as one already, void, has no figures, decides
            nothing, or the part failed since.
        RecordsError: Lot or run is not there, or the part cannot be kept.
    """
    book = LotBook(store)
    standing = standing_of(book, lot_id)
    check_room(standing, part)
    reader = Reader(store)
    tried = tried_on_record(store, RunFilter(run_ids=(run_id,)))
    if tried and tried[0].outcome.of_the_sensor and tried[0].part in ("", part):
        return enter_attempt(store, lot_id, part, tried[0], now=now, grounds=grounds)
    reader.refuse_changed([run_id])
    run = reader.run(run_id)
    header = run.header
    if header.part and header.part != part:
        raise InputError(f"run {run_id} is of part {header.part}, not of {part}")
    check_match(store, standing, part, header.sensor, header.target, header.product)
    check_conditions(standing, part, run.conditions)
    _check_alive(store, run.header)
    found = reader.latest_figures(run_id)
    if found is None:
        raise InputError(
            f"run {run_id} has no figures",
            hint=f"`gapsweep recompute {run_id}` works them out",
        )
    return enter_judged(
        book,
        lot_id,
        part,
        judge_run(standing.terms, run, found),
        run_id=run_id,
        simulated=run.header.conditions.simulated,
        now=now,
        grounds=grounds,
    )


def enter_attempt(
    store: Store,
    lot_id: str,
    part: str,
    tried: Tried,
    *,
    now: datetime,
    grounds: Grounds = NO_GROUNDS,
) -> EnteredPart:
    """Put a part on record that gave no figures.

    Raises:
        InputError: The attempt says nothing of the part, or is on a sensor or a target
            that the lot is not of.
        RecordsError: The lot is not there, or the part cannot be kept.
    """
    book = LotBook(store)
    standing = standing_of(book, lot_id)
    check_match(store, standing, part, tried.sensor, tried.target, tried.product)
    judged = judge_outcome(standing.terms, tried)
    if judged is None:
        raise InputError(
            f"run {tried.run_id} has no figures: {tried.words}",
            hint="measure the part again",
        )
    return enter_judged(
        book,
        lot_id,
        part,
        judged,
        run_id="" if tried.run is None else tried.run_id,
        simulated=tried.simulated,
        now=now,
        grounds=grounds,
    )


def _check_alive(store: Store, header: RunHeader) -> None:
    """Refuse a run of a part that was tried later and failed."""
    if not header.part:
        return
    wanted = RunFilter(part=header.part, sensor=header.sensor.name)
    every = tried_on_record(store, wanted)
    own = next(one for one in every if one.run_id == header.run_id)
    later = [
        one
        for one in every
        if one.outcome.of_the_sensor
        and one.last_tried > own.last_tried
        and one.target == own.target
    ]
    if later:
        raise InputError(
            f"part {header.part} was tried again after run {header.run_id} and gave no"
            f" figures: {later[-1].words} (run {later[-1].run_id})",
            hint="the newest outcome of a part counts: give that run, or measure again",
        )


def enter_value(
    book: LotBook,
    lot_id: str,
    part: str,
    value: float,
    expanded_uncertainty: float | None,
    *,
    now: datetime,
    sure: bool = False,
    grounds: Grounds = NO_GROUNDS,
) -> EnteredPart:
    """Judge a part by a value from elsewhere and put it on record.

    Args:
        book: Lots on record.
        lot_id: Identity of the lot.
        part: Number of the part.
        value: Value of the figure that the lot has limits for, in its unit.
        expanded_uncertainty: Expanded uncertainty (95 %) of that value; None if it has
            none.
        now: The time, UTC.
        sure: Whether the value is taken even if it is hardly meant so.
        grounds: Who inspects it, and for a part that was inspected before under whose
            authority and why.

    Raises:
        Implausible: The value is hardly meant so, and nobody is sure.
        InputError: The lot takes no such part, or has no limits of its own.
        RecordsError: The lot is not there, or the part cannot be kept.
    """
    standing = standing_of(book, lot_id)
    check_room(standing, part)
    judged = judge_value(standing.terms, value, expanded_uncertainty)
    if standing.terms.limits is not None and not sure:
        check_value(value, expanded_uncertainty, standing.terms.limits)
    return enter_judged(
        book,
        lot_id,
        part,
        judged,
        run_id="",
        simulated=False,
        now=now,
        grounds=grounds,
    )


def enter_by_sight(
    book: LotBook,
    lot_id: str,
    part: str,
    *,
    conforms: bool,
    reason: str,
    now: datetime,
    grounds: Grounds = NO_GROUNDS,
) -> EnteredPart:
    """Put on record what somebody saw of a part.

    Raises:
        InputError: The lot takes no such part, is judged by variables, no reason is
            given, or the part passes by sight that was measured and failed.
        RecordsError: The lot is not there, or the part cannot be kept.
    """
    if not reason.strip():
        raise InputError("the reason is empty", hint="say what was seen of the part")
    standing = standing_of(book, lot_id)
    check_room(standing, part)
    if standing.terms.method != ATTRIBUTES:
        raise InputError(
            "by variables a part needs a value", hint="give --run, --value or --rig"
        )
    if conforms:
        _check_not_failed(book, lot_id, part)
    decision = Decision.CONFORMS if conforms else Decision.DOES_NOT_CONFORM
    judged = Judged(decision=decision, reason=reason, figure=None)
    if standing.readings_of(part) and not grounds.reason:
        # What was seen is why it was looked at
        grounds = replace(grounds, reason=reason)
    return enter_judged(
        book,
        lot_id,
        part,
        judged,
        run_id="",
        simulated=False,
        now=now,
        grounds=grounds,
    )


def _check_not_failed(book: LotBook, lot_id: str, part: str) -> None:
    measured = [
        one
        for one in book.readings(lot_id)
        if one.part == part and (one.run_id or one.value is not None)
    ]
    if measured and measured[-1].decision == Decision.DOES_NOT_CONFORM:
        raise InputError(
            f"part {part} was measured and does not conform, so sight cannot pass it:"
            f" {measured[-1].reason}",
            hint="sight can only fail a part that was measured",
        )


def enter_judged(
    book: LotBook,
    lot_id: str,
    part: str,
    judged: Judged,
    *,
    run_id: str,
    simulated: bool,
    now: datetime,
    grounds: Grounds = NO_GROUNDS,
) -> EnteredPart:
    """Put a judged part on record; an earlier reading of the same part stays.

    Raises:
        InputError: The part may not be inspected again on these grounds, or its run is
            on record as a part already.
        RecordsError: It cannot be kept.
    """
    standing = standing_of(book, lot_id)
    permitted = grounds_of_reading(book.store, standing, part, grounds)
    known = judged.figure
    entry = LotPart(
        part=part,
        decision=judged.decision.value,
        reason=judged.reason,
        value=known.value if known else None,
        expanded_uncertainty=known.expanded_uncertainty if known else None,
        unit=known.unit if known else "",
        run_id=run_id,
        simulated=simulated,
        entered_at=now,
        person=permitted.person,
        authority=permitted.authority,
        why_again=permitted.reason,
    )
    book.add_part(lot_id, entry, known=len(standing.readings_of(part)))
    standing = standing_of(book, lot_id)
    return EnteredPart(
        part=standing.readings_of(part)[-1],
        verdicts=judged.verdicts,
        standing=standing,
    )
