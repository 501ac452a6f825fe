"""Calibrations of two rigs: one holds, one is past its day."""

from __future__ import annotations

from datetime import timedelta

from textual.pilot import Pilot

from rig.inquiry.axis_calibration import CalibrationOrder, add_calibration
from rig.records import open_records
from rig.records.calibrations import AxisReading
from rig.tui.technician.calibration_form import CalibrationForm
from rig.tui.widgets.fitting_table import FittingTable
from tests.tui.conftest import NOW, at_screen, until
from tests.tui.scenes.scene import Open, Scene, situate
from tests.tui.situations import CHECKED, READY

_PLACES_MM = (0.0, 10.5, 21.0, 30.25, 36.0)


def readings(*, each_way: int = 5) -> list[AxisReading]:
    """Return invented readings: too long by 1 um/mm, with a reversal of 20 um."""
    return [
        AxisReading(
            target_mm=place,
            direction=way,
            deviation_mm=0.001 * place - 0.02 * (way == "down") + 0.0002 * (k % 3),
        )
        for k in range(each_way)
        for way in ("up", "down")
        for place in _PLACES_MM
    ]


def calibrations_on_record(records: str) -> None:
    """Put one on record that holds, for the rig that is connected, and a stale one."""
    with open_records(records) as store:
        for rig_id, days, each_way in (("bench-2", 400, 3), ("sim-7", 20, 5)):
            made = NOW - timedelta(days=days)
            order = CalibrationOrder(
                rig_id=rig_id,
                certificate=f"AX-{days}",
                calibrated_on=made.date(),
                due_on=(made + timedelta(days=365)).date(),
                instrument_uncertainty_mm=0.0006,
            )
            add_calibration(store, readings(each_way=each_way), order, made)


async def _at_calibration(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('calibration')")
    await at_screen(pilot, "Calibration")
    table = pilot.app.screen.query_one("#Rigs", FittingTable)
    await until(pilot, lambda: table.row_count == 2)


async def _none(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('calibration')")
    await at_screen(pilot, "Calibration")
    head = pilot.app.screen.query_one("#page-head")
    await until(pilot, lambda: "No axis" in str(head.render()))


def _section(number: int) -> Open:
    async def open_section(pilot: Pilot[None]) -> None:
        await _at_calibration(pilot)
        await pilot.press(str(number))

    return open_section


async def _stale(pilot: Pilot[None]) -> None:
    await _at_calibration(pilot)
    head = pilot.app.screen.query_one("#page-head")
    await pilot.press("up")
    await until(pilot, lambda: "bench-2" in str(head.render()))
    await pilot.press("3")


async def _at_form(pilot: Pilot[None]) -> None:
    await _at_calibration(pilot)
    await pilot.press("n")
    await until(pilot, lambda: isinstance(pilot.app.screen, CalibrationForm))


def _scene(open: Open) -> Scene:
    return Scene(open=open, prepare=calibrations_on_record)


SCENES = {
    "calibration": _scene(_at_calibration),
    "calibration_none": Scene(open=_none),
    "calibration_table": _scene(_section(2)),
    "calibration_test": _scene(_section(3)),
    "calibration_picture": _scene(_section(4)),
    "calibration_stale": _scene(_stale),
    "new_calibration": _scene(_at_form),
}
