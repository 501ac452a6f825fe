"""That a dialog leaves in view how the rig stands and how the axis is stopped."""

from __future__ import annotations

import pytest
from textual.screen import ModalScreen

from tests.tui.conftest import MakeApp
from tests.tui.first_of_scenes import first_of
from tests.tui.pending import settled
from tests.tui.scenes import SCENES
from tests.tui.screen_text import screen_picture
from tests.tui.situations import LOST, STANDING

pytestmark = pytest.mark.long

_STATUS_ROWS = 3
_DIALOGS = (
    *("mount", "note", "certificate", "details", "leave", "by_sight", "decide_lot"),
    *("declaration_number", "declaration_file", "dead_pair", "mount_for_study"),
    *("new_calibration", "reading", "consent"),
)


@pytest.mark.parametrize("name", first_of(_DIALOGS))
async def test_a_dialog_covers_no_row_of_the_status(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES[name].open(pilot)
        await settled(pilot)
        assert isinstance(app.screen, ModalScreen)
        dialog = app.screen.children[0].region

    assert (dialog.y >= _STATUS_ROWS, dialog.bottom <= 24) == (True, True), dialog


@pytest.mark.parametrize("name", ["consent", "leave"])
async def test_the_status_beneath_a_dialog_is_that_of_now(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES[name].open(pilot)
        await settled(pilot)
        app.reading = STANDING
        app.situation = LOST
        await settled(pilot)
        text = "\n".join(screen_picture(app).lines)
        assert isinstance(app.screen, ModalScreen)

    assert "link ✗ lost" in text
    assert "link ● live" not in text
