"""Habits: undo, what is kept, forecasts, filters, a terminal that is closed."""

from __future__ import annotations

import json
import os
import pty
import signal
import sys
import time
from datetime import date
from pathlib import Path

import pytest
from textual.command import Command, CommandList, CommandPalette
from textual.pilot import Pilot

from rig.errors import InputError
from rig.model.calibration import AxisCalibration
from rig.procedures.particulars import temperature_of
from rig.tui.app.app import GapsweepApp
from rig.tui.app.palette import commands
from rig.tui.state.memory import LOCATION_VARIABLE, Memory
from rig.tui.state.status_words import scale_sign
from rig.tui.state.themes import LIGHT
from rig.tui.state.undo import History
from tests.patience import PATIENCE_S
from tests.tui.conftest import NOW, MakeApp, at_screen, checked, idle, until

pytestmark = pytest.mark.long

HERE = Path(__file__).parents[2]


def test_undo_goes_back_word_by_word_of_a_field_and_forward_again() -> None:
    form = History({"a": "", "b": ""})
    for text in ("x", "xy", "xyz"):
        form.change({**form.present, "a": text}, field="a")
    form.change({**form.present, "b": "1"}, field="b")

    seen = []
    while form.undo():
        seen.append(form.present)
    forward = []
    while form.redo():
        forward.append(form.present)

    assert seen == [{"a": "xyz", "b": ""}, {"a": "", "b": ""}]
    assert forward == [{"a": "xyz", "b": ""}, {"a": "xyz", "b": "1"}]


def test_a_new_change_after_undo_leaves_nothing_to_redo() -> None:
    form = History(0)
    form.change(1)
    form.undo()
    form.change(2)

    assert not form.redo()
    assert form.present == 2


def test_what_is_kept_is_whole_and_two_windows_share_it(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "screens.json"
    one, other = Memory(path), Memory(path)

    one.keep("theme", "light")
    other.keep("draft", "Tu")
    one.keep("draft", "Tuesday")
    one.keep("theme", "")

    assert Memory(path).kept("draft") == "Tuesday"
    assert Memory(path).kept("theme", "none") == "none"
    assert list(path.parent.iterdir()) == [path]


@pytest.mark.parametrize("text", ["", "{", "[1]", '{"a": 1}', "\x00"])
def test_a_memory_that_is_broken_counts_as_empty(tmp_path: Path, text: str) -> None:
    path = tmp_path / "screens.json"
    path.write_text(text)
    memory = Memory(path)

    assert memory.kept("a") == ""
    memory.keep("a", "b")
    assert json.loads(path.read_text()) == {"a": "b"}


def test_a_memory_that_cannot_be_written_is_said_and_kept_until_the_end(
    tmp_path: Path,
) -> None:
    (tmp_path / "file").write_text("")
    memory = Memory(tmp_path / "file" / "screens.json")

    with pytest.raises(InputError, match="cannot be written"):
        memory.keep("a", "b")
    assert memory.kept("a") == "b"


@pytest.mark.parametrize("text", ["warm", "-51", "101", "nan"])
def test_a_temperature_that_no_bench_has_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="temperature is"):
        temperature_of(text)


def test_a_temperature_may_have_a_comma_or_be_missing() -> None:
    assert temperature_of(" 21,5 ") == 21.5
    assert temperature_of(" ") is None


def test_a_calibration_is_told_with_its_last_day_and_whether_it_is_past() -> None:
    known = AxisCalibration(
        calibration_id="c",
        rig_id="r",
        certificate="",
        calibrated_on=date(2030, 3, 4),
        due_on=date(2031, 3, 4),
        positions_mm=(0.0, 1.0),
        corrections_mm=(0.0, 0.0),
        standard_uncertainty_mm=(0.001, 0.001),
    )

    assert str(scale_sign(known, date(2031, 3, 4))) == "✓ until 2031-03-04"
    assert str(scale_sign(known, date(2031, 3, 5))) == "✗ overdue 2031-03-04"
    assert str(scale_sign(None, NOW.date())) == "? unproven"


async def test_theme_bell_and_operator_are_kept_between_days(
    make_app: MakeApp,
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.press("f8", "ctrl+l")
        await until(pilot, lambda: bool(pilot.app.screen.query("#operator")))
        await pilot.press(*"Kim", "ctrl+s")
        pilot.app.action_bell_on_or_off()
        await pilot.pause()

    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        assert app.theme == LIGHT.name
        assert app.particulars.operator == "Kim"
        assert app.kept("bell") == "on"


@pytest.mark.parametrize("rings", [True, False])
async def test_the_bell_rings_at_the_end_of_a_run_only_if_it_is_wanted(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch, rings: bool
) -> None:
    rung = []
    monkeypatch.setattr(GapsweepApp, "bell", lambda _: rung.append(1))
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        if rings:
            app.action_bell_on_or_off()
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.run is not None)
        await idle(pilot)

    assert len(rung) == int(rings)


