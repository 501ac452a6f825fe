"""A product over six lots, the last one with many failing parts."""

from __future__ import annotations

import random
from dataclasses import asdict
from datetime import timedelta

from textual.pilot import Pilot

from rig.analysis.limits.verdict import Decision
from rig.inquiry.lot_decision import decide_lot
from rig.inquiry.lot_order import LotOrder, terms_to_come
from rig.inquiry.lot_reading import enter_judged
from rig.inquiry.lot_verdict import Judged
from rig.records import make_run_id, open_records
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotEntry
from rig.tui.frame.document_form import DocumentForm
from rig.tui.widgets.fitting_table import FittingTable
from tests.builders import figure
from tests.tui.conftest import NOW, at_screen, until
from tests.tui.scenes.scene import Open, Scene, situate
from tests.tui.situations import CHECKED, READY

FAILING = (0, 1, 0, 2, 1, 3)
_SAMPLE = 13  # of 90 parts at level II, AQL 6.5 %: Ac 2, Re 3
_U_MM = 0.022


def lots_on_record(records: str) -> None:
    """Put a lot a week on record, each decided."""
    with open_records(records) as store:
        book = LotBook(store)
        for week, failing in enumerate(FAILING):
            begun_at = NOW - timedelta(weeks=len(FAILING) - week)
            order = LotOrder(
                product="level-18", supplier="north mill", size=90, aql_percent=6.5
            )
            terms, _ = terms_to_come(store, order)
            lot_id = make_run_id(begun_at, random.Random(week))
            book.begin(
                LotEntry(
                    lot_id=lot_id,
                    product=order.product,
                    supplier=order.supplier,
                    size=order.size,
                    terms=asdict(terms),
                    resubmitted=False,
                    operator="",
                    begun_at=begun_at,
                )
            )
            for number in range(1, _SAMPLE + 1):
                bad = number > _SAMPLE - failing
                operate_mm = (8.9 if bad else 8.0) + 0.004 * week + 0.001 * number
                word = "does not conform" if bad else "conforms"
                judged = Judged(
                    decision=Decision(word),
                    reason=f"s_r, n = 10: ({operate_mm:.3f} ± {_U_MM}) mm {word}"
                    " against 7.2 to 8.8 mm (IEC 60947-5-2); rule: guarded",
                    figure=figure(operate_mm, _U_MM),
                )
                enter_judged(
                    book,
                    lot_id,
                    str(number),
                    judged,
                    run_id="",
                    simulated=True,
                    now=begun_at + timedelta(minutes=number),
                )
            decide_lot(book, lot_id, now=begun_at + timedelta(hours=1))


async def _at_suppliers(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('suppliers')")
    await at_screen(pilot, "Suppliers")
    table = pilot.app.screen.query_one("#supplied", FittingTable)
    await until(pilot, lambda: table.row_count == 1)


async def _at_history(pilot: Pilot[None]) -> None:
    await _at_suppliers(pilot)
    await pilot.press("enter")
    await at_screen(pilot, "History")


def _section(number: int) -> Open:
    async def open_section(pilot: Pilot[None]) -> None:
        await _at_history(pilot)
        await pilot.press(str(number))

    return open_section


async def _at_nonconformity(pilot: Pilot[None]) -> None:
    await _at_history(pilot)
    await pilot.press(*["down"] * (len(FAILING) - 1), "f12")
    await until(pilot, lambda: isinstance(pilot.app.screen, DocumentForm))


def _scene(open: Open) -> Scene:
    return Scene(open=open, prepare=lots_on_record)


SCENES = {
    "suppliers": _scene(_at_suppliers),
    "history": _scene(_at_history),
    "history_shares": _scene(_section(2)),
    "history_means": _scene(_section(3)),
    "history_words": _scene(_section(4)),
    "nonconformity": _scene(_at_nonconformity),
}
