"""A plan with interleaved pairs: one walk on the screen and on the command line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from rig.cli.main import run as command_line
from rig.records import PlanState, Reader, RunFilter, open_records
from tests.tui.conftest import FAST, MakeApp, at_screen, idle, to_bench, until

pytestmark = pytest.mark.long

PLAN = """title = "In rounds"
sweeps = 6
interleave = true

[[run]]
sensors = ["level-18"]
targets = ["steel", "pvc"]

[[run]]
sensors = ["level-18"]
targets = ["glass"]
sweeps = 2
interleave = false
"""
ROUNDS = [*["steel", "pvc"] * 3, "glass"]


def _what(pilot: Pilot[None]) -> str:
    found = pilot.app.screen.query("#mount-what")
    return str(found.first().render()) if found else ""


def _sittings(records: str | Path) -> list[tuple[str, int, int]]:
    """Return target, datum and number of sweeps of each sitting, in order of time."""
    with open_records(str(records), read_only=True) as store:
        reader = Reader(store)
        sweeps = [
            (sweep.ended_at, run.header.target.name, sweep.conditions_index)
            for run in reader.iter_runs(RunFilter())
            for sweep in run.sweeps
            if not sweep.void
        ]
    sittings: list[tuple[str, int, int]] = []
    for _, target, index in sorted(sweeps):
        if sittings and sittings[-1][:2] == (target, index):
            sittings[-1] = (target, index, sittings[-1][2] + 1)
        else:
            sittings.append((target, index, 1))
    return sittings


def _headers(records: str | Path) -> list[tuple[Any, ...]]:
    """Return what stands in the rows of the runs but for identities and times."""
    with open_records(str(records), read_only=True) as store:
        (plan,) = Reader(store).plans()
        assert plan.state is PlanState.DONE
        headers = [run.header for run in Reader(store).iter_runs()]
    assert {header.plan_id for header in headers} == {plan.plan_id}
    return sorted(
        (
            one.plan_item,
            one.sensor,
            one.target,
            one.sweeps_wanted,
            one.speeds_mm_s,
            one.part,
            one.timetable,
            one.label,
            one.until_mm,
            one.conditions.operator,
            one.conditions.note,
        )
        for one in headers
    )


async def test_both_surfaces_take_the_pairs_of_a_plan_in_the_same_rounds(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    folder = tmp_path / "plans"
    folder.mkdir()
    (folder / "rounds.toml").write_text(PLAN, "utf-8")
    asked: list[str] = []
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await pilot.press("f6")
        await at_screen(pilot, "Plans")
        await until(pilot, lambda: pilot.app.screen.query_one("#plans").row_count == 1)
        await pilot.press("enter")
        await at_screen(pilot, "Plan")
        await pilot.press("enter")
        for target in ROUNDS:
            await until(pilot, lambda due=target: f"target  {due}" in _what(pilot))
            asked.append(_what(pilot))
            await pilot.press("ctrl+g")
        await until(pilot, lambda: pilot.app.situation.run is not None)
        await idle(pilot)

    on_the_command_line = tmp_path / "command_line.sqlite"
    plan = str(folder / "rounds.toml")
    options = ["--rig", FAST, "--records", str(on_the_command_line)]
    assert command_line(["run", plan, *options]) == 0

    assert [target for target, _, _ in _sittings(records)] == ROUNDS
    assert _sittings(records) == _sittings(on_the_command_line)
    assert _headers(records) == _headers(on_the_command_line)
    assert "In rounds: up to 2 of 6 sweeps" in asked[0]
    assert "In rounds" not in asked[-1]


async def test_a_plan_in_rounds_begun_on_the_command_line_is_resumed_in_rounds(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    path = tmp_path / "rounds.toml"
    path.write_text(PLAN, "utf-8")
    # The link goes away in the second mounting
    rig = f"{FAST}&fault=hang_up:60"
    assert command_line(["run", str(path), "--rig", rig, "--records", records]) == 3
    begun = [target for target, _, _ in _sittings(records)]
    assert begun == ROUNDS[: len(begun)]

    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await pilot.press("f6")
        await at_screen(pilot, "Plans")
        await until(pilot, lambda: pilot.app.screen.query_one("#plans").row_count == 1)
        await pilot.press("enter")
        await at_screen(pilot, "Plan")
        await until(pilot, lambda: pilot.app.screen._standing.entry is not None)
        await pilot.press("ctrl+g")
        while not pilot.app.screen.query("#pairs") or not _all_done(pilot):
            await until(pilot, lambda: bool(_what(pilot)) or _all_done(pilot))
            if _what(pilot):
                await pilot.press("ctrl+g")

    whole = _sittings(records)
    taken = [target for target, _, _ in whole]
    assert taken[-len(ROUNDS) + len(begun) :] == ROUNDS[len(begun) :]
    assert [sum(n for t, _, n in whole if t == one) for one in ("steel", "pvc")] == [
        6,
        6,
    ]


def _all_done(pilot: Pilot[None]) -> bool:
    standing = getattr(pilot.app.screen, "_standing", None)
    return standing is not None and standing.done
