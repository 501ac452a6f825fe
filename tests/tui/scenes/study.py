"""Studies: one that is complete, one that has just begun."""

from __future__ import annotations

from datetime import datetime, timedelta

from textual.pilot import Pilot

from rig.analysis.study.study_layout import layout_rows
from rig.records import open_records
from rig.records.studies import StudyBook, StudyEntry, StudyReading, StudyRow
from rig.tui.frame.record_question import RecordQuestion
from rig.tui.technician.reading_form import ReadingForm
from rig.tui.technician.study_prompt import StudyPrompt
from rig.tui.technician.study_result_screen import StudyResultScreen
from rig.tui.widgets.fitting_table import FittingTable
from tests.tui.conftest import NOW, at_screen, until
from tests.tui.scenes.scene import Open, Scene, situate
from tests.tui.situations import CHECKED, READY

_PARTS = ("P1", "P2", "P3")
_LEVELS_MM = {"P1": 7.91, "P2": 8.02, "P3": 8.11}
_OFFSETS_MM = {"Kim": 0.001, "Lee": -0.001}


def studies_on_record(records: str) -> None:
    """Put a complete study on record, and a later one with two readings."""
    with open_records(records) as store:
        _put(store, "Bench 2, spring", NOW - timedelta(days=40), count=12)
        _put(store, "Bench 2, autumn", NOW - timedelta(hours=3), count=2)


def _put(store: object, title: str, begun_at: datetime, *, count: int) -> None:
    laid_out = layout_rows(_PARTS, tuple(_OFFSETS_MM), 2, seed=1)
    rows = tuple(
        StudyRow(order=r.order, trial=r.trial, appraiser=r.appraiser, part=r.part)
        for r in laid_out
    )
    entry = StudyEntry(
        study_id=f"{begun_at:%Y%m%d-%H%M%S}-000-0001",
        title=title,
        figure="operate",
        unit="mm",
        seed=1,
        rows=rows,
        begun_at=begun_at,
    )
    book = StudyBook(store)
    book.begin(entry)
    book.add_readings(
        entry.study_id,
        [
            StudyReading(
                order=row.order,
                value=_LEVELS_MM[row.part]
                + _OFFSETS_MM[row.appraiser]
                + 0.002 * ((row.order * 7) % 5 - 2),
                unit="mm",
                run_id="",
                simulated=False,
                entered_at=begun_at + timedelta(minutes=row.order),
            )
            for row in rows[:count]
        ],
    )


async def _at_studies(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('study')")
    await at_screen(pilot, "Studies")
    table = pilot.app.screen.query_one(FittingTable)
    await until(pilot, lambda: table.row_count == 2)


async def _no_study(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('study')")
    await at_screen(pilot, "Studies")


async def _at_form(pilot: Pilot[None]) -> None:
    await _at_studies(pilot)
    await pilot.press("n")
    await at_screen(pilot, "New study")
    await pilot.press(*"1,2,3", "enter", *"Kim,Lee")


async def _asked_to_lay_out(pilot: Pilot[None]) -> None:
    await _at_form(pilot)
    await pilot.press("ctrl+r")
    await until(pilot, lambda: isinstance(pilot.app.screen, RecordQuestion))


async def _at_rows(pilot: Pilot[None]) -> None:
    await _at_studies(pilot)
    await pilot.press("enter")
    await at_screen(pilot, "Study")
    table = pilot.app.screen.query_one(FittingTable)
    await until(pilot, lambda: table.row_count == 12)


async def _typing(pilot: Pilot[None]) -> None:
    await _at_rows(pilot)
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, ReadingForm))


async def _asked_to_mount(pilot: Pilot[None]) -> None:
    await _at_rows(pilot)
    await pilot.press("ctrl+g")
    await until(pilot, lambda: isinstance(pilot.app.screen, StudyPrompt))


async def _worked_out(pilot: Pilot[None]) -> None:
    await _at_studies(pilot)
    await pilot.press("down", "enter")
    await at_screen(pilot, "Study")
    table = pilot.app.screen.query_one(FittingTable)
    await until(pilot, lambda: table.row_count == 12)
    await pilot.press("w")
    await until(pilot, lambda: isinstance(pilot.app.screen, StudyResultScreen))


async def _variance(pilot: Pilot[None]) -> None:
    await _worked_out(pilot)
    await pilot.press("2")


def _scene(open: Open) -> Scene:
    return Scene(open=open, prepare=studies_on_record)


SCENES = {
    "studies": _scene(_at_studies),
    "studies_empty": Scene(open=_no_study),
    "new_study": _scene(_at_form),
    "lay_out_study": _scene(_asked_to_lay_out),
    "study_rows": _scene(_at_rows),
    "reading": _scene(_typing),
    "mount_for_study": _scene(_asked_to_mount),
    "study_figures": _scene(_worked_out),
    "study_variance": _scene(_variance),
}
