"""The lesson: what was measured and written down in it is on record."""

from __future__ import annotations

import functools
import tempfile
from dataclasses import replace
from pathlib import Path

from textual.pilot import Pilot

from rig.records import open_records
from rig.tui.rig.rig_events import Reading
from rig.tui.state.situation import Situation
from rig.tui.widgets.fitting_table import FittingTable
from tests.tui.conftest import at_screen, until
from tests.tui.lessons import teach, write_down
from tests.tui.scenes.scene import Scene, situate
from tests.tui.situations import ENDED, MOVING, READY, SWEEPING

AT_EDGE = replace(MOVING, edges=9, edge_gap_mm=7.998)


@functools.cache
def _taught() -> bytes:
    """Return the records of a lesson; teaching it takes a while."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "records.sqlite"
        with open_records(path) as store:
            teach(store)
            write_down(store)
        return path.read_bytes()


def lesson_on_record(records: str) -> None:
    """Put the lesson on record."""
    Path(records).write_bytes(_taught())


def _at(name: str, title: str, situation: Situation, reading: Reading) -> Scene:
    async def open(pilot: Pilot[None]) -> None:
        await situate(pilot, situation, reading)
        await pilot.app.run_action(f"app.open_screen('{name}')")
        await at_screen(pilot, title)
        screen = pilot.app.screen
        await until(pilot, lambda: screen.book.before is not None)
        screen.set_focus(None)

    return Scene(open=open, prepare=lesson_on_record)


async def _at_class_table(pilot: Pilot[None]) -> None:
    await situate(pilot, ENDED, READY)
    await pilot.app.run_action("app.open_screen('class_table')")
    await at_screen(pilot, "Class table")
    table = pilot.app.screen.query_one(FittingTable)
    await until(pilot, lambda: table.row_count > 0)


SCENES = {
    "class_live": _at("class_live", "Live", SWEEPING, AT_EDGE),
    "class_predict": _at("class_predict", "Predict", ENDED, READY),
    "class_repeat": _at("class_repeat", "Repeat", SWEEPING, MOVING),
    "class_settings": _at("class_settings", "Setting", ENDED, READY),
    "class_hand": _at("class_hand", "By hand", ENDED, READY),
    "class_materials": _at("class_materials", "Materials", ENDED, READY),
    "class_table": Scene(open=_at_class_table, prepare=lesson_on_record),
}
