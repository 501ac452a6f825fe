"""The inspector's day on the simulated rig: lot, parts, decision, on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from rig.analysis.limits.verdict import PART_DECISIONS
from rig.inquiry.lot import standing_of
from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_by_sight
from rig.records import Reader, open_records
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotPart
from rig.sheets.lot_part_rows import part_row
from rig.tui.app.app import GapsweepApp
from rig.tui.frame.record_question import RecordQuestion
from rig.tui.inspector.inspection_screen import InspectionScreen
from rig.tui.widgets.next_line import NextLine
from rig.tui.widgets.tick_box import TickBox
from rig.tui.widgets.verdict_panel import VerdictPanel, part_banner
from tests.tui.conftest import NOW, MakeApp, at_screen, idle, strike, to_bench, until
from tests.tui.hold import Hold

pytestmark = pytest.mark.long

SEEN = LotPart(
    part="1",
    decision="conforms",
    reason="seen",
    value=None,
    expanded_uncertainty=None,
    unit="",
    run_id="",
    simulated=False,
    entered_at=datetime(2031, 3, 3, 15, 0, tzinfo=UTC),
)


async def to_lot(pilot: Pilot[None]) -> None:
    """Connect and go to the place of lots."""
    await to_bench(pilot)
    await pilot.app.run_action("open_screen('lot')")
    await at_screen(pilot, "Lot")


async def begun(pilot: Pilot[None], *, size: str = "8", **fields: str) -> None:
    """Begin a lot by keys."""
    for name, typed in {"size": size, **fields}.items():
        pilot.app.screen.query_one(f"#{name}", Input).value = typed
    await pilot.press("ctrl+r")
    await until(pilot, lambda: pilot.app.screen.is_modal)
    await pilot.press("ctrl+s")
    await at_screen(pilot, "Inspection")


async def decided(pilot: Pilot[None], *before: str) -> None:
    """Ask for the decision, press what comes before, put it on record."""
    inspection = place(pilot)
    await pilot.press("ctrl+r")
    await until(pilot, lambda: pilot.app.screen.is_modal)
    await pilot.press(*before, "ctrl+s")
    await until(pilot, lambda: inspection._standing.decision is not None)
    await until(pilot, lambda: not pilot.app.screen.is_modal)


async def measured(pilot: Pilot[None], parts: int, *, sweeps: str = "6") -> None:
    """Press the one key and wait until so many parts are on record."""
    pilot.app.screen.query_one("#sweeps", Input).value = sweeps
    await pilot.press("ctrl+g")
    await until(pilot, lambda: len(place(pilot)._standing.parts) == parts)
    await idle(pilot)


def place(pilot: Pilot[None]) -> InspectionScreen:
    screen = pilot.app.screen
    assert isinstance(screen, InspectionScreen)
    return screen


def said(app: GapsweepApp, selector: str) -> str:
    return str(app.screen.query_one(selector, Static).render())


def book(records: str) -> LotBook:
    return LotBook(open_records(records))


@pytest.mark.parametrize("verdict_only", [True, False])
async def test_a_part_ends_at_its_verdict_unless_unticked(
    make_app: MakeApp, records: str, verdict_only: bool
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        await begun(pilot)
        box = app.screen.query_one("#verdict-only", TickBox)
        assert box.value
        if not verdict_only:
            box.toggle()
        await measured(pilot, 1, sweeps="7")

    (run,) = Reader(open_records(records)).iter_runs()
    assert run.header.for_verdict is verdict_only
    assert len(run.sweeps) == (5 if verdict_only else 7)


async def test_a_lot_is_inspected_from_start_to_report(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        # Lot of 8, level II: letter A, by the arrow sample 2, Ac 0 at 6.5 %
        # (MIL-STD-105E, two public packages agree)
        app.screen.query_one("#aql").value = "6.5"
        app.screen.query_one("#size", Input).value = "8"
        await until(pilot, lambda: "2 parts" in said(app, "#sampling-plan"))
        plan = said(app, "#sampling-plan")
        await begun(pilot, supplier="north mill")
        head = said(app, "#lot-head")
        prompt = said(app, "#lot-prompt")
        await measured(pilot, 1)
        first = app.screen.query_one(VerdictPanel).banner
        outlook = said(app, "#lot-outlook")
        assert not app.screen.check_action("record", ())
        await measured(pilot, 2)
        certain = said(app, "#lot-outlook")
        what_next = app.screen.query_one(NextLine).sentence
        await decided(pilot)
        last = app.screen.query_one(VerdictPanel).banner
        after = said(app, "#lot-prompt")
        (lot,) = book(records).all_lots()
        name = f"lot-level-18-north-mill-{lot.begun_at:%Y-%m-%d-%H%M%S}.html"
        report = tmp_path / "reports" / name
        await pilot.press("ctrl+o")
        await until(pilot, report.exists)

    assert "Ac 0, Re 1" in plan
    assert "Normal inspection at the start" in plan
    assert "n 2, Ac 0, Re 1" in head
    assert "Mount part 1 (level-18), target steel" in prompt
    assert (first.shape, first.word) == ("✓", "CONFORMS")
    s_r, h, r = first.reason.splitlines()
    # Only the verdict, which is clear at the first look
    assert s_r.startswith("Part 1: s_r, n = 5: (")
    assert h.startswith("H, n = 5: (")
    assert r.startswith("R short term, not the 8 h test, n = 3: (")
    assert "more nonconforming" in outlook
    assert certain.startswith("■ Stop: the lot will be accepted")
    assert "Ctrl+R" in what_next
    assert (last.shape, last.word) == ("✓", "ACCEPTED")
    assert "Ac 0, Re 1" in last.reason
    assert "Next lot: normal inspection" in after
    standing = standing_of(book(records), lot.lot_id)
    assert standing.simulated
    assert standing.decision is not None
    assert standing.decision.accepted
    page = report.read_text("utf-8")
    assert "SIMULATED" in page
    assert ">✓</span> ACCEPTED" in page
    for part in standing.parts:
        run = Reader(open_records(records)).run(part.run_id)
        assert run.header.part == part.part
        assert run.header.conditions.note == f"lot {lot.lot_id}"
        assert len([s for s in run.sweeps if not s.void]) == 5
        assert part.run_id in page


async def test_a_bad_part_is_told_in_word_and_shape_and_stops_the_lot(
    make_app: MakeApp, records: str
) -> None:
    app = make_app(
        rig_name="sim://?sensor=capacitive&target=steel&seed=7&sensitivity=2"
    )

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        await begun(pilot)
        await measured(pilot, 1)
        panel = app.screen.query_one(VerdictPanel)
        shown = "\n".join(str(panel.render()).splitlines())
        frame = panel.styles.border_top[0]
        await decided(pilot)
        told = panel.banner

    assert "█" in shown
    assert panel.banner.word == told.word == "NOT ACCEPTED"
    assert frame == "double"
    assert "not accepted after 1 of" in told.reason


async def test_a_lot_begun_yesterday_goes_on_where_it_was_left(
    make_app: MakeApp, records: str
) -> None:
    order = LotOrder(product="level-18", size=8, aql_percent=6.5)
    yesterday = datetime(2031, 3, 3, 15, 0, tzinfo=UTC)
    lot_id = begin_lot(open_records(records), order, yesterday).lot.lot_id
    first, second = make_app(), make_app()

    async with first.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        await go_on(pilot)
        await measured(pilot, 1)
    async with second.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        await go_on(pilot)
        number = second.screen.query_one("#lot-part", Input).value
        await measured(pilot, 2)

    assert number == "2"
    assert [p.part for p in book(records).parts(lot_id)] == ["1", "2"]


async def go_on(pilot: Pilot[None]) -> None:
    known = pilot.app.screen.query_one("#known-lots")
    await until(pilot, lambda: known.option_count and known.get_option_at_index(0).id)
    # The list has the focus by itself, as a lot is open
    await until(pilot, lambda: known.has_focus)
    await pilot.press("enter")
    await at_screen(pilot, "Inspection")


async def test_a_part_judged_by_sight_keeps_the_reason(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        await begun(pilot)
        await pilot.press("ctrl+l")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press(*"bent", "enter", "ctrl+s")
        await until(pilot, lambda: not app.screen.is_modal)
        await until(pilot, lambda: bool(place(pilot)._standing.parts))

    (lot,) = book(records).all_lots()
    (part,) = book(records).parts(lot.lot_id)
    assert part.decision == "does not conform"
    assert part.reason == "bent"
    assert part.run_id == ""


async def test_a_stopped_part_is_not_entered_and_can_be_measured_again(
    make_app: MakeApp, records: str, hold: Hold
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        await begun(pilot)
        hold.after_sweep(1)
        strike(pilot, "ctrl+g")
        await until(pilot, hold.waiting.is_set)
        await pilot.press("space")
        hold.let_go()
        await idle(pilot)
        stopped = app.situation.problem
        none_yet = place(pilot)._standing.parts
        await measured(pilot, 1)

    assert stopped is not None
    assert stopped.stopped
    assert none_yet == ()
    runs = Reader(open_records(records)).runs()
    assert len(runs) == 2


async def test_an_undecided_part_is_offered_again(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        # The upper limit lies where part 1 operates, 8.015 mm
        await begun(pilot, size="2", upper=UNDECIDED_LIMIT)
        await measured(pilot, 1)
        word = app.screen.query_one(VerdictPanel).banner.word
        await measured(pilot, 2)
        offered = app.screen.query_one("#lot-part", Input).value
        # Without the tick nothing is decided, and the space bar does not set it
        await decided(
            pilot, "ctrl+s", "shift+tab", "shift+tab", "space", "ctrl+s", "enter"
        )

    assert word == "UNDECIDED"
    assert offered == "1"
    (lot,) = book(records).all_lots()
    decision = book(records).decision(lot.lot_id)
    assert decision is not None
    assert not decision.accepted
    assert decision.document["undecided_counted_as_nonconforming"]


UNDECIDED_LIMIT = "8.015"


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("size", "many", "Lot size is 'many'"),
        ("size", "1", "a lot of 1 is not sampled"),
        ("upper", "wide", "Upper limit is 'wide'"),
        ("product", " ", "the product is empty"),
    ],
)
async def test_what_is_wrong_with_a_lot_is_said_while_it_is_typed(
    make_app: MakeApp, field: str, typed: str, words: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.app.run_action("open_screen('lot')")
        await at_screen(pilot, "Lot")
        app.screen.query_one(f"#{field}", Input).value = typed
        await until(pilot, lambda: words in said(app, "#sampling-plan"))
        await pilot.press("ctrl+r")
        await until(pilot, lambda: app.situation.problem is not None)

        assert words in app.situation.problem.sentence
        assert app.screen.HEADING == "Lot"


def test_every_verdict_has_a_shape_a_word_and_a_frame_of_its_own() -> None:
    said = [
        part_banner(part_row(replace(SEEN, decision=decision.value), 1))
        for decision in PART_DECISIONS
    ]

    for what in ("shape", "word", "frame"):
        assert len({getattr(one, what) for one in said}) == len(said)


async def test_a_lot_by_double_sampling_says_when_its_second_sample_follows(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        # Letter C at AQL 10 %: 3 parts, Ac 0, Re 2; then 3 more, Ac 1, Re 2
        # (MIL-STD-105E, table III-A, from memory)
        app.screen.query_one("#aql").value = "10"
        app.screen.query_one("#sampling").value = "double"
        app.screen.query_one("#size", Input).value = "25"
        await until(pilot, lambda: "in between 3 more" in said(app, "#sampling-plan"))
        await begun(pilot, supplier="north mill")
        (lot,) = book(records).all_lots()
        for number, conforms in enumerate((False, True, True), start=1):
            enter_by_sight(
                book(records),
                lot.lot_id,
                str(number),
                conforms=conforms,
                reason="thread seen",
                now=NOW,
            )
        standing = standing_of(book(records), lot.lot_id)
        await pilot.app.push_screen(InspectionScreen(standing))
        await idle(pilot)
        outlook = said(app, "#lot-outlook")

    assert standing.sample == 6
    assert "Second sample: 3 parts to go, 1 nonconforming so far" in outlook


async def test_a_lot_by_zero_acceptance_has_a_verification_level(
    make_app: MakeApp,
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        app.screen.query_one("#sampling").value = "zero"
        app.screen.query_one("#level").value = "IV"
        app.screen.query_one("#size", Input).value = "1000"
        await until(pilot, lambda: "96 parts" in said(app, "#sampling-plan"))
        plan = said(app, "#sampling-plan")

    # Lot of 1000, verification level IV: letter B, 96 parts (MIL-STD-1916, from memory)
    assert "inspect 96 parts: Ac 0, Re 1" in plan
    assert "verification level IV" in plan


async def test_the_question_before_a_lot_says_how_likely_a_good_one_is_accepted(
    make_app: MakeApp,
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        app.screen.query_one("#size", Input).value = "500"
        await until(pilot, lambda: "50 parts" in said(app, "#sampling-plan"))
        await pilot.press("ctrl+r")
        await until(pilot, lambda: isinstance(app.screen, RecordQuestion))
        words = " ".join(str(one.render()) for one in app.screen.query(Static))

    # n 50, Ac 1 at AQL 1 %: 0.911 (binomial)
    assert "Accepted of lots 1.00 % nonconforming: 91.1 % nominally" in words
    assert "as inspected (simulated, U 0.25 of the way to the limit, assumed)" in words
    assert "Of lots 7.56 % nonconforming: 10 % nominally" in words
    assert "with up to 2 repeats of a part" in words
