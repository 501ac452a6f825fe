"""From the first screen to figures, by keys and by mouse."""

from __future__ import annotations

from dataclasses import replace

import pytest
from textual.widgets import Input, OptionList

from rig.records import Reader, open_records
from rig.tui.app.app import GapsweepApp
from rig.tui.bench.rig_screen import SIMULATED
from rig.tui.widgets.figure_list import FigureList
from rig.tui.widgets.next_line import NextLine
from rig.wiring import Rig, connect
from tests.tui.conftest import (
    FAST,
    MakeApp,
    at_screen,
    checked,
    idle,
    to_bench,
    until,
)
from tests.tui.pending import settled

pytestmark = pytest.mark.long


async def test_five_keys_lead_from_the_start_to_figures(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()
    keys = []

    async with app.run_test(size=(80, 24)) as pilot:

        async def press(key: str) -> None:
            keys.append(key)
            await pilot.press(key)

        await at_screen(pilot, "Rig")
        await press("enter")
        await at_screen(pilot, "Bench")
        await until(pilot, lambda: app.situation.sensor is not None)
        await press("ctrl+g")
        await until(pilot, lambda: app.screen.is_modal)
        await press("ctrl+g")
        await until(pilot, lambda: app.situation.datum is not None)
        await idle(pilot)
        await press("enter")
        await at_screen(pilot, "Sweeps")
        await press("ctrl+g")
        await until(pilot, lambda: _has_figures(app))
        await idle(pilot)
        shown = str(app.screen.query_one("#figures-text").render())

    assert len(keys) <= 5
    (summary,) = Reader(open_records(records)).runs()
    operate = app.situation.run.figures.operate
    assert summary.sensor == "level-18"
    assert f"({operate.value:.3f} ± {operate.expanded_uncertainty:.3f}) mm" in shown
    assert "mm" in shown
    assert "n = 10" in shown
    assert "SIMULATED" in shown


async def test_the_mouse_alone_leads_to_figures(make_app: MakeApp) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.click("#rigs", offset=(5, 1))
        await at_screen(pilot, "Bench")
        await until(pilot, lambda: app.situation.sensor is not None)
        await pilot.click("#check")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.click("#yes")
        await until(pilot, lambda: app.situation.datum is not None)
        await idle(pilot)
        await pilot.click("#to-sweeps")
        await at_screen(pilot, "Sweeps")
        await pilot.click("#start")
        await until(pilot, lambda: _has_figures(app))

        assert app.screen.query_one("#motion").size.height


async def test_every_place_says_what_to_do_next(make_app: MakeApp) -> None:
    app = make_app()
    said = []

    async with app.run_test(size=(80, 24)) as pilot:
        for key in ("f2", "f3", "f4", "f1"):
            await pilot.press(key)
            await settled(pilot)
            said.append(app.screen.query_one(NextLine).sentence)

    assert all(said)
    assert len(set(said)) >= 3


async def test_the_simulated_rig_is_offered_first_and_keeps_real_pace(
    make_app: MakeApp,
) -> None:
    app = make_app(rig_name=None)

    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        rigs = app.screen.query_one("#rigs", OptionList)
        first = rigs.get_option_at_index(rigs.highlighted or 0).id
        await pilot.press("enter")
        await at_screen(pilot, "Bench")
        rig_name = app.situation.rig_name

    assert first == next(iter(SIMULATED))
    assert rig_name == first
    assert "pace=real" in rig_name


async def test_the_safe_answer_has_the_focus_before_touch_off(
    make_app: MakeApp,
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.press("enter")
        await at_screen(pilot, "Bench")
        await until(pilot, lambda: app.situation.sensor is not None)
        await pilot.press("enter")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("enter")
        await at_screen(pilot, "Bench")

        assert app.situation.under_way is None
        assert app.situation.datum is None


@pytest.mark.strikes
async def test_an_unfit_bench_is_said_and_leads_to_no_sweeps(
    make_app: MakeApp,
) -> None:
    app = make_app(rig_name=f"{FAST}&fault=probe_dead")

    async with app.run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await pilot.press("enter")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: bool(app.situation.findings))
        await idle(pilot)
        await until(pilot, lambda: "unfit" in _findings(app))
        said = app.screen.query_one(NextLine).sentence

        assert app.situation.datum is None
        assert "✗ unfit" in _findings(app)
        assert "? unproven" in _findings(app)
        assert said.startswith("Something is unfit")
        assert app.screen.query_one("#to-sweeps").disabled


async def test_on_a_rig_that_cannot_say_what_is_mounted_keys_alone_say_it(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    def connect_as_real(*args: object, **options: object) -> Rig:
        return replace(connect(*args, **options), simulation=None)

    monkeypatch.setattr("rig.wiring.connect", connect_as_real)
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.press("enter")
        await at_screen(pilot, "Bench")
        await idle(pilot)
        assert app.situation.sensor is None
        for chosen in ("sensor", "target"):
            await until(pilot, lambda chosen=chosen: app.focused.id == chosen)
            await pilot.press("enter", "down", "enter")
        await until(pilot, lambda: app.focused.id == "check")
        await pilot.press("enter")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.datum is not None)

        assert app.situation.sensor.name == "level-18"
        assert app.situation.target.name == "steel"


async def test_choosing_nothing_leaves_what_is_mounted(make_app: MakeApp) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        select = app.screen.query_one("#sensor")
        select.clear()
        await until(pilot, lambda: select.value == "level-18")

        assert app.situation.sensor.name == "level-18"


async def test_another_target_makes_the_datum_void(make_app: MakeApp) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        app.screen.query_one("#target").value = "pvc"
        await until(pilot, lambda: app.situation.datum is None)

        assert app.situation.target.name == "pvc"


async def test_typed_speeds_and_sweeps_are_what_is_measured(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        await pilot.press("shift+tab")
        await pilot.press(*"2", "shift+tab", *"3", "ctrl+g")
        await until(pilot, lambda: _has_figures(app))

    (summary,) = Reader(open_records(records)).runs()
    run = Reader(open_records(records)).run(summary.run_id)
    assert run.header.speeds_mm_s == (2.0,)
    assert run.header.sweeps_wanted == 3


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("#speeds", "fast", "speeds, number 1, is 'fast'"),
        ("#sweeps", "0", "Sweeps is 0"),
    ],
)
async def test_what_is_typed_wrong_is_said_in_one_sentence(
    make_app: MakeApp, field: str, typed: str, words: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        app.screen.query_one(field, Input).value = typed
        await pilot.press("ctrl+g")
        await pilot.pause()

        assert words in str(app.screen.query_one("#problem").render())
        assert app.situation.run is None


async def test_figures_are_listed_with_the_words_why_one_has_no_uncertainty(
    make_app: MakeApp,
) -> None:
    app = make_app(rig_name=FAST)

    async with app.run_test(size=(120, 40)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        # Too few at two speeds for an uncertainty
        app.screen.query_one("#sweeps", Input).value = "3"
        await pilot.press("ctrl+g")
        await until(pilot, lambda: _has_figures(app))
        shown = str(app.screen.query_one(FigureList).query_one("Static").render())

    assert "no uncertainty: " in shown


def _has_figures(app: GapsweepApp) -> bool:
    run = app.situation.run
    return run is not None and run.figures is not None


def _findings(app: GapsweepApp) -> str:
    found = app.screen.query("#findings .fitness")
    return " ".join(str(static.render()) for static in found)
