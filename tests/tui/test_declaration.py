"""The bench declaration by keys: asked for once, declared, taken back, imported."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    ValueSource,
)
from rig.model.bench_items import BENCH_ITEMS, SCREW_CLASS
from rig.records import Reader, open_records
from rig.records.benches import BenchBook, BenchEntry
from rig.tui.app.app import GapsweepApp
from rig.tui.bench.declaration_form import DeclarationForm
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_events import DeclarationStands, RigEvent
from rig.tui.rig.rig_thread import RigThread
from rig.tui.widgets.fitting_table import FittingTable
from tests.tui.conftest import MakeApp, at_screen, checked, idle, to_bench, until

pytestmark = pytest.mark.long

ITEMS = tuple(item for item in BENCH_ITEMS if item.in_runs)
# The rig has no scale
SHOWN = [item for item in ITEMS if not item.of_scale]
ROWS = (SCREW_CLASS, *(item.key for item in SHOWN))


def _entries(records: str) -> list[BenchEntry]:
    with open_records(records) as store:
        return BenchBook(store).every()


def _newest(records: str) -> BenchDeclaration:
    return _entries(records)[-1].declaration


def _said(pilot: Pilot[None], selector: str) -> str:
    return str(pilot.app.screen.query_one(selector, Static).render())


def _asks(pilot: Pilot[None]) -> bool:
    return bool(pilot.app.screen.query_one("#undeclared").display)


async def _to_declaration(pilot: Pilot[None]) -> None:
    await pilot.press("ctrl+e")
    await at_screen(pilot, "Declaration")
    table = pilot.app.screen.query_one("#items", FittingTable)
    await until(pilot, lambda: table.row_count == len(ROWS))


async def _open_form(pilot: Pilot[None], key: str) -> None:
    table = pilot.app.screen.query_one("#items", FittingTable)
    assert table.cursor_row == 0
    for _ in range(ROWS.index(key)):
        await pilot.press("down")
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, DeclarationForm))


async def _saved(pilot: Pilot[None], records: str, count: int) -> None:
    await pilot.press("ctrl+s")
    await until(pilot, lambda: not pilot.app.screen.is_modal)
    await until(pilot, lambda: len(_entries(records)) == count)
    await at_screen(pilot, "Declaration")


def _cell(pilot: Pilot[None], key: str, column: int) -> str:
    table = pilot.app.screen.query_one("#items", FittingTable)
    return str(table.get_row_at(ROWS.index(key))[column])


async def test_a_rig_that_nobody_has_declared_is_asked_about_without_blocking(
    make_app: MakeApp,
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await until(pilot, lambda: _asks(pilot))
        said = _said(pilot, "#undeclared")
        focused = pilot.app.focused
        assert focused is not None

        assert not pilot.app.screen.is_modal
        assert focused.id == "check"
        assert "Ctrl+E" in said
        await pilot.press("ctrl+e")
        await at_screen(pilot, "Declaration")


async def test_later_is_on_record_and_is_not_asked_again(
    make_app: MakeApp, records: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await until(pilot, lambda: _asks(pilot))
        await _to_declaration(pilot)
        await pilot.press("ctrl+r")
        await until(pilot, lambda: pilot.app.screen.is_modal)
        await pilot.press("enter", "ctrl+r")
        await until(pilot, lambda: pilot.app.screen.is_modal)
        before = _entries(records)
        await pilot.press("ctrl+s")
        await until(
            pilot, lambda: "left undeclared" in _said(pilot, "#declaration-lead")
        )
        await pilot.press("f3")
        await at_screen(pilot, "Bench")
        here = _asks(pilot)

    heard: list[RigEvent] = []
    async with make_app().run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        pilot.app.rig_events.subscribe(pilot.app.screen, heard.append)
        await to_bench(pilot)
        await until(pilot, lambda: DeclarationStands in map(type, heard))
        again = _asks(pilot)

    assert before == []
    (entry,) = _entries(records)
    assert entry.declaration == NOTHING_DECLARED
    assert (here, again) == (False, False)


async def test_every_item_is_reached_by_keys_and_explained(make_app: MakeApp) -> None:
    said = []

    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await _to_declaration(pilot)
        for _ in ROWS:
            said.append(_said(pilot, "#item-words"))
            await pilot.press("down")

    for item, words in zip(SHOWN, said[1:], strict=True):
        assert words.startswith(item.key)
        for part in (item.words, item.form.value, item.unit, "assumed", item.reason):
            assert item.key == "screw.lead_mm" or part in words
    assert said[0].startswith(SCREW_CLASS)


async def test_a_number_is_declared_with_its_source_and_taken_back(
    make_app: MakeApp, records: str
) -> None:
    key = "probe.delay_ms"
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await _to_declaration(pilot)
        await _open_form(pilot, key)
        # Number, then down to the source: its list, and the second in it
        await pilot.press(*"3,5", "down", "enter", "down", "down", "enter", "tab")
        await pilot.press(*"Ada")
        await _saved(pilot, records, 1)
        (entry,) = _entries(records)
        await until(pilot, lambda: _cell(pilot, key, 1) == "3.500 ms")
        source = _cell(pilot, key, 2)
        lead = _said(pilot, "#declaration-lead")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, DeclarationForm))
        offered = pilot.app.screen.query_one("#declared", Input).value
        pilot.app.screen.query_one("#declared", Input).value = ""
        await _saved(pilot, records, 2)
        await until(pilot, lambda: _cell(pilot, key, 2) == "assumed")
        back = _cell(pilot, key, 1)

    assert entry.author == "Ada"
    assert entry.declaration.values == ((key, 3.5, ValueSource.MAKER),)
    assert source == "maker"
    assert "declared" in lead
    assert "by Ada" in lead
    assert offered == "3.5"
    assert back == "10.00 ms"
    assert _newest(records) == NOTHING_DECLARED


async def test_a_class_of_the_screw_is_chosen_and_taken_back(
    make_app: MakeApp, records: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await _to_declaration(pilot)
        await _open_form(pilot, SCREW_CLASS)
        # The first in the list is none, the fifth is P5; then the source
        await pilot.press("enter", *["down"] * 4, "enter", "tab")
        await pilot.press("enter", "down", "enter")
        await _saved(pilot, records, 1)
        declared = _newest(records)
        await until(pilot, lambda: "P5" in _cell(pilot, SCREW_CLASS, 1))
        periodic = _cell(pilot, "screw.periodic_um", 1)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, DeclarationForm))
        await pilot.press("enter", "home", "enter")
        await _saved(pilot, records, 2)
        await until(pilot, lambda: _cell(pilot, SCREW_CLASS, 1) == "none")

    assert declared.screw_class == "ISO 3408-3 P5"
    assert declared.screw_class_source is ValueSource.CERTIFICATE
    # Of 8 um within a turn, half is the amplitude; from memory of the standard
    assert periodic == "4.000 µm"
    assert _newest(records) == NOTHING_DECLARED


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("two", "The number is 'two', not a number"),
        ("-1", "give 0 to 100 mm"),
        ("2", "Source is empty"),
    ],
)
async def test_what_cannot_be_declared_stays_in_the_form(
    make_app: MakeApp, records: str, typed: str, words: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await _to_declaration(pilot)
        await _open_form(pilot, "screw.lead_mm")
        field = pilot.app.screen.query_one("#declared", Input)
        field.value = typed
        if typed == "-1":
            pilot.app.screen.query_one("#source").value = ValueSource.MAKER
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "✗" in _said(pilot, "#form-caption"))
        said = _said(pilot, "#form-caption")
        stays = isinstance(pilot.app.screen, DeclarationForm)

    assert words in said
    assert stays
    assert _entries(records) == []


async def test_a_file_takes_the_place_of_all_that_was_declared(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    path = tmp_path / "bench.toml"
    path.write_text('[screw]\nsource = "maker"\nlead = 2\n', "utf-8")

    async with make_app().run_test(size=(80, 24)) as pilot:
        app = pilot.app
        await to_bench(pilot)
        await _to_declaration(pilot)
        await pilot.press("i")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("ctrl+s")
        empty = _said(pilot, "#form-caption")
        app.screen.query_one("#declaration-path", Input).value = str(path)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: app.situation.problem is not None)
        wrong = app.situation.problem.sentence
        nothing = _entries(records)
        path.write_text('[screw]\nsource = "maker"\nlead_mm = 2\n', "utf-8")
        await pilot.press("i")
        await until(pilot, lambda: app.screen.is_modal)
        app.screen.query_one("#declaration-path", Input).value = str(path)
        await _saved(pilot, records, 1)
        await until(pilot, lambda: _cell(pilot, "screw.lead_mm", 1) == "2.000 mm")

    assert "File is empty" in empty
    assert "bench.toml" in wrong
    assert "screw.lead" in wrong
    assert nothing == []


async def test_what_is_declared_after_the_touch_off_is_what_the_run_rests_on(
    make_app: MakeApp, records: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = pilot.app
        assert isinstance(app, GapsweepApp)
        await checked(pilot)
        touched = app.situation.datum
        await _to_declaration(pilot)
        await _open_form(pilot, "probe.offset_um")
        await pilot.press(*"0", "down", "enter", "down", "enter")
        await _saved(pilot, records, 1)
        await until(pilot, lambda: app.situation.datum != touched)
        datum = app.situation.datum
        await pilot.press("f4")
        await at_screen(pilot, "Sweeps")
        await pilot.press("ctrl+g")
        await until(
            pilot,
            lambda: (
                app.situation.run is not None and app.situation.run.figures is not None
            ),
        )
        await idle(pilot)

    with open_records(records) as store:
        (summary,) = Reader(store).runs()
        conditions = Reader(store).run(summary.run_id).header.conditions
    known = {value.key: value for value in conditions.bench.values}
    assert conditions.bench.declared
    assert known["probe.offset_um"][1:] == (0.0, ValueSource.CERTIFICATE)
    # The touches stay; what the probe may be off by is less
    assert datum.position_steps == touched.position_steps
    assert datum.found_at == touched.found_at
    assert datum.probe_uncertainty_mm < touched.probe_uncertainty_mm
    assert conditions.datum == datum


async def test_what_it_does_to_the_newest_run_is_said_as_its_budget_has_it(
    make_app: MakeApp, records: str
) -> None:
    async with make_app().run_test(size=(120, 40)) as pilot:
        app = pilot.app
        await to_bench(pilot)
        await _to_declaration(pilot)
        before = _said(pilot, "#declaration-effect")
        await pilot.press("f3")
        await at_screen(pilot, "Bench")
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.datum is not None)
        await idle(pilot)
        await pilot.press("f4")
        await at_screen(pilot, "Sweeps")
        await pilot.press("ctrl+g")
        await until(
            pilot,
            lambda: (
                app.situation.run is not None and app.situation.run.figures is not None
            ),
        )
        await idle(pilot)
        await pilot.press("f3")
        await at_screen(pilot, "Bench")
        await pilot.press("ctrl+e")
        await at_screen(pilot, "Declaration")
        await until(pilot, lambda: "unknown" not in _said(pilot, "#declaration-effect"))
        after = _said(pilot, "#declaration-effect")
        operate = app.situation.run.figures.operate

    parts = [(c.sensitivity * c.standard_uncertainty) ** 2 for c in operate.budget]
    assumed = [
        part
        for part, line in zip(parts, operate.budget, strict=True)
        if line.name.endswith("(assumed)")
    ]
    assert "unknown" in before
    assert "SIMULATED" in after
    assert f"{operate.value:.3f} ± {operate.expanded_uncertainty:.3f}" in after
    assert f"{100 * sum(assumed) / sum(parts):.0f} % was assumed" in after
    assert "periodic error of the screw" in after


async def test_nothing_on_the_screen_moves_the_axis(
    make_app: MakeApp, records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[Job] = []
    submit = RigThread.submit

    def note(thread: RigThread, job: Job) -> None:
        asked.append(job)
        submit(thread, job)

    monkeypatch.setattr(RigThread, "submit", note)
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_bench(pilot)
        await _to_declaration(pilot)
        asked.clear()
        for key in ("ctrl+g", "enter", "ctrl+g", "escape", "i", "ctrl+g", "escape"):
            await pilot.press(key)
        await pilot.press("ctrl+r", "ctrl+g", "ctrl+s")
        await until(pilot, lambda: len(_entries(records)) == 1)

    assert asked
    assert not any(job.MOVES for job in asked)


async def test_without_a_rig_it_shows_what_is_assumed_and_declares_nothing(
    make_app: MakeApp, records: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.press("f3")
        await at_screen(pilot, "Bench")
        await _to_declaration(pilot)
        lead = _said(pilot, "#declaration-lead")
        await pilot.press("enter", "i", "ctrl+r")
        modal = pilot.app.screen.is_modal

    assert lead.startswith("Any rig: nothing is declared")
    assert not modal
    assert _entries(records) == []
