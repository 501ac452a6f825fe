"""One part of a lot's sample on the rig: touch off, sweep, judge, enter."""

from __future__ import annotations

from rig.analysis.standard.iec_60947_5_2 import not_the_standard_target
from rig.errors import InputError
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.lot_reading import EnteredPart, check_room, enter_judged
from rig.inquiry.lot_verdict import judge_run
from rig.procedures.carry_out_run import carry_out_run
from rig.procedures.ready_bench import Bench
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Store
from rig.records.lot_book import LotBook


def measure_part_of_lot(
    context: RunContext, store: Store, lot_id: str, order: RunOrder
) -> tuple[Bench, EnteredPart]:
    """Measure the part that is mounted, judge it and put it on record.

    Every part has its face elsewhere, so each is touched off first.

    Args:
        context: What its run is carried out with.
        store: Open records.
        lot_id: Identity of the lot.
        order: What to measure.

    Returns:
        The bench with the datum of this part, and the part as it is on record.

    Raises:
        InputError: The lot takes no such part, or nothing could decide about it; raised
            before anything moves.
        BenchError: It cannot be measured.
        Stopped: Somebody stopped it; the part is not entered, its sweeps are on record.
        RecordsError: The records cannot be written.
    """
    book = LotBook(store)
    standing = standing_of(book, lot_id)
    check_room(standing, order.part)
    _check_that_it_decides(standing, order)
    result = carry_out_run(context.touch_off(), order, context)
    run = result.run
    entered = enter_judged(
        book,
        lot_id,
        order.part,
        judge_run(standing.terms, run, result.figures),
        run_id=run.header.run_id,
        simulated=run.header.conditions.simulated,
        now=context.now(),
    )
    return result.bench, entered


def _check_that_it_decides(standing: LotStanding, order: RunOrder) -> None:
    if standing.terms.limits is not None:
        return
    reasons = not_the_standard_target(order.target, order.sensor)
    if reasons:
        raise InputError(
            f"nothing could decide about the part: {reasons[0]}",
            hint="mount the standard target, or begin the lot with limits",
        )
