"""Stop: one key and one button, from everywhere; and what it leaves behind."""

from __future__ import annotations

import threading

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from firmware_protocol.messages import State
from rig.records import Reader, open_records
from rig.tui.app.leave_question import LeaveQuestion
from rig.tui.rig.rig_thread import THREAD_NAME
from tests.tui.conftest import (
    MakeApp,
    at_screen,
    checked,
    idle,
    strike,
    to_bench,
    until,
)
from tests.tui.hold import IN_MOTION, Hold

SCREENS = {
    "Rig": ("f2",),
    "Bench": ("f3",),
    "Sweeps": ("f4",),
    "Help": ("f1",),
}


async def _begin_to_move(pilot: Pilot[None], hold: Hold) -> None:
    """Begin a touch-off, which homes first, and hold the rig in that."""
    await to_bench(pilot)
    await pilot.press("ctrl+g")
    await until(pilot, lambda: pilot.app.screen.is_modal)
    hold.in_motion()
    await pilot.press("ctrl+g")
    await until(pilot, hold.waiting.is_set)
    await until(pilot, lambda: pilot.app.reading.state in IN_MOTION)


def _status(pilot: Pilot[None]) -> str:
    return str(pilot.app.screen.query_one("#status").render())


async def _is_stopped(pilot: Pilot[None], hold: Hold) -> None:
    """Claim that the axis is held, that the app says so, and that nothing goes on."""
    app = pilot.app
    hold.let_go()
    await idle(pilot)
    await until(pilot, lambda: app.reading.state is State.HELD)
    assert app.situation.problem.stopped
    assert app.situation.datum is None
    assert "‖ held" in _status(pilot)
    assert "STOPPED" in str(app.screen.query_one("#problem").render())


@pytest.mark.long
@pytest.mark.parametrize("place", SCREENS)
async def test_the_space_bar_stops_the_axis_from_each_place(
    make_app: MakeApp, hold: Hold, place: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await _begin_to_move(pilot, hold)
        await pilot.press(*SCREENS[place])
        await at_screen(pilot, place)
        assert app.situation.moving
        await pilot.press("space")

        await _is_stopped(pilot, hold)


@pytest.mark.long
@pytest.mark.parametrize(
    ("key", "place", "field"), [("f2", "Rig", "#other"), ("f4", "Sweeps", "#speeds")]
)
async def test_the_space_bar_stops_from_inside_an_input(
    make_app: MakeApp, hold: Hold, key: str, place: str, field: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await _begin_to_move(pilot, hold)
        await pilot.press(key)
        await at_screen(pilot, place)
        typed = app.screen.query_one(field, Input)
        typed.focus()
        await until(pilot, lambda: typed.has_focus)
        before = typed.value
        assert app.situation.moving
        await pilot.press("space")

        await _is_stopped(pilot, hold)
        assert typed.value == before


@pytest.mark.long
async def test_the_space_bar_stops_under_the_command_palette(
    make_app: MakeApp, hold: Hold
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await _begin_to_move(pilot, hold)
        await pilot.press("ctrl+p")
        await until(pilot, lambda: app.screen.is_modal)
        assert app.situation.moving
        await pilot.press("space")
        hold.let_go()
        await idle(pilot)
        await pilot.press("escape")
        await at_screen(pilot, "Bench")

        await _is_stopped(pilot, hold)


@pytest.mark.long
async def test_the_button_stops_the_axis(make_app: MakeApp, hold: Hold) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await _begin_to_move(pilot, hold)
        await pilot.click("#stop")

        await _is_stopped(pilot, hold)


async def test_the_space_bar_types_while_nothing_moves(make_app: MakeApp) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        typed = app.screen.query_one("#other", Input)
        typed.focus()
        await until(pilot, lambda: typed.has_focus)
        await pilot.press("a", "space", "b")

        assert typed.value == "a b"


@pytest.mark.long
async def test_the_button_holds_an_axis_at_rest_and_a_check_goes_on_from_there(
    make_app: MakeApp,
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await pilot.click("#stop")
        await until(pilot, lambda: app.reading.state is State.HELD)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.datum is not None)

        assert app.situation.problem is None


@pytest.mark.long
async def test_a_run_that_was_stopped_goes_on_to_its_end(
    make_app: MakeApp, records: str, hold: Hold
) -> None:
    app = make_app()
    wanted = 8

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        app.screen.query_one("#sweeps", Input).value = str(wanted)
        hold.after_sweep(3)
        strike(pilot, "ctrl+g")
        await until(pilot, hold.waiting.is_set)
        await pilot.press("space")
        await _is_stopped(pilot, hold)
        good = app.situation.run.good
        assert 3 <= good < wanted

        await pilot.press("f3")
        await at_screen(pilot, "Bench")
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.datum is not None)
        await idle(pilot)
        await pilot.press("f4")
        await at_screen(pilot, "Sweeps")
        await until(pilot, lambda: app.screen.query_one("#go-on").display)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.run.figures is not None)

    (summary,) = Reader(open_records(records)).runs()
    run = Reader(open_records(records)).run(summary.run_id)
    assert sum(1 for sweep in run.sweeps if not sweep.void) == wanted
    assert [sweep.index for sweep in run.sweeps] == list(range(len(run.sweeps)))
    assert len(run.conditions) == 2


@pytest.mark.long
async def test_quitting_asks_while_it_moves_stops_the_axis_and_keeps_every_sweep(
    make_app: MakeApp, records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from rig.link.link import Link

    stops = []
    stop = Link.stop

    def counted(self: Link) -> None:
        stops.append(threading.current_thread().name)
        stop(self)

    monkeypatch.setattr(Link, "stop", counted)
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        app.screen.query_one("#sweeps", Input).value = "5000"
        strike(pilot, "ctrl+g")
        await until(pilot, lambda: _good(pilot) >= 3)
        await pilot.press("ctrl+q")
        await until(pilot, lambda: isinstance(app.screen, LeaveQuestion))
        await pilot.press("enter")  # the answer that has the focus stays
        await at_screen(pilot, "Sweeps")
        assert app.situation.moving
        assert stops == []
        good = _good(pilot)
        await pilot.press("ctrl+q")
        await until(pilot, lambda: isinstance(app.screen, LeaveQuestion))
        await pilot.press("ctrl+q")

    assert stops
    assert THREAD_NAME not in {thread.name for thread in threading.enumerate()}
    (summary,) = Reader(open_records(records)).runs()
    run = Reader(open_records(records)).run(summary.run_id)
    assert len(run.sweeps) >= good
    assert run.ended_at is None


def _good(pilot: Pilot[None]) -> int:
    run = pilot.app.situation.run
    return 0 if run is None else run.good
