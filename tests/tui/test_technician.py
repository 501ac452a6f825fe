"""The technician's day by keys alone: plan, mount, stop, go on tomorrow, report."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable, Input

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import load_plan
from rig.cli.main import run as command_line
from rig.records import PlanState, Reader, RunFilter, open_records
from rig.records.notes import NoteBook
from rig.tui.app.app import GapsweepApp
from rig.tui.state.situation import LinkState
from rig.tui.technician.plan_job import BeginPlan
from rig.tui.widgets.next_line import NextLine
from tests.tui.conftest import (
    FAST,
    MakeApp,
    at_screen,
    idle,
    strike,
    to_bench,
    until,
)
from tests.tui.hold import Hold

pytestmark = pytest.mark.long

SWEEPS = 6


def _app(pilot: Pilot[None]) -> GapsweepApp:
    app = pilot.app
    assert isinstance(app, GapsweepApp)
    return app


async def _type(pilot: Pilot[None], text: str) -> None:
    await pilot.press(*("space" if sign == " " else sign for sign in text))


async def _prompted(pilot: Pilot[None]) -> str:
    """Wait for the question to mount a pair, and return what it asks for."""
    await until(pilot, lambda: bool(pilot.app.screen.query("#mount-what")))
    return str(pilot.app.screen.query_one("#mount-what").render())


async def _make_plan(pilot: Pilot[None]) -> None:
    """Say who works, then tick one sensor and three targets."""
    await to_bench(pilot)
    await pilot.press("ctrl+l")
    await until(pilot, lambda: bool(pilot.app.screen.query("#operator")))
    await _type(pilot, "Kim")
    await pilot.press("tab", "tab")
    await _type(pilot, "21.5")
    await pilot.press("ctrl+s")
    await pilot.press("f6")
    await at_screen(pilot, "Plans")
    await pilot.press("n")
    await at_screen(pilot, "New plan")
    await _type(pilot, "Tuesday, bay 3")
    await pilot.press("tab", "end", "backspace", "backspace")
    await _type(pilot, str(SWEEPS))
    # Past speeds and parts to the ticks
    await pilot.press("tab", "tab", "tab", "space", "tab")
    await pilot.press("space", "down", "down", "space", "down", "down", "down", "down")
    await pilot.press("space")


def _table(pilot: Pilot[None]) -> list[list[str]]:
    table = pilot.app.screen.query_one("#pairs", DataTable)
    return [table.get_row_at(row) for row in range(table.row_count)]


def _states(pilot: Pilot[None]) -> list[str]:
    return [row[3].split()[-1] for row in _table(pilot)]


async def test_the_day_from_the_start_to_the_report(
    make_app: MakeApp, records: str, tmp_path: Path, hold: Hold
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _make_plan(pilot)
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Plan")
        assert _states(pilot) == ["due", "due", "due"]

        # The first pair is measured, the second one left out, the third one stopped
        await pilot.press("enter")
        assert "steel" in await _prompted(pilot)
        await pilot.press("enter", "y")  # neither is an answer
        assert _what(pilot)
        await pilot.press("escape")
        await at_screen(pilot, "Plan")
        assert _app(pilot).situation.under_way is None
        await pilot.press("enter")
        await _prompted(pilot)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: _app(pilot).situation.run is not None)
        assert "stainless" in await _prompted(pilot)
        await pilot.press("tab", "tab", "enter")
        await until(pilot, lambda: "pvc" in str(_what(pilot)))
        hold.after_sweep(2)
        strike(pilot, "ctrl+g")
        await until(pilot, hold.waiting.is_set)
        await until(pilot, lambda: _good(pilot, "pvc") >= 2)
        await pilot.press("space")
        hold.let_go()
        await idle(pilot)
        await until(pilot, lambda: _states(pilot) == ["done", "skipped", "begun"])
        assert _app(pilot).situation.problem.stopped

    await _tomorrow(make_app, records, tmp_path)


def _what(pilot: Pilot[None]) -> str:
    found = pilot.app.screen.query("#mount-what")
    return str(found.first().render()) if found else ""


def _good(pilot: Pilot[None], target: str) -> int:
    run = _app(pilot).situation.run
    return run.good if run is not None and run.header.target.name == target else 0


async def _tomorrow(make_app: MakeApp, records: str, tmp_path: Path) -> None:
    """Go on where yesterday ended, redo a pair, and write the report."""
    with open_records(records) as store:
        (entry,) = Reader(store).plans()
        begun = Reader(store).runs(RunFilter(target="pvc"))
    assert entry.state is PlanState.STOPPED
    assert 2 <= begun[0].good_sweeps < SWEEPS

    async with make_app().run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Carry on")
        await pilot.press("enter")
        await at_screen(pilot, "Plan")
        await until(pilot, lambda: _app(pilot).situation.link is LinkState.LIVE)
        await idle(pilot)
        await until(pilot, lambda: _states(pilot) == ["done", "due", "begun"])
        await pilot.press("enter")
        assert "stainless" in await _prompted(pilot)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: "pvc" in _what(pilot))
        assert f"after {begun[0].good_sweeps} good sweeps" in _what(pilot)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: _states(pilot) == ["done", "done", "done"])
        await pilot.press("up", "up", "r")
        assert "steel" in await _prompted(pilot)
        strike(pilot, "ctrl+g")
        await until(pilot, lambda: _app(pilot).situation.under_way is not None)
        await idle(pilot)
        begun = f"{entry.created_at:%Y-%m-%d-%H%M%S}"
        report = tmp_path / "reports" / f"plan-Tuesday-bay-3-{begun}.html"
        await pilot.press("ctrl+o")
        await until(pilot, report.exists)

    with open_records(records) as store:
        reader = Reader(store)
        (entry,) = reader.plans()
        runs = reader.runs()
        steel = reader.run(runs[0].run_id).header.conditions
        figures = [reader.latest_figures(run.run_id) for run in runs]
    assert entry.state is PlanState.DONE
    assert [run.target for run in runs] == ["steel", "pvc", "stainless", "steel"]
    assert {run.good_sweeps for run in runs} == {SWEEPS}
    assert (steel.operator, steel.temperature_c) == ("Kim", 21.5)
    assert None not in figures
    page = report.read_text("utf-8")
    assert "SIMULATED" in page
    for run in runs:
        assert run.run_id in page


def _next(pilot: Pilot[None]) -> str:
    return pilot.app.screen.query_one(NextLine).sentence


async def test_the_plan_that_is_ticked_runs_on_the_command_line(
    make_app: MakeApp,
    records: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _make_plan(pilot)
        await pilot.press("shift+tab", "shift+tab")
        field = pilot.app.screen.query_one("#plan-sweeps", Input)
        field.focus()
        await pilot.press("end", "backspace", "backspace", "2")
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Plan")

    (path,) = (tmp_path / "plans").glob("*.toml")
    plan = load_plan(path, load_catalogue())
    status = command_line(
        ["run", str(path), "--rig", FAST, "--records", records, "--json"]
    )
    printed = json.loads(capsys.readouterr().out)

    assert path.name == "tuesday-bay-3.toml"
    assert plan.title == "Tuesday, bay 3"
    assert [run.target.name for run in plan.runs] == ["steel", "stainless", "pvc"]
    assert status == 0
    assert [run["target"] for run in printed["runs"]] == [
        "steel",
        "stainless",
        "pvc",
    ]


async def test_what_is_ticked_and_typed_is_undone_and_survives_a_crash(
    make_app: MakeApp,
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _make_plan(pilot)
        maker = pilot.app.screen
        assert maker.query_one("#plan-targets").ticked == ("steel", "stainless", "pvc")
        await pilot.press("ctrl+z")
        assert maker.query_one("#plan-targets").ticked == ("steel", "stainless")
        await pilot.press("ctrl+z", "ctrl+z", "ctrl+z", "ctrl+z")
        assert maker.query_one("#plan-sensors").ticked == ()
        assert maker.query_one("#plan-sweeps", Input).value == "10"
        await pilot.press("ctrl+z")
        assert maker.query_one("#plan-title", Input).value == ""
        for _ in range(6):
            await pilot.press("ctrl+y")
        # The app ends here without a word about the plan

    async with make_app().run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.press("f6")
        await at_screen(pilot, "Plans")
        await pilot.press("n")
        await at_screen(pilot, "New plan")
        maker = pilot.app.screen
        assert maker.query_one("#plan-title", Input).value == "Tuesday, bay 3"
        assert maker.query_one("#plan-sweeps", Input).value == str(SWEEPS)
        assert maker.query_one("#plan-targets").ticked == ("steel", "stainless", "pvc")


async def test_a_plan_of_the_other_kind_of_rig_is_refused_before_anything_moves(
    make_app: MakeApp, records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _make_plan(pilot)
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Plan")
        monkeypatch.setattr(
            "rig.procedures.begin_plan.make_run_id",
            lambda *_: "20310304-093000-000-0001",
        )
        _app(pilot).submit(BeginPlan(plan=pilot.app.screen._plan))
        await until(pilot, lambda: bool(_plans(records)))

    with open_records(records) as store, store.writing() as connection:
        connection.exec_driver_sql("DROP TRIGGER plans_unaltered")
        connection.exec_driver_sql("UPDATE plans SET simulated = 0")
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await pilot.press("f6")
        await at_screen(pilot, "Plans")
        await until(pilot, lambda: "resumes the plan" in _next(pilot))
        await pilot.press("enter")
        await at_screen(pilot, "Plan")
        await until(pilot, lambda: len(_states(pilot)) == 3)
        await pilot.press("enter")
        await _prompted(pilot)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: _app(pilot).situation.problem is not None)

        assert "begun on a real rig" in _app(pilot).situation.problem.sentence
        assert _app(pilot).situation.datum is None
    with open_records(records) as store:
        assert Reader(store).runs() == []


async def test_runs_are_filtered_sorted_opened_and_noted(
    make_app: MakeApp, records: str
) -> None:
    for target in ("steel", "pvc"):
        rig = f"sim://?sensor=capacitive&target={target}&seed=7&pace=fast"
        orders = ["--target", target, "--sweeps", "3", "--records", records, "--json"]
        assert command_line(["sweep", "--rig", rig, *orders]) == 0

    async with make_app().run_test(size=(120, 40)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.press("f7")
        await at_screen(pilot, "Runs")
        table = pilot.app.screen.query_one("#runs", DataTable)
        await until(pilot, lambda: _column(table, "target") == ["pvc", "steel"])
        # Turned round
        await pilot.press("d")
        await until(pilot, lambda: _column(table, "target") == ["steel", "pvc"])
        await pilot.press("slash")
        await _type(pilot, "level pvc sim")
        await until(pilot, lambda: table.row_count == 1)
        await pilot.press("enter", "enter")
        await at_screen(pilot, "Run")
        await until(pilot, lambda: "pvc" in _text(pilot, "#page-head"))
        assert "No verdict" in _text(pilot, "#text-Verdicts")

        await pilot.press("ctrl+l")
        await until(pilot, lambda: bool(pilot.app.screen.query("#note-text")))
        await _type(pilot, "cable moved")
        await pilot.press("escape")
        await at_screen(pilot, "Run")
        await pilot.press("ctrl+l")
        await until(pilot, lambda: bool(pilot.app.screen.query("#note-text")))
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "cable moved" in _text(pilot, "#text-Notes"))
        await pilot.press("ctrl+z")
        await until(pilot, lambda: bool(pilot.app.screen.query("#grounds-reason")))
        # Without a reason nothing is withdrawn
        await pilot.press("ctrl+s")
        assert "Type first why" in _text(pilot, "#form-caption")
        await _type(pilot, "other bench")
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Run")
        await until(pilot, lambda: "other bench" in _text(pilot, "#text-Notes"))

    with open_records(records) as store:
        pvc = Reader(store).runs(RunFilter(target="pvc"))[0]
        (note,) = NoteBook(store).notes(pvc.run_id)
    assert note.text == "cable moved"
    assert note.withdrawn_at is not None
    assert note.why_withdrawn == "other bench"


def _plans(records: str) -> list[object]:
    with open_records(records) as store:
        return list(Reader(store).plans())


def _rows(table: DataTable[str]) -> list[list[str]]:
    return [table.get_row_at(row) for row in range(table.row_count)]


def _column(table: DataTable[str], head: str) -> list[str]:
    heads = [str(column.label) for column in table.ordered_columns]
    found = [number for number, label in enumerate(heads) if label.startswith(head)]
    return [str(row[number]) for row in _rows(table) for number in found]


def _text(pilot: Pilot[None], selector: str) -> str:
    found = pilot.app.screen.query(selector)
    return str(found.first().render()) if found else ""
