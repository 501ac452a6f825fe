"""How the inspector's places and the trimmer look, and that nothing is cut off."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.widgets import DataTable, OptionList, Static

from rig.analysis.verdict import Decision
from rig.procedures.lot_decision import decide_lot
from rig.procedures.lot_terms import Judged
from rig.procedures.lots import LotOrder, begin_lot, enter_part, standing_of
from rig.procedures.trimmer_guide import Screw, TrimmerAdvice, TrimmerCheck, Turn
from rig.records import open_records
from rig.records.lots import LotBook
from rig.tui.rig_events import Reading, Told
from rig.tui.screens.inspection_place import InspectionPlace
from rig.tui.situation import Situation
from rig.tui.trimmer_job import SetTrimmer
from tests.tui.conftest import NOW, MakeApp, at_place, until
from tests.tui.situations import CHECKED, READY, figure

RunBefore = Callable[[Pilot[None]], Awaitable[None]]
GOOD, BAD, OPEN = Decision.CONFORMS, Decision.DOES_NOT_CONFORM, Decision.UNDECIDED
REASONS = {
    GOOD: "s_r: 8.0021 mm ± 0.0051 mm conforms against 7.2 to 8.8 mm; H: 17.6 % ± "
    "0.11 % conforms against at most 20 %; rule: guarded",
    BAD: "s_r: 8.9912 mm ± 0.0051 mm does not conform against 7.2 to 8.8 mm; "
    "rule: guarded",
    OPEN: "s_r: 8.7994 mm ± 0.0051 mm is undecided against 7.2 to 8.8 mm; "
    "rule: guarded",
}
LOTS: dict[str, tuple[Decision, ...]] = {
    "inspection_new": (),
    "inspection_good": (GOOD, OPEN, GOOD, GOOD),
    "inspection_bad": (GOOD, GOOD, BAD, GOOD, BAD),
    "inspection_open": (GOOD, OPEN),
    "inspection_decided": (BAD, BAD, GOOD, BAD),
}
_ADVICE = TrimmerAdvice(
    wanted_mm=8.0,
    operated=False,
    turn=Turn.MORE,
    screw=None,
    turns_about=None,
    confirm=False,
    settled=False,
    check=None,
    sentence="Turn until the output just operates, then stop. That is more sensitive; "
    "which way to turn is not known yet.",
)
_CHECK = TrimmerCheck(operate_mm=8.214, range_mm=0.002, n=3)
ADVICE = {
    "trimmer_more": _ADVICE,
    "trimmer_less": replace(
        _ADVICE,
        operated=True,
        turn=Turn.LESS,
        screw=Screw.ANTICLOCKWISE,
        check=_CHECK,
        sentence="It operates 0.21 mm too far out. Turn a little, then check; or until "
        "it releases, and back. That is less sensitive: anticlockwise, about 4.2 turns "
        "like those before.",
    ),
    "trimmer_set": replace(
        _ADVICE,
        operated=True,
        turn=Turn.LEAVE,
        settled=True,
        check=replace(_CHECK, operate_mm=8.014),
        sentence="The output operates at the wanted gap. Lock the screw, then check "
        "once more.",
    ),
}
SCENES = ("delivery", *LOTS, *ADVICE)
IN_ALL_COLOURS = ("inspection_good", "inspection_bad", "inspection_open")
LARGE = ("delivery", "inspection_bad", "trimmer_less")


def kept(records: str, decisions: tuple[Decision, ...], *, decide: bool) -> str:
    """Put a lot with these parts on record; returns which."""
    book = LotBook(open_records(records))
    order = LotOrder(
        product="level-18", supplier="north mill", size=90, aql_percent=6.5
    )
    begun_at = NOW - timedelta(hours=20)
    lot_id = begin_lot(book, order, begun_at).lot.lot_id
    for number, decision in enumerate(decisions, start=1):
        judged = Judged(
            decision=decision,
            reason=REASONS[decision],
            figure=figure(8.0 + 0.1 * number, 0.0051),
        )
        at = begun_at + timedelta(minutes=number)
        enter_part(book, lot_id, str(number), judged, run_id="", simulated=True, now=at)
    if decide:
        decide_lot(book, lot_id, now=NOW)
    return lot_id


def _scene(name: str, records: str, *keys: str) -> RunBefore:
    async def run_before(pilot: Pilot[None]) -> None:
        await at_place(pilot, "Rig")
        if name in ADVICE:
            await _to_trimmer(pilot, ADVICE[name])
        else:
            await _to_lot(pilot, name, records)
        await pilot.press(*keys)
        await pilot.pause(0.3)

    return run_before


async def _to_trimmer(pilot: Pilot[None], advice: TrimmerAdvice) -> None:
    app = pilot.app
    job = SetTrimmer(wanted_mm=8.0)
    app.situation = replace(CHECKED, under_way=job, doing="holding the target at 8 mm")
    app.reading = replace(READY, gap_mm=8.0, level=advice.operated)
    await app.run_action("app.place('trimmer')")
    await at_place(pilot, "Set trimmer")
    app.rig_events.publish(Told(event=advice))


async def _to_lot(pilot: Pilot[None], name: str, records: str) -> None:
    app = pilot.app
    situation, reading = _LIVE
    decide = name == "inspection_decided"
    lot_id = kept(records, LOTS.get(name, (GOOD, GOOD)), decide=decide)
    app.situation, app.reading = situation, reading
    await app.run_action("app.place('delivery')")
    await at_place(pilot, "Delivery")
    if name == "delivery":
        await until(pilot, lambda: bool(app.screen.query_one("#known-lots").options))
        plan = app.screen.query_one("#sampling-plan", Static)
        await until(pilot, lambda: "parts" in str(plan.render()))
        app.screen.query_one("#known-lots").focus()
        return
    standing = standing_of(LotBook(open_records(records)), lot_id)
    await app.push_screen(InspectionPlace(standing))
    await at_place(pilot, "Inspection")


_LIVE: tuple[Situation, Reading] = (CHECKED, READY)


@pytest.mark.parametrize("name", SCENES)
def test_dark(snap_compare: Any, still: MakeApp, records: str, name: str) -> None:
    run_before = _scene(name, records)
    assert snap_compare(still(), terminal_size=(80, 24), run_before=run_before)


@pytest.mark.parametrize("size", [(120, 40), (200, 60)], ids=["large", "huge"])
@pytest.mark.parametrize("name", LARGE)
def test_dark_and_large(
    snap_compare: Any, still: MakeApp, records: str, name: str, size: tuple[int, int]
) -> None:
    run_before = _scene(name, records)
    assert snap_compare(still(), terminal_size=size, run_before=run_before)


@pytest.mark.parametrize("name", IN_ALL_COLOURS)
def test_light(snap_compare: Any, still: MakeApp, records: str, name: str) -> None:
    run_before = _scene(name, records, "f8")
    assert snap_compare(still(), terminal_size=(80, 24), run_before=run_before)


@pytest.mark.parametrize("name", IN_ALL_COLOURS)
def test_no_colour(
    snap_compare: Any,
    still: MakeApp,
    records: str,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    run_before = _scene(name, records)
    assert snap_compare(still(), terminal_size=(80, 24), run_before=run_before)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
@pytest.mark.parametrize("name", SCENES)
async def test_nothing_is_cut_off(
    still: MakeApp, records: str, name: str, size: tuple[int, int]
) -> None:
    app = still()

    async with app.run_test(size=size) as pilot:
        await _scene(name, records)(pilot)
        screen = app.screen.region
        shown = [w for w in app.screen.query("*") if w.display and not _scrolls(w)]
        outside = [w for w in shown if w.region not in screen]
        texts = [w for w in shown if isinstance(w, Static) and w.region.width]
        cut = [w for w in texts if _wants_more(w)]
        keys = app.screen.query("FooterKey")
        right = max(key.region.right for key in keys)

    assert shown
    assert outside == []
    assert cut == []
    assert right <= size[0]


def _scrolls(widget: Any) -> bool:
    return any(
        isinstance(above, VerticalScroll | DataTable | OptionList)
        for above in widget.ancestors
    )


def _wants_more(widget: Static) -> bool:
    size = widget.content_size
    return widget.get_content_height(size, size, size.width) > size.height


def test_every_verdict_has_a_shape_a_word_and_a_frame_of_its_own() -> None:
    from rig.tui.widgets.verdict_panel import part_saying

    said = [part_saying(decision.value, "") for decision in Decision]

    for what in ("shape", "word", "frame"):
        assert len({getattr(one, what) for one in said}) == len(said)
