"""That no line of text ends in dots within a number."""

from __future__ import annotations

from dataclasses import replace

import pytest
from textual.widgets import DataTable, Static

from tests.tui.conftest import MakeApp
from tests.tui.first_of_scenes import first_of
from tests.tui.pending import settled
from tests.tui.scenes import SCENES

pytestmark = pytest.mark.long

_SIZES = ((80, 24), (120, 40), (200, 60))


@pytest.mark.parametrize(
    "name", first_of(["plan", "sweeps_ended", "class_live", "home"])
)
async def test_what_is_cut_off_with_dots_has_no_number_there(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    cut = []
    async with app.run_test(size=_SIZES[0]) as pilot:
        await SCENES[name].open(pilot)
        told = replace(app.particulars, operator="Kim Park-Lindqvist of bay 3")
        app.particulars = replace(told, temperature_c=21.5, note="after the move")
        for size in _SIZES:
            await pilot.resize_terminal(*size)
            for table in app.screen.query(DataTable):
                table.move_cursor(row=0)
            await settled(pilot)
            for static in app.screen.query(Static):
                if static.styles.text_overflow == "ellipsis" and static.display:
                    cut += _hidden(static)

    assert [words for words in cut if any(map(str.isdigit, words))] == []


def _hidden(static: Static) -> list[str]:
    """Return what does not find room in each line, the word that is cut included."""
    room = static.content_size.width
    lines = str(static.render()).splitlines()
    longer = [line for line in lines if len(line) > room]
    return [line[line.rfind(" ", 0, room) + 1 :] for line in longer]
