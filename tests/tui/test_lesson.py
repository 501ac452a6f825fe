"""The instructor's lesson, by keys alone, on the simulated rig."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Button, Input, Select

from rig.inquiry.lesson import PREDICTED, READ
from rig.inquiry.trimmer_setting import AS_IT_CAME, BEFORE, TURNED
from rig.records import Reader, open_records
from rig.records.hand_readings import HandBook
from rig.tui.app.app import GapsweepApp
from rig.tui.pictures.dot_plot import DotPlot
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.next_line import NextLine
from rig.tui.widgets.picture_view import PictureView
from tests.tui.conftest import MakeApp, at_screen, checked, idle, strike, until
from tests.tui.hold import Hold
from tests.tui.pending import settled
from tests.tui.situations import SWEEPING, rows

pytestmark = pytest.mark.long


async def go(pilot: Pilot[None], key: str, title: str) -> None:
    await pilot.press(key)
    await at_screen(pilot, title)
    await settled(pilot)


async def typed(pilot: Pilot[None], *entries: tuple[str, str]) -> None:
    for person, value in entries:
        await until(pilot, lambda: getattr(pilot.app.focused, "id", "") == "person")
        await pilot.press(*person, "enter", *value, "enter")


async def measured(pilot: Pilot[None], sweeps: int) -> None:
    """Press Measure and wait for the figures."""
    app = pilot.app
    before = app.situation.run
    app.screen.query_one("#lesson-sweeps", Input).value = str(sweeps)
    await pilot.press("ctrl+g")
    await until(pilot, lambda: app.situation.run not in (None, before))
    await until(pilot, lambda: app.situation.run.figures is not None)
    await idle(pilot)


def picture(app: GapsweepApp, id: str) -> object:
    return app.screen.query_one(f"#{id}", PictureView).picture


async def test_a_lesson_from_start_to_report_by_keys_alone(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await go(pilot, "f9", "Live")
        await go(pilot, "pagedown", "Predict")
        await typed(pilot, ("ada", "7"), ("bo", "9.5"))
        hidden = str(app.screen.query_one("#finding").render())
        await measured(pilot, 4)
        await until(pilot, lambda: "Nearest: ada" in _finding(app))
        compared = [bar.name for bar in picture(app, "predictions").bars]

        await go(pilot, "pagedown", "Repeat")
        await measured(pilot, 6)
        dots = picture(app, "dots")
        shown = _finding(app)

        await go(pilot, "pagedown", "Setting")
        await measured(pilot, 4)
        await until(pilot, lambda: app.screen.book.before is not None)
        app.screen.query_one("#more", Button).focus()
        await pilot.press("enter")
        await until(pilot, lambda: app.screen.run_label == TURNED)
        datum_after_turn = app.situation.datum
        await measured(pilot, 4)
        await until(pilot, lambda: "sure change" in _finding(app))

        await go(pilot, "pagedown", "By hand")
        await typed(pilot, ("ada", "8.2"), ("ada", "8.4"), ("bo", "9"), ("bo", "9.2"))
        await until(pilot, lambda: "ada" in _finding(app) and "bo" in _finding(app))
        people = [group.name for group in picture(app, "hands").groups]

        await go(pilot, "pagedown", "Materials")
        select = app.screen.query_one("#lesson-target", Select)
        select.focus()
        await pilot.press("enter", *["down"] * _steps_to(app, "pvc"), "enter")
        await until(pilot, lambda: app.situation.target.name == "pvc")
        await idle(pilot)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.datum is not None)
        await idle(pilot)
        await measured(pilot, 4)
        await until(pilot, lambda: len(picture(app, "materials").bars) == 2)

        await pilot.press("ctrl+o")
        await until(pilot, lambda: bool(_reports(app)))
        (report,) = _reports(app)

    assert hidden == "Measured: hidden until everybody has predicted."
    assert compared == ["ada", "bo", "measured"]
    assert [len(group.values) for group in dots.groups] == [6]
    assert "R, short term, not the 8 h test" in shown
    assert datum_after_turn is not None
    assert people == ["ada", "bo", "the rig"]
    page = report.read_text("utf-8")
    assert "SIMULATED" in page
    runs = Reader(open_records(records)).runs()
    assert [run.good_sweeps for run in runs] == [4, 6, 4, 4, 4]
    assert [run.target for run in runs] == ["steel"] * 4 + ["pvc"]
    # The first run of steel is superseded by the one for the dots
    assert [run.run_id in page for run in runs] == [False, True, True, True, True]
    kept = HandBook(open_records(records))
    # Predicted before the trimmer was turned, read after it
    found = {
        (figure, label): len(
            kept.readings(
                sensor="level-18", target="steel", part="", figure=figure, label=label
            )
        )
        for figure in (PREDICTED, READ)
        for label in (AS_IT_CAME, TURNED)
    }
    assert found == {
        (PREDICTED, AS_IT_CAME): 2,
        (PREDICTED, TURNED): 0,
        (READ, AS_IT_CAME): 0,
        (READ, TURNED): 4,
    }


def _finding(app: GapsweepApp) -> str:
    return str(app.screen.query_one("#finding").render())


def _reports(app: GapsweepApp) -> list[Path]:
    return list((app.folder / "reports").glob("*-runs-level-18-*.html"))


def _steps_to(app: GapsweepApp, target: str) -> int:
    names = list(app.catalogue.targets)
    return names.index(target) - names.index(app.situation.target.name)


async def test_what_was_typed_last_can_be_taken_back_until_it_is_kept(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await go(pilot, "f9", "Live")
        await go(pilot, "pagedown", "Predict")
        await typed(pilot, ("ada", "7"), ("bo", "9.5"))
        await pilot.press("ctrl+z", "ctrl+s")
        await until(pilot, lambda: app.screen.book.predicted == {"ada": (7.0,)})
        await pilot.press("ctrl+z")
        await settled(pilot)

        assert app.screen.book.predicted == {"ada": (7.0,)}
        assert app.screen.typed.entries == ()
    kept = HandBook(open_records(records)).readings(
        sensor="level-18", target="steel", part="", figure=PREDICTED
    )
    assert [(one.person, one.value_mm) for one in kept] == [("ada", 7.0)]


async def test_what_was_typed_outlives_the_window(make_app: MakeApp) -> None:
    first = make_app()

    async with first.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await go(pilot, "f9", "Live")
        await go(pilot, "pagedown", "Predict")
        await typed(pilot, ("ada", "7"))
    second = make_app()
    async with second.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await go(pilot, "f9", "Live")
        await go(pilot, "pagedown", "Predict")
        await until(
            pilot,
            lambda: (
                second.screen.typed.of(second.screen.book.predicted) == {"ada": (7.0,)}
            ),
        )


@pytest.mark.parametrize(("person", "value"), [("ada", "much"), ("", "7")])
async def test_an_entry_of_no_use_is_said_and_kept_in_the_field(
    make_app: MakeApp, person: str, value: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await go(pilot, "f9", "Live")
        await go(pilot, "pagedown", "Predict")
        app.screen.query_one("#person", Input).value = person
        app.screen.query_one("#value", Input).value = value
        app.screen.query_one("#value").focus()
        await pilot.press("enter")
        await until(pilot, lambda: app.situation.problem is not None)
        await settled(pilot)

        assert app.screen.query_one("#value", Input).value == value


async def test_a_gap_that_the_sensor_cannot_see_from_is_asked_about_once(
    make_app: MakeApp,
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await go(pilot, "f9", "Live")
        await go(pilot, "pagedown", "Predict")
        app.screen.query_one("#person", Input).value = "ada"
        app.screen.query_one("#value", Input).value = "80"
        app.screen.query_one("#value").focus()
        await pilot.press("enter")
        await until(pilot, lambda: app.situation.problem is not None)
        problem = app.situation.problem
        assert problem is not None
        assert "10 times a value within 0 to 16 mm" in problem.sentence
        assert app.screen.typed.entries == ()
        await pilot.press("enter")
        await until(pilot, lambda: len(app.screen.typed.entries) == 1)

        assert app.situation.problem is None


async def test_dots_come_with_the_sweeps_each_speed_by_itself(still: MakeApp) -> None:
    app = still()
    seen = []

    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await app.run_action("app.open_screen('class_repeat')")
        await at_screen(pilot, "Repeat")
        for count in range(1, 8):
            run = replace(SWEEPING.run, rows=rows(count))
            app.situation = replace(SWEEPING, run=run)
            await settled(pilot)
            plot = picture(app, "dots")
            assert isinstance(plot, DotPlot)
            seen.append([(group.name, len(group.values)) for group in plot.groups])

    # Sweep 3 is void; speeds take turns
    assert seen[0] == [("at 1 mm/s", 1)]
    assert seen[2] == [("at 1 mm/s", 1), ("at 4 mm/s", 1)]
    assert seen[6] == [("at 1 mm/s", 3), ("at 4 mm/s", 3)]


async def test_the_live_view_follows_the_output_while_it_is_swept(
    make_app: MakeApp,
) -> None:
    app = make_app()
    words = set()

    async with app.run_test(size=(120, 40)) as pilot:
        await checked(pilot)
        await app.run_action("app.open_screen('class_repeat')")
        await at_screen(pilot, "Repeat")
        app.screen.query_one("#lesson-sweeps", Input).value = "2000"
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.moving)
        await app.run_action("app.open_screen('class_live')")
        await at_screen(pilot, "Live")
        motion = app.screen.query_one(MotionView)

        def seen_both() -> bool:
            words.add(motion.words()[0])
            return len(words) == 2

        await until(pilot, lambda: seen_both() or not app.situation.moving)
        who = str(app.screen.query_one("#who").render())
        strike(pilot, "space", " ")
        await until(pilot, lambda: not app.situation.moving)

    assert words == {"sensor level-18: operated", "sensor level-18: released"}
    assert "last edge latched at" in who


async def test_space_stops_a_measurement_of_the_lesson(
    make_app: MakeApp, hold: Hold
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await app.run_action("app.open_screen('class_predict')")
        await at_screen(pilot, "Predict")
        hold.after_sweep(1)
        await pilot.press("ctrl+g")
        await until(pilot, hold.waiting.is_set)
        assert app.situation.moving
        await pilot.press("space")
        hold.let_go()
        await until(pilot, lambda: not app.situation.moving)

        assert app.situation.problem.stopped
        said = app.screen.query_one(NextLine).sentence
        assert said.startswith("Ctrl+G touches off")


async def test_a_real_trimmer_is_turned_by_hand(make_app: MakeApp) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await app.run_action("app.open_screen('class_settings')")
        await at_screen(pilot, "Setting")
        label = app.screen.run_label
        app.screen.query_one("#swap").focus()
        await pilot.press("enter")
        await settled(pilot)

        assert (label, app.screen.run_label) == (BEFORE, TURNED)
        assert "after the turn" in str(app.screen.query_one("#side").render())


async def test_a_note_that_the_instructor_typed_stays_beside_the_setting(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()
    # Whatever it says, a note is no setting
    note = "trimmer: before lunch, Bo at the screw"

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        app.particulars = replace(app.particulars, note=note)
        await app.run_action("app.open_screen('class_settings')")
        await at_screen(pilot, "Setting")
        await measured(pilot, 3)
        app.screen.query_one("#more", Button).focus()
        await pilot.press("enter")
        await until(pilot, lambda: app.screen.run_label == TURNED)
        await measured(pilot, 3)
        await until(pilot, lambda: app.screen.book.after is not None)
        before, after = app.screen.book.before, app.screen.book.after

    assert [one.run.header.label for one in (before, after)] == [BEFORE, TURNED]
    assert [one.run.header.conditions.note for one in (before, after)] == [note] * 2
    headers = [run.header for run in Reader(open_records(records)).iter_runs()]
    assert [header.label for header in headers] == [BEFORE, TURNED]


async def test_by_hand_stands_beside_the_run_at_the_same_setting(
    make_app: MakeApp,
) -> None:
    app = make_app()

    async with app.run_test(size=(100, 40)) as pilot:
        await checked(pilot)
        await app.run_action("app.open_screen('class_settings')")
        await at_screen(pilot, "Setting")
        await measured(pilot, 5)
        app.screen.query_one("#more", Button).focus()
        await pilot.press("enter")
        await until(pilot, lambda: app.screen.run_label == TURNED)
        await measured(pilot, 5)
        await until(pilot, lambda: app.screen.book.after is not None)
        await app.run_action("app.open_screen('class_hand')")
        await at_screen(pilot, "By hand")
        await until(pilot, lambda: "The rig, trimmer turned: (8." in _finding(app))
        await typed(pilot, ("ada", "8.8"), ("ada", "8.9"))
        await until(pilot, lambda: "ada" in _finding(app))
        app.screen.query_one("#swap").focus()
        await pilot.press("enter")
        await until(pilot, lambda: "The rig, trimmer as it came: (" in _finding(app))
        without = _finding(app)
        # A button takes no second press while it shows the first
        swap = app.screen.query_one("#swap")
        await until(pilot, lambda: not swap.has_class("-active"))
        await pilot.press("enter")
        await until(pilot, lambda: "ada" in _finding(app))

    assert "ada" not in without


async def test_the_step_of_the_readout_is_asked_once_kept_and_counted(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await app.run_action("app.open_screen('class_repeat')")
        await at_screen(pilot, "Repeat")
        await measured(pilot, 5)
        await app.run_action("app.open_screen('class_hand')")
        await at_screen(pilot, "By hand")
        await until(pilot, lambda: "The rig, trimmer" in _finding(app))
        asked = app.screen.query_one(NextLine).sentence
        app.screen.query_one("#step", Input).value = "half"
        await typed(pilot, ("ada", "8"))
        refused = app.situation.problem
        nothing = app.screen.typed.entries
        app.screen.query_one("#step", Input).value = "0,5"
        # Enter leads back to the value that waits, Enter there adds it
        await pilot.press("enter", "enter")
        await typed(pilot, ("ada", "8"))
        await until(pilot, lambda: "ada" in _finding(app))
        found = _finding(app)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: app.screen.book.read_steps_mm == {"ada": 0.5})
        await until(pilot, lambda: app.screen.typed.entries == ())
        stays = _finding(app)
        said = app.screen.query_one(NextLine).sentence

    again = make_app()
    async with again.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await again.run_action("app.open_screen('class_hand')")
        await at_screen(pilot, "By hand")
        offered = again.screen.query_one("#step", Input).value

    kept = HandBook(open_records(records)).readings(
        sensor="level-18", target="steel", part="", figure="operate"
    )
    assert "State once the step" in asked
    assert "State once the step" not in said
    assert refused is not None
    assert "The step is 'half'" in refused.sentence
    assert nothing == ()
    # Two readings alike say nothing of the scatter; the step of 0.5 mm alone has a
    # standard uncertainty of 0.5 mm / sqrt(12) (JCGM 100:2008, F.2.2.1)
    assert "0.5 mm hides the spread" in found
    assert stays == found
    assert [one.step_mm for one in kept] == [0.5, 0.5]
    assert offered == "0,5"


async def test_another_target_leaves_the_trimmer_turned(make_app: MakeApp) -> None:
    app = make_app()
    operate = []

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        for target in ("steel", "pvc", "steel"):
            await app.run_action("app.open_screen('class_settings')")
            await at_screen(pilot, "Setting")
            await _mounted(pilot, target)
            if not operate:
                app.screen.query_one("#more", Button).focus()
                await pilot.press("enter")
                await until(pilot, lambda: app.screen.run_label == TURNED)
            await measured(pilot, 3)
            operate.append(app.situation.run.figures.operate.value)

    first, _, again = operate
    assert first == pytest.approx(again, abs=0.02)


async def _mounted(pilot: Pilot[None], target: str) -> None:
    app = pilot.app
    if app.situation.target.name == target:
        return
    select = app.screen.query_one("#lesson-target", Select)
    select.focus()
    select.value = target
    await until(pilot, lambda: app.situation.target.name == target)
    await idle(pilot)
    await pilot.press("ctrl+g")
    await until(pilot, lambda: app.screen.is_modal)
    await pilot.press("ctrl+g")
    await until(pilot, lambda: app.situation.datum is not None)
    await idle(pilot)


PAGES = ("Predict", "Repeat", "Setting", "By hand", "Materials", "Live")


async def test_page_keys_lead_around_the_lesson(make_app: MakeApp) -> None:
    app = make_app()
    titles = []

    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f9")
        await at_screen(pilot, "Live")
        for title in PAGES:
            await go(pilot, "pagedown", title)
            titles.append(app.screen.query_one(NextLine).sentence)
        await go(pilot, "pageup", PAGES[-2])

    assert all(titles)
