"""A rig that is not as it is known: what the bench shows, and the two steps."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from rig.errors import RigChanged
from rig.procedures.known_rig import traits_to_keep
from rig.records import Store, open_records
from rig.records.rig_book import RigBook
from rig.tui.app.app import GapsweepApp
from rig.tui.bench.confirm_rig_form import ConfirmRigForm
from rig.tui.rig.bench_job import CheckBench, TouchOff
from rig.tui.rig.jobs import Job
from rig.tui.rig.known_rig_job import ConfirmRig, LookUpRig, refuse_changed_rig
from rig.tui.rig.rig_events import RigChangesStand
from rig.tui.state.situation import after_event
from rig.tui.widgets.next_line import NextLine
from tests.tui.conftest import NOW, MakeApp, until
from tests.tui.scenes import SCENES
from tests.tui.situations import CHANGED, REAL

HERE = replace(REAL, steps_per_mm=3200.0)


class Access:
    """Has a rig with these traits, and tells what was posted."""

    def __init__(self, store: Store) -> None:
        self.records = lambda: store
        self.posted: list[Any] = []
        self.post = self.posted.append
        self.rig = lambda: SimpleNamespace(mover=SimpleNamespace(traits=HERE))


@pytest.fixture
def access(tmp_path: Path) -> Access:
    store = open_records(tmp_path / "records.sqlite")
    RigBook(store).enter(REAL.rig_id, traits_to_keep(REAL), now=NOW)
    return Access(store)


def test_what_changed_is_looked_up_and_shown_until_somebody_confirms_it(
    access: Access,
) -> None:
    now = replace(CHANGED, traits=HERE, changes=())
    LookUpRig().carry_out(access)  # type: ignore[arg-type]
    shown = after_event(now, access.posted[-1])
    job = ConfirmRig(rig_id="bench-2", changes=shown.changes, person="R. Vance")
    job.carry_out(access)  # type: ignore[arg-type]

    assert shown.changes == ("steps per mm 3200.0, was 1600.0",)
    assert after_event(shown, access.posted[-1]).changes == ()
    known = RigBook(access.records()).known("bench-2")
    assert known is not None
    assert known.confirmed_by == "R. Vance"
    assert not ConfirmRig.MOVES


@pytest.mark.parametrize("job", [CheckBench(), TouchOff()])
def test_a_rig_that_changed_does_not_touch_off_until_it_is_confirmed(
    access: Access, job: Job
) -> None:
    # Its mover has traits alone, so that any motion would fail otherwise
    with pytest.raises(RigChanged, match="is not as it was"):
        job.carry_out(access)  # type: ignore[arg-type]

    seen = ("steps per mm 3200.0, was 1600.0",)
    confirm = ConfirmRig(rig_id="bench-2", changes=seen, person="R. Vance")
    confirm.carry_out(access)  # type: ignore[arg-type]

    refuse_changed_rig(access)  # type: ignore[arg-type]


def test_changes_of_another_rig_are_not_shown() -> None:
    other = RigChangesStand(rig_id="bench-3", changes=("steps per mm 1, was 2",))

    assert after_event(CHANGED, other) == CHANGED


async def _at_bench(pilot: Pilot[None]) -> list[Any]:
    """Go to the bench of a changed rig, and return what will be asked of the rig."""
    app = pilot.app
    assert isinstance(app, GapsweepApp)
    asked: list[Any] = []
    app.rig_thread.submit = asked.append  # type: ignore[method-assign]
    await SCENES["rig_changed"].open(pilot)
    return asked


async def _ask(pilot: Pilot[None]) -> None:
    await pilot.press("ctrl+r")
    await until(pilot, lambda: isinstance(pilot.app.screen, ConfirmRigForm))


@pytest.mark.long
async def test_the_bench_shows_every_change_and_takes_two_steps_and_a_name(
    still: MakeApp,
) -> None:
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        asked = await _at_bench(pilot)
        told = str(app.screen.query_one("#rig-changed", Static).content)
        hint = app.screen.query_one(NextLine).sentence
        await _ask(pilot)
        asked.clear()
        await pilot.press("ctrl+s")
        refused = str(app.screen.query_one("#form-caption", Static).content)
        await pilot.press(*"Kim", "ctrl+s")
        await until(pilot, lambda: bool(asked))

        assert all(one in told for one in CHANGED.changes)
        assert "Ctrl+R" in hint
        assert "Name first who confirms it" in refused
        assert asked == [
            ConfirmRig(rig_id="bench-2", changes=CHANGED.changes, person="Kim")
        ]


@pytest.mark.long
@pytest.mark.parametrize("keys", [("enter",), ("escape",), (*"b-0418", "enter")])
async def test_nothing_is_confirmed_by_enter_escape_or_a_scan(
    still: MakeApp, keys: tuple[str, ...]
) -> None:
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        asked = await _at_bench(pilot)
        await _ask(pilot)
        await pilot.press(*keys)

        assert not [one for one in asked if isinstance(one, ConfirmRig)]
