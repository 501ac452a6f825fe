"""Studies of a gauge: the form, and what the readings of a study come to."""

from __future__ import annotations

from textual.pilot import Pilot

from rig.tui.technician.gauge_result_screen import GaugeResultScreen
from rig.tui.widgets.fitting_table import FittingTable
from tests.tui.conftest import at_screen, until
from tests.tui.scenes.scene import Open, Scene, situate
from tests.tui.scenes.study import studies_on_record
from tests.tui.situations import CHECKED, READY


async def _at_studies(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('study')")
    await at_screen(pilot, "Studies")
    table = pilot.app.screen.query_one(FittingTable)
    await until(pilot, lambda: table.row_count == 2)


async def _at_form(pilot: Pilot[None]) -> None:
    await _at_studies(pilot)
    await pilot.press("g")
    await at_screen(pilot, "Gauge study")


async def _worked_out(pilot: Pilot[None]) -> None:
    await _at_studies(pilot)
    await pilot.press("down", "enter")
    await at_screen(pilot, "Study")
    table = pilot.app.screen.query_one(FittingTable)
    await until(pilot, lambda: table.row_count == 12)
    await pilot.press("c")
    await until(pilot, lambda: isinstance(pilot.app.screen, GaugeResultScreen))


async def _tables(pilot: Pilot[None]) -> None:
    await _worked_out(pilot)
    await pilot.press("2")


async def _picture(pilot: Pilot[None]) -> None:
    await _worked_out(pilot)
    await pilot.press("3")


def _scene(open: Open) -> Scene:
    return Scene(open=open, prepare=studies_on_record)


SCENES = {
    "gauge_form": _scene(_at_form),
    "gauge_figures": _scene(_worked_out),
    "gauge_tables": _scene(_tables),
    "gauge_picture": _scene(_picture),
}
