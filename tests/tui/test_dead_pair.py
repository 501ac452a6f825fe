"""A pair of a plan that gives no figures is asked about; nothing moves by itself."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Button, DataTable

from rig.records import PlanState, Reader, open_records
from rig.tui.technician.dead_pair_question import DeadPairQuestion
from tests.tui.conftest import MakeApp, at_screen, idle, to_bench, until

pytestmark = pytest.mark.long

PLAN = """title = "Metals only"
sweeps = 2

[[run]]
sensors = ["gate-8"]
targets = ["pvc", "steel"]
"""
STOP, AGAIN, GO_ON = "#stop-plan", "#pair-again", "#go-on"


async def _at_the_question(pilot: Pilot[None], tmp_path: Path) -> None:
    folder = tmp_path / "plans"
    folder.mkdir()
    (folder / "metals.toml").write_text(PLAN, "utf-8")
    await to_bench(pilot)
    await pilot.press("f6")
    await at_screen(pilot, "Plans")
    await until(pilot, lambda: pilot.app.screen.query_one("#plans").row_count == 1)
    await pilot.press("enter")
    await at_screen(pilot, "Plan")
    await pilot.press("enter")
    await _asked_for(pilot, "pvc")
    await pilot.press("ctrl+g")
    await until(pilot, lambda: isinstance(pilot.app.screen, DeadPairQuestion))


async def _asked_for(pilot: Pilot[None], target: str) -> None:
    def what() -> str:
        found = pilot.app.screen.query("#mount-what")
        return str(found.first().render()) if found else ""

    await until(pilot, lambda: f"target  {target}" in what())


async def _answer(pilot: Pilot[None], button: str) -> None:
    pilot.app.screen.query_one(button, Button).focus()
    await pilot.press("enter")


def _states(pilot: Pilot[None]) -> list[str]:
    table = pilot.app.screen.query_one("#pairs", DataTable)
    return [table.get_row_at(row)[3].split()[-1] for row in range(table.row_count)]


def _outcomes(records: str) -> list[tuple[str, str]]:
    with open_records(records, read_only=True) as store:
        tried = Reader(store).attempts()
    return [(one.target.name, one.end.outcome.value) for one in tried if one.end]


async def test_a_dead_pair_is_asked_about_and_the_plan_goes_on(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _at_the_question(pilot, tmp_path)
        title = str(pilot.app.screen.query_one("#question-title").render())
        seen = str(pilot.app.screen.query_one("#dead-pair-seen").render())
        assert pilot.app.focused is pilot.app.screen.query_one(STOP)
        await _answer(pilot, GO_ON)
        await _asked_for(pilot, "steel")
        assert pilot.app.situation.under_way is None
        await pilot.press("ctrl+g")
        await until(pilot, lambda: pilot.app.situation.run is not None)
        await idle(pilot)

    assert "Pair 1 of 2, gate-8 against pvc, gives no figures" in title
    assert "not detected" in seen
    assert _outcomes(records) == [("pvc", "never switches"), ("steel", "figures")]
    with open_records(records, read_only=True) as store:
        (plan,) = Reader(store).plans()
    assert plan.state is PlanState.DONE


async def test_a_dead_pair_can_be_measured_again(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _at_the_question(pilot, tmp_path)
        await _answer(pilot, AGAIN)
        await _asked_for(pilot, "pvc")
        assert pilot.app.situation.under_way is None
        await pilot.press("ctrl+g")
        await until(pilot, lambda: isinstance(pilot.app.screen, DeadPairQuestion))

    assert _outcomes(records) == [("pvc", "never switches")] * 2


@pytest.mark.parametrize("key", ["enter", "escape"])
async def test_the_safe_answer_leaves_the_rest_for_another_time(
    make_app: MakeApp, records: str, tmp_path: Path, key: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _at_the_question(pilot, tmp_path)
        await pilot.press(key)
        await at_screen(pilot, "Plan")
        await idle(pilot)
        states = _states(pilot)

    assert states == ["none", "due"]
    assert _outcomes(records) == [("pvc", "never switches")]