def _titles(pilot: Pilot[None]) -> list[str]:
    return [command.title for command in commands(pilot.app, pilot.app.screen)]


def _offered(pilot: Pilot[None]) -> list[str]:
    """Return what the palette has found for what is typed."""
    options = pilot.app.screen.query_one(CommandList).options
    return [option.hit.text for option in options if isinstance(option, Command)]


async def test_the_palette_offers_the_places_and_what_the_screen_in_view_can(
    make_app: MakeApp,
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        at_rig = _titles(pilot)
        await pilot.press("f6")
        await at_screen(pilot, "Plans")
        at_plans = _titles(pilot)
        await pilot.press("ctrl+p")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandPalette))
        await pilot.press(*"plan: new")
        await until(pilot, lambda: _offered(pilot)[:1] == ["plan: New plan"])
        await pilot.press("enter")
        await at_screen(pilot, "New plan")

    assert "plan: New plan" in at_plans
    assert "plan: New plan" not in at_rig
    for titles in (at_rig, at_plans):
        assert {"screen: Plans", "screen: Runs", "axis: Stop", "app: Quit"} <= set(
            titles
        )
        assert all(": " in title for title in titles)


async def test_the_home_list_leads_to_every_place(make_app: MakeApp) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await pilot.press("f5")
        await at_screen(pilot, "Screens")
        listed = pilot.app.screen.query_one("#screens")
        wanted = [option.id for option in listed.options if option.id]
        for name in wanted:
            await pilot.press("f5")
            await at_screen(pilot, "Screens")
            listed.highlighted = listed.get_option_index(name)
            await pilot.press("enter")
            await until(pilot, lambda name=name: pilot.app.current_mode == name)

    assert len(wanted) == len(set(wanted)) >= 5


async def test_help_begins_with_the_keys_of_the_place_one_comes_from(
    make_app: MakeApp,
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await pilot.press("f7")
        await at_screen(pilot, "Runs")
        await pilot.press("f1")
        await at_screen(pilot, "Help")
        said = [str(entry.render()) for entry in pilot.app.screen.query(".entry")]

    assert "/: Show only rows that have these words." in said


def test_a_terminal_that_is_closed_loses_nothing_and_leaves_no_process(
    tmp_path: Path,
) -> None:
    memory = tmp_path / "screens.json"
    environment = {
        **os.environ,
        "TERM": "xterm-256color",
        "GAPSWEEP_RECORDS": str(tmp_path / "r.sqlite"),
        LOCATION_VARIABLE: str(memory),
        "PYTHONPATH": str(HERE),
    }
    code = "from rig.cli.main import main; main([])"
    # `script`-like: the terminal is the child's own, so closing it hangs it up
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(HERE)
        os.execve(sys.executable, [sys.executable, "-c", code], environment)
    try:
        os.set_blocking(terminal, False)
        _wait(terminal, lambda seen: b"Which rig?" in seen)
        os.write(terminal, b"\x1b[17~")  # F6
        _wait(terminal, lambda seen: b"new plan" in seen or b"There is no plan" in seen)
        os.write(terminal, b"n")
        _wait(terminal, lambda seen: b"Tick" in seen or b"Type a title" in seen)
        os.write(terminal, b"Tuesday")
        _wait(terminal, lambda _: memory.exists() and "Tuesday" in memory.read_text())
    finally:
        os.close(terminal)
        status = _ended(child)

    assert status == 0
    draft = json.loads(json.loads(memory.read_text())["plan.draft"])
    assert draft["title"] == "Tuesday"


def _wait(terminal: int, claim: object) -> None:
    seen, give_up_s = b"", time.monotonic() + PATIENCE_S
    while not claim(seen):
        assert time.monotonic() < give_up_s, seen[-2000:]
        try:
            seen += os.read(terminal, 65536)
        except BlockingIOError:
            time.sleep(0.02)


def _ended(child: int) -> int:
    give_up_s = time.monotonic() + PATIENCE_S
    while time.monotonic() < give_up_s:
        found, status = os.waitpid(child, os.WNOHANG)
        if found:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.05)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return -signal.SIGKILL
