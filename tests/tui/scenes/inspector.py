"""Lots and their parts."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import timedelta

from textual.pilot import Pilot
from textual.widgets import Static

from rig.analysis.limits.verdict import Decision
from rig.inquiry.lot import standing_of
from rig.inquiry.lot_decision import decide_lot
from rig.inquiry.lot_order import LotOrder, begin_lot, terms_to_come
from rig.inquiry.lot_reading import enter_judged, enter_value
from rig.inquiry.lot_verdict import Judged
from rig.inquiry.operators import name_operator, set_operator_pin
from rig.model.grounds import Grounds
from rig.records import open_records
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotEntry
from rig.tui.frame.grounds_form import GroundsForm
from rig.tui.frame.record_question import RecordQuestion
from rig.tui.inspector.by_sight_screen import BySight
from rig.tui.inspector.decide_form import DecideForm
from rig.tui.inspector.inspection_screen import InspectionScreen
from rig.tui.inspector.lot_job import InspectPart
from rig.tui.inspector.operator_forms import OperatorForm, PinForm
from rig.tui.inspector.sign_form import SignForm
from rig.tui.rig.bench_job import CarryOutRun
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.verdict_panel import VerdictPanel
from tests.builders import figure
from tests.tui.conftest import NOW, at_screen, until
from tests.tui.scenes.scene import Scene, situate
from tests.tui.situations import CHECKED, MOVING, READY, SWEEPING

_GOOD, _BAD = Decision.CONFORMS, Decision.DOES_NOT_CONFORM
_OPEN = Decision.UNDECIDED
_S_R = "against 7.2 to 8.8 mm (IEC 60947-5-2, 7.2.1.3.1, from memory)"
_RULE = "; rule: guarded"
_U_MM = 0.022  # of a bench of which nothing is declared
# Smallest operate point of a part, mm; each part has a little more
_LEAST_MM = {_GOOD: 8.002, _BAD: 8.991, _OPEN: 8.790}
_WORDS = {_GOOD: "conforms", _BAD: "does not conform", _OPEN: "undecided"}
_H_AND_R = (
    "; H, n = 10: (17.61 ± 0.29) % conforms against at most 20 % (IEC 60947-5-2, "
    "7.2.1.6, from memory); R short term, not the 8 h test, n = 5: (0.0791 ± 0.0088) % "
    "not tested against at most 10 % (IEC 60947-5-2, 7.2.1.5, from memory): the limit "
    "is that of the 8 h test"
)


def _reason(decision: Decision, operate_mm: float) -> str:
    s_r = f"s_r, n = 10: ({operate_mm:.3f} ± {_U_MM}) mm {_WORDS[decision]} {_S_R}"
    return f"{s_r}{_H_AND_R if decision is _GOOD else ''}{_RULE}"


_ORDER = LotOrder(product="level-18", supplier="north mill", size=90, aql_percent=6.5)
# 8 parts, Ac 0, Re 3; in between 8 more, Ac 3, Re 4
_DOUBLE = replace(_ORDER, sampling="double")


def _put_on_record(
    records: str,
    decisions: tuple[Decision, ...],
    *,
    order: LotOrder = _ORDER,
    decide: bool = False,
) -> None:
    """Put a lot with these parts on record."""
    store = open_records(records)
    book = LotBook(store)
    begun_at = NOW - timedelta(hours=20)
    lot_id = begin_lot(store, order, begun_at).lot.lot_id
    for number, decision in enumerate(decisions, start=1):
        operate_mm = _LEAST_MM[decision] + 0.001 * (number % 10)
        judged = Judged(
            decision=decision,
            reason=_reason(decision, operate_mm),
            figure=figure(operate_mm, _U_MM),
        )
        at = begun_at + timedelta(minutes=number)
        enter_judged(
            book, lot_id, str(number), judged, run_id="", simulated=True, now=at
        )
    if decide:
        decide_lot(book, lot_id, now=NOW)


async def _at_lot_place(pilot: Pilot[None]) -> None:
    app = pilot.app
    await situate(pilot, CHECKED, READY)
    await app.run_action("app.open_screen('lot')")
    await at_screen(pilot, "Lot")
    await until(pilot, lambda: bool(app.screen.query_one("#known-lots").options))
    plan = app.screen.query_one("#sampling-plan", Static)
    await until(pilot, lambda: "parts" in str(plan.render()))
    app.screen.query_one("#known-lots").focus()


async def _at_lot(pilot: Pilot[None]) -> None:
    await _at_lot_place(pilot)
    book = LotBook(pilot.app.records())
    (lot,) = book.all_lots()
    await pilot.app.push_screen(InspectionScreen(standing_of(book, lot.lot_id)))
    await at_screen(pilot, "Inspection")


async def _part_going(pilot: Pilot[None]) -> None:
    await _at_lot(pilot)
    under_way = SWEEPING.under_way
    assert isinstance(under_way, CarryOutRun)
    order = replace(under_way.order, part="3")
    job = InspectPart(lot_id="", order=order)
    pilot.app.situation = replace(SWEEPING, under_way=job)
    pilot.app.reading = MOVING
    view = pilot.app.screen.query_one(MotionView)
    await until(pilot, lambda: view.at_rest)


async def _at_sight(pilot: Pilot[None]) -> None:
    await _at_lot(pilot)
    await pilot.press("ctrl+l")
    await until(pilot, lambda: isinstance(pilot.app.screen, BySight))


async def _asked(pilot: Pilot[None]) -> None:
    await pilot.press("ctrl+r")
    await until(pilot, lambda: isinstance(pilot.app.screen, RecordQuestion))


async def _asked_to_begin(pilot: Pilot[None]) -> None:
    await _at_lot_place(pilot)
    await _asked(pilot)


async def _asked_to_decide(pilot: Pilot[None]) -> None:
    await _at_lot(pilot)
    await pilot.press("ctrl+r")
    await until(pilot, lambda: isinstance(pilot.app.screen, DecideForm))


async def _asked_again(pilot: Pilot[None]) -> None:
    await _at_lot(pilot)
    await pilot.press("up", "ctrl+l")
    await until(pilot, lambda: isinstance(pilot.app.screen, GroundsForm))


async def _asked_to_withdraw(pilot: Pilot[None]) -> None:
    await _at_lot(pilot)
    await pilot.press("ctrl+z")
    await until(pilot, lambda: isinstance(pilot.app.screen, GroundsForm))


async def _asked_to_sign(pilot: Pilot[None]) -> None:
    await _at_lot(pilot)
    await pilot.press("ctrl+r")
    await until(pilot, lambda: isinstance(pilot.app.screen, SignForm))


async def _at_operators(pilot: Pilot[None]) -> None:
    app = pilot.app
    await situate(pilot, CHECKED, READY)
    await app.run_action("app.open_screen('operators')")
    await at_screen(pilot, "Operators")
    table = app.screen.query_one("#operators")
    await until(pilot, lambda: table.row_count == 2)


async def _asked_for_operator(pilot: Pilot[None]) -> None:
    await _at_operators(pilot)
    await pilot.press("ctrl+l")
    await until(pilot, lambda: isinstance(pilot.app.screen, OperatorForm))


async def _asked_for_pin(pilot: Pilot[None]) -> None:
    await _at_operators(pilot)
    await pilot.press("ctrl+r")
    await until(pilot, lambda: isinstance(pilot.app.screen, PinForm))


async def _at_trail(pilot: Pilot[None]) -> None:
    await _at_lot(pilot)
    await pilot.press("f10")
    await at_screen(pilot, "Trail")
    rows = pilot.app.screen.query_one("#trail-rows", Static)
    await until(pilot, lambda: "begun" in str(rows.render()))


def _with(*decisions: Decision, decide: bool = False) -> Scene:
    return Scene(
        open=_at_lot,
        prepare=lambda records: _put_on_record(records, decisions, decide=decide),
    )


def _by_own_limits(*values_mm: float) -> Scene:
    """Have parts judged by the limits of the lot alone, by values that were typed."""

    def prepare(records: str) -> None:
        begun_at = NOW - timedelta(hours=20)
        order = replace(_ORDER, lower=7.2, upper=8.8)
        with open_records(records) as store:
            book = LotBook(store)
            lot_id = begin_lot(store, order, begun_at).lot.lot_id
            for number, value_mm in enumerate(values_mm, start=1):
                at = begun_at + timedelta(minutes=number)
                enter_value(book, lot_id, f"S-{number}", value_mm, 0.042, now=at)

    async def open(pilot: Pilot[None]) -> None:
        await _at_lot(pilot)
        panel = pilot.app.screen.query_one(VerdictPanel)
        await until(pilot, lambda: panel.banner.interval is not None)

    return Scene(open=open, prepare=prepare)


def _two_parts(records: str) -> None:
    _put_on_record(records, (_GOOD, _GOOD))


def _last_one_open(records: str) -> None:
    _put_on_record(records, (*(_GOOD,) * 9, _BAD, _BAD, _OPEN, _OPEN))


def _second_sample(records: str) -> None:
    _put_on_record(records, (_BAD, *(_GOOD,) * 7), order=_DOUBLE)


def _operators(records: str) -> None:
    """Name two operators; the one who may authorise has a PIN."""
    begun_at = NOW - timedelta(hours=21)
    with open_records(records) as store:
        name_operator(
            store, "R. Vance", authorises=True, grounds=Grounds(), now=begun_at
        )
        by = Grounds(person="R. Vance")
        name_operator(store, "K. Ames", authorises=False, grounds=by, now=begun_at)
        set_operator_pin(store, "R. Vance", "550918", now=begun_at)


def _lot_with_a_trail(records: str) -> None:
    """Put a lot on record whose hashes are the same at any time."""
    begun_at = NOW - timedelta(hours=20)
    with open_records(records) as store:
        book = LotBook(store)
        order = LotOrder(product="level-18", size=8, aql_percent=6.5, upper=8.0)
        terms, _ = terms_to_come(store, order)
        lot = LotEntry(
            lot_id="20310303-133000-000-00aa",
            product=order.product,
            supplier="north mill",
            size=order.size,
            terms=asdict(terms),
            resubmitted=False,
            operator="K. Ames",
            begun_at=begun_at,
        )
        book.begin(lot)
        for minute, value in enumerate((7.99, 7.9), start=1):
            at = begun_at + timedelta(minutes=minute)
            enter_value(book, lot.lot_id, "S-1", value, 0.05, now=at)


def _bad_one(records: str) -> None:
    _put_on_record(records, (_GOOD, _BAD))
    _operators(records)


def _refused(records: str) -> None:
    _put_on_record(records, (_BAD, _BAD, _GOOD, _BAD), decide=True)
    _operators(records)


async def _at_lots(pilot: Pilot[None]) -> None:
    app = pilot.app
    await situate(pilot, CHECKED, READY)
    await app.run_action("app.open_screen('lots')")
    await at_screen(pilot, "Lots")
    table = app.screen.query_one("#lots")
    words = app.screen.query_one("#lot-words", Static)
    await until(pilot, lambda: table.row_count == 2)
    await until(pilot, lambda: bool(words.content))


def _two_lots(records: str) -> None:
    """Have a lot that was not accepted, and an open one with limits of its own."""
    _put_on_record(records, (_BAD, _BAD, _GOOD, _BAD), decide=True)
    begun_at = NOW - timedelta(hours=3)
    order = replace(_ORDER, supplier="south mill", lower=7.2, upper=8.8)
    with open_records(records) as store:
        book = LotBook(store)
        lot_id = begin_lot(store, order, begun_at).lot.lot_id
        for number, value_mm in enumerate((7.91, 8.02, 8.79, 8.1), start=1):
            at = begun_at + timedelta(minutes=number)
            enter_value(book, lot_id, f"S-{number}", value_mm, 0.042, now=at)


SCENES = {
    "lots": Scene(open=_at_lots, prepare=_two_lots),
    "lot": Scene(open=_at_lot_place, prepare=_two_parts),
    "begin_lot": Scene(open=_asked_to_begin, prepare=_two_parts),
    "decide_lot": Scene(open=_asked_to_decide, prepare=_last_one_open),
    "inspect_again": Scene(open=_asked_again, prepare=_bad_one),
    "withdraw_lot": Scene(open=_asked_to_withdraw, prepare=_bad_one),
    "sign_lot": Scene(open=_asked_to_sign, prepare=_refused),
    "lot_trail": Scene(open=_at_trail, prepare=_lot_with_a_trail),
    "operators": Scene(open=_at_operators, prepare=_operators),
    "name_operator": Scene(open=_asked_for_operator, prepare=_operators),
    "set_pin": Scene(open=_asked_for_pin, prepare=_operators),
    "inspection_new": _with(),
    "inspection_good": _with(_GOOD, _OPEN, _GOOD, _GOOD),
    "inspection_bad": _with(_GOOD, _GOOD, _BAD, _GOOD, _BAD),
    "inspection_open": _with(_GOOD, _OPEN),
    "interval_good": _by_own_limits(7.91, 8.02),
    "interval_bad": _by_own_limits(7.91, 8.991),
    "interval_open": _by_own_limits(7.91, 8.79),
    # Two parts to go: not measured they cost the switching score
    "inspection_early": _with(*(_GOOD,) * 11),
    "inspection_second_sample": Scene(open=_at_lot, prepare=_second_sample),
    "inspection_going": Scene(open=_part_going, prepare=_two_parts),
    "inspection_decided": _with(_BAD, _BAD, _GOOD, _BAD, decide=True),
    "by_sight": Scene(open=_at_sight, prepare=_two_parts),
}
