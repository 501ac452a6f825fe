"""One part of a lot's sample on the rig: touch off, sweep, judge, enter."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from rig.analysis.limits.verdict import Decision
from rig.analysis.standard.product_match import (
    limited_target_differences,
    surroundings_differences,
)
from rig.errors import InputError, LinkError
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.lot_again import grounds_of_reading
from rig.inquiry.lot_match import check_match
from rig.inquiry.lot_reading import (
    EnteredPart,
    check_room,
    enter_attempt,
    enter_judged,
)
from rig.inquiry.lot_terms import LotTerms
from rig.inquiry.lot_verdict import judge_outcome, judge_run
from rig.inquiry.tried import tried_on_record
from rig.model.bench_declaration import knowledge_of
from rig.model.figures import RunFigures
from rig.model.grounds import NO_GROUNDS, Grounds
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.ready_bench import Bench
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import RunFilter, Store
from rig.records.lot_book import LotBook

# Before the last sweep no verdict goes without a guard band
_STRICT_RULE = "guarded"


def measure_part_of_lot(
    context: RunContext,
    store: Store,
    lot_id: str,
    order: RunOrder,
    grounds: Grounds = NO_GROUNDS,
) -> tuple[Bench | None, EnteredPart]:
    """Measure the part that is mounted, judge it and put it on record.

    Every part has its face elsewhere, so each is touched off first. A part that gives
    no figures is put on record too: as nonconforming if its sensor failed, and as
    undecided, before the error goes further, if the bench may have been at fault.

    Args:
        context: What its run is carried out with.
        store: Open records.
        lot_id: Identity of the lot.
        order: What to measure.
        grounds: Who inspects it, and for a part that was inspected before under whose
            authority and why.

    Returns:
        The bench with the datum of this part, None if it gave no figures, and the part
        as it is on record.

    Raises:
        InputError: The lot takes no such part, or not again on these grounds, or
            nothing could decide about it; raised before anything moves.
        LinkError: It cannot be measured, and the sensor may not be why.
        Stopped: Somebody stopped it; the part is not entered, its sweeps are on record.
        RecordsError: The records cannot be written.
    """
    book = LotBook(store)
    standing = standing_of(book, lot_id)
    check_room(standing, order.part)
    order = replace(order, product=order.product or standing.terms.product)
    grounds_of_reading(store, standing, order.part, grounds)
    _check_that_it_decides(standing, order, context, store)
    strict = replace(standing.terms, rule=_STRICT_RULE)
    context = replace(
        context, judge=lambda run, figures: _decided(strict, run, figures)
    )
    try:
        result = touch_off_and_run(order, context)
    except LinkError:
        failed = _entered_without_figures(store, lot_id, order, context.now(), grounds)
        if failed is None:
            raise
        return None, failed
    run = result.run
    entered = enter_judged(
        book,
        lot_id,
        order.part,
        judge_run(standing.terms, run, result.figures),
        run_id=run.header.run_id,
        simulated=run.header.conditions.simulated,
        now=context.now(),
        grounds=grounds,
    )
    return result.bench, entered


def _decided(terms: LotTerms, run: Run, figures: RunFigures) -> Decision | None:
    """Decide by the sweeps so far; None where nothing decides."""
    try:
        return judge_run(terms, run, figures).decision
    except InputError:
        return None


def _entered_without_figures(
    store: Store, lot_id: str, order: RunOrder, now: datetime, grounds: Grounds
) -> EnteredPart | None:
    """Put the part on record that was just tried; None if nothing is decided by it."""
    book = LotBook(store)
    wanted = RunFilter(part=order.part, sensor=order.sensor.name, newest=1)
    (tried,) = tried_on_record(store, wanted)
    if judge_outcome(standing_of(book, lot_id).terms, tried) is None:
        return None
    entered = enter_attempt(store, lot_id, order.part, tried, now=now, grounds=grounds)
    return entered if entered.part.decision == Decision.DOES_NOT_CONFORM else None


def _check_that_it_decides(
    standing: LotStanding, order: RunOrder, context: RunContext, store: Store
) -> None:
    """Refuse to measure what nothing could be decided about."""
    check_match(store, standing, order.part, order.sensor, order.target, order.product)
    product = standing.terms.product
    specified = None if product is None else product.specification
    if product is None and standing.terms.limits is not None:
        return
    rig_id = context.mover.traits.rig_id
    declared = knowledge_of(
        context.writer.bench_in_force(rig_id),
        touch_speed_mm_s=context.settings.touch_speed_mm_s,
    )
    ambient_c = order.temperature_c
    if ambient_c is None:
        ambient_c = context.mover.temperature_c()
    reasons = (
        *limited_target_differences(order.sensor, order.target, specified),
        *surroundings_differences(ambient_c, declared, specified),
    )
    if reasons:
        raise InputError(
            f"nothing could decide about the part: {'; '.join(reasons)}",
            hint="mount what the limits are for and say how warm it is"
            if product is not None
            else "mount the standard target, or begin the lot with limits",
        )
