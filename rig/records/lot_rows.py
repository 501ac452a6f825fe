"""Lots and the results of their parts as rows of exported tables."""

from __future__ import annotations

from collections.abc import Iterator

from rig.records.export_choice import ExportChoice
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotEntry, LotPart
from rig.records.mapping import Row, json_text
from rig.records.reader import Reader

OPEN = "open"
ACCEPTED = "accepted"
NOT_ACCEPTED = "not accepted"
WITHDRAWN = "withdrawn"


def lot_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each lot; of chosen runs, for those that hold one of them."""
    book = LotBook(reader.store)
    for lot, readings in _lots(book, chosen):
        named = chosen.belonging is None or lot.lot_id in chosen.belonging.lots
        if readings or named:
            yield _lot_row(book, lot, readings)


def lot_result_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each result of a part, in the order in which they were entered.

    A later result of a part stands in place of the earlier; `counts` says which.
    """
    book = LotBook(reader.store)
    for lot, readings in _lots(book, chosen):
        newest = {reading.part: reading for reading in book.readings(lot.lot_id)}
        for reading in readings:
            yield _result_row(lot, reading, counts=newest[reading.part] == reading)


def _lots(
    book: LotBook, chosen: ExportChoice
) -> Iterator[tuple[LotEntry, list[LotPart]]]:
    with_runs = chosen.belonging
    for lot in book.all_lots():
        readings = book.readings(lot.lot_id)
        if with_runs is not None:
            readings = [
                one
                for one in readings
                if with_runs.admits(
                    one.entered_at, run_id=one.run_id, part=one.part, lot=lot.lot_id
                )
            ]
        yield lot, readings


def _lot_row(book: LotBook, lot: LotEntry, readings: list[LotPart]) -> Row:
    decision, withdrawal = book.decision(lot.lot_id), book.withdrawal(lot.lot_id)
    state = OPEN
    if decision is not None:
        state = ACCEPTED if decision.accepted else NOT_ACCEPTED
    if withdrawal is not None:
        state = WITHDRAWN
    return {
        "lot_id": lot.lot_id,
        "simulated": any(reading.simulated for reading in readings),
        "product": lot.product,
        "supplier": lot.supplier,
        "size": lot.size,
        "resubmitted": lot.resubmitted,
        "operator": lot.operator,
        "begun_at": lot.begun_at,
        "terms": json_text(dict(lot.terms)),
        "results": len(readings),
        "state": state,
        "sentence": "" if decision is None else decision.sentence,
        "decided_by": "" if decision is None else decision.person,
        "decided_at": None if decision is None else decision.decided_at,
        "withdrawn_by": "" if withdrawal is None else withdrawal.person,
        "withdrawn_why": "" if withdrawal is None else withdrawal.reason,
        "withdrawn_at": None if withdrawal is None else withdrawal.at,
    }


def _result_row(lot: LotEntry, reading: LotPart, *, counts: bool) -> Row:
    return {
        "lot_id": lot.lot_id,
        "product": lot.product,
        "supplier": lot.supplier,
        "part": reading.part,
        "counts": counts,
        "decision": reading.decision,
        "reason": reading.reason,
        "value": reading.value,
        "expanded_uncertainty": reading.expanded_uncertainty,
        "unit": reading.unit,
        "run_id": reading.run_id,
        "simulated": reading.simulated,
        "entered_at": reading.entered_at,
        "inspected_by": reading.person,
        "authority": reading.authority,
        "why_again": reading.why_again,
    }
