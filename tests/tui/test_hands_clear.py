"""That whoever is told which motions a key begins is told to keep hands clear too."""

from __future__ import annotations

from dataclasses import replace

import pytest
from textual.pilot import Pilot

from rig.procedures.motions_ahead import in_brief, run_ahead
from rig.tui.instructor.class_materials_screen import ClassMaterialsScreen
from rig.tui.instructor.class_predict_screen import ClassPredictScreen
from rig.tui.instructor.class_repeat_screen import ClassRepeatScreen
from rig.tui.instructor.class_settings_screen import ClassSettingsScreen
from rig.tui.instructor.lesson_screen import LessonScreen
from rig.tui.widgets.next_line import NextLine
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.scenes import SCENES
from tests.tui.situations import CHECKED, STOPPED


async def _whole(pilot: Pilot[None]) -> str:
    """Return the line as soon as it is laid out; it must be in view as a whole."""
    line = pilot.app.screen.query_one(NextLine)
    await until(
        pilot, lambda: len(line.sentence) + 7 <= line.size.width * line.size.height
    )
    return line.sentence


@pytest.mark.long
async def test_a_run_that_is_resumed_is_begun_with_hands_clear(still: MakeApp) -> None:
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        app.situation = replace(STOPPED, datum=CHECKED.datum, problem=None)
        await pilot.press("f4")
        await at_screen(pilot, "Sweeps")

        told = await _whole(pilot)
        assert "resumes, hands clear" in told
        assert in_brief(run_ahead()) in told


async def test_a_sentence_that_is_longer_than_the_one_before_is_in_view_as_a_whole(
    still: MakeApp,
) -> None:
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        line = app.screen.query_one(NextLine)
        line.sentence = "Nothing is due."
        await until(pilot, lambda: line.size.height == 1)

        line.sentence = f"Ctrl+G, hands clear: {in_brief(run_ahead())}." * 2

        await until(pilot, lambda: line.size.height == 2)


@pytest.mark.parametrize(
    "screen",
    [ClassMaterialsScreen, ClassPredictScreen, ClassRepeatScreen, ClassSettingsScreen],
)
def test_a_lesson_begins_its_motions_with_hands_clear(
    screen: type[LessonScreen], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Nothing was measured of what is mounted
    monkeypatch.setattr(screen, "_measured", lambda *_: None, raising=False)
    monkeypatch.setattr(screen, "_on_record", lambda *_: None, raising=False)

    told = screen().next_in_step(CHECKED)

    assert f"hands clear: {in_brief(run_ahead())}" in told


@pytest.mark.long
async def test_the_caution_of_a_lesson_is_in_view_as_a_whole(
    still: MakeApp, records: str
) -> None:
    SCENES["class_materials"].prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES["class_materials"].open(pilot)

        assert "hands clear" in await _whole(pilot)
