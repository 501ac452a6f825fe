"""Studies, batches and calibrations by keys alone: from the start to the report."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from rig.records import Reader, open_records
from rig.records.calibrations import CalibrationBook
from rig.records.studies import StudyBook
from rig.tui.app.app import GapsweepApp
from rig.tui.frame.record_question import RecordQuestion
from rig.tui.technician.batch_result_screen import BatchResultScreen
from rig.tui.technician.calibration_form import CalibrationForm
from rig.tui.technician.reading_form import ReadingForm
from rig.tui.technician.study_prompt import StudyPrompt
from rig.tui.technician.study_result_screen import StudyResultScreen
from rig.tui.widgets.fitting_table import FittingTable
from tests.tui.conftest import MakeApp, at_screen, idle, to_bench, until
from tests.tui.scenes.batch import parts_on_record
from tests.tui.scenes.calibration import readings
from tests.tui.scenes.study import studies_on_record

pytestmark = pytest.mark.long


def _app(pilot: Pilot[None]) -> GapsweepApp:
    app = pilot.app
    assert isinstance(app, GapsweepApp)
    return app


async def _go_to(pilot: Pilot[None], title: str) -> None:
    """Choose a screen in the list of screens."""
    await pilot.press("f5")
    await at_screen(pilot, "Screens")
    while title not in _marked(pilot):
        await pilot.press("down")
    await pilot.press("enter")
    await at_screen(pilot, title)


def _marked(pilot: Pilot[None]) -> str:
    listed = pilot.app.screen.query_one("#screens")
    return str(listed.get_option_at_index(listed.highlighted or 0).prompt)


def _said(pilot: Pilot[None], selector: str) -> str:
    found = pilot.app.screen.query(selector)
    return str(found.first(Static).render()) if found else ""


async def _is(pilot: Pilot[None], kind: type[object]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, kind))


def _report(app: GapsweepApp, pattern: str) -> list[Path]:
    return list((app.folder / "reports").glob(pattern))


async def test_a_batch_from_the_list_of_screens_to_its_report(
    make_app: MakeApp, records: str
) -> None:
    parts_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = _app(pilot)
        await at_screen(pilot, "Rig")
        await _go_to(pilot, "Batch")
        await until(pilot, lambda: "8 runs on record" in _said(pilot, "#batch-found"))
        await pilot.press("enter")
        await _is(pilot, BatchResultScreen)
        head = _said(pilot, "#page-head")
        table = app.screen.query_one(FittingTable)
        columns = [str(column.label) for column in table.columns.values()]
        cut = [table.border_subtitle]
        await pilot.resize_terminal(70, 24)
        await until(pilot, lambda: bool(table.border_subtitle))
        cut.append(table.border_subtitle)
        await pilot.resize_terminal(80, 24)
        await pilot.press("ctrl+o")
        await until(pilot, lambda: bool(_report(app, "batch-level-18-operate-*.html")))
        await pilot.press("escape")
        await at_screen(pilot, "Batch")
        await pilot.press("shift+tab")  # the list of plans comes last, the button next
        app.screen.query_one("#batch-ticks").focus()
        await pilot.press("down", "space", "down", "space", "w")
        await _is(pilot, BatchResultScreen)
        compared = _said(pilot, "#text-Compared")
        await pilot.press("v")
        second = _said(pilot, "#page-head")

    assert "n = 8 parts.  SIMULATED" in head
    assert columns == ["No.", "part", "value mm", "U mm (95 %)", "verdict", "run"]
    assert cut == ["", "no room here for: run"]
    assert "if they were equal, a difference this large or larger" in compared
    assert "batch 2 of 2" in second
    (path,) = _report(app, "*.html")
    page = path.read_text("utf-8")
    assert "SIMULATED" in page
    with open_records(records) as store:
        assert all(run.run_id in page for run in Reader(store).runs())


async def test_what_makes_no_batch_is_said_and_nothing_is_lost(
    make_app: MakeApp, records: str
) -> None:
    parts_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = _app(pilot)
        await at_screen(pilot, "Rig")
        await _go_to(pilot, "Batch")
        await until(pilot, lambda: "8 runs on record" in _said(pilot, "#batch-found"))
        app.screen.query_one("#batch-content", Input).value = "95"
        await pilot.press("w")
        content = app.situation.problem.sentence
        app.screen.query_one("#batch-content", Input).value = "0.9"
        app.screen.query_one("#batch-subgroup", Input).value = "x"
        await pilot.press("w")
        subgroup = app.situation.problem.sentence
        app.screen.query_one("#batch-subgroup", Input).value = ""
        await pilot.press("w")
        await _is(pilot, BatchResultScreen)
        problem = app.situation.problem
        figures = _said(pilot, "#text-Figures")

    assert "Content is '95': give a share above 0 and below 1" in content
    assert "Subgroup is 'x': give a whole number from 2 to 25" in subgroup
    assert problem is None
    assert "holds 90 % of such parts" in figures


async def test_a_study_is_laid_out_typed_in_measured_and_reported(
    make_app: MakeApp, records: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = _app(pilot)
        await to_bench(pilot)
        await _go_to(pilot, "Studies")
        await pilot.press("n")
        await at_screen(pilot, "New study")
        await pilot.press(*"1,2", "enter", *"Kim,Lee", "enter", "backspace", "2")
        await pilot.press("enter", "enter", "enter")
        assert not _studies(records)
        await pilot.press("ctrl+r")
        await _is(pilot, RecordQuestion)
        asked = _said(pilot, "#record-words")
        await pilot.press("enter")  # the safe answer has the focus
        await at_screen(pilot, "New study")
        assert not _studies(records)
        await pilot.press("ctrl+r")
        await _is(pilot, RecordQuestion)
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Study")
        table = app.screen.query_one(FittingTable)
        await until(pilot, lambda: table.row_count == 8)
        await _type_one(pilot)
        await _measure_one(pilot)
        (study,) = _studies(records)
        done = _readings(records, study.study_id)

    assert "2 parts: 1, 2." in asked
    assert "8 readings of the operate point" in asked
    assert (done[1].value, done[1].run_id, done[1].simulated) == (7.95, "", False)
    assert done[2].simulated
    with open_records(records) as store:
        (run,) = Reader(store).runs()
        conditions = Reader(store).run(run.run_id).header.conditions
    assert (run.run_id, run.part) == (done[2].run_id, study.rows[1].part)
    assert run.good_sweeps == 4
    assert conditions.operator == study.rows[1].appraiser
    assert set(done) == {1, 2}


async def _type_one(pilot: Pilot[None]) -> None:
    """Type the reading of the first row; the form for the next one opens by itself."""
    await pilot.press("enter")
    await _is(pilot, ReadingForm)
    await pilot.press("ctrl+s")
    assert "Type the reading in mm first" in _said(pilot, "#form-caption")
    await pilot.press(*"7,95", "enter")
    await _is(pilot, ReadingForm)  # Enter keeps nothing
    await pilot.press("ctrl+s")
    await until(
        pilot,
        lambda: (
            isinstance(pilot.app.screen, ReadingForm)
            and "Row 2" in _said(pilot, "#question-title")
        ),
    )
    await pilot.press("escape")
    await at_screen(pilot, "Study")


async def _measure_one(pilot: Pilot[None]) -> None:
    """Measure the second row; the third one is asked for and refused."""
    await pilot.press("ctrl+g")
    await _is(pilot, StudyPrompt)
    prompt = pilot.app.screen
    part = prompt.query_one("#row-part", Input)
    due = part.value
    part.value = "another"
    prompt.query_one("#row-sweeps", Input).value = "4"
    await pilot.press("ctrl+g")
    assert f"Part {due} is due here, not ANOTHER" in _said(pilot, "#row-caption")
    part.value = due
    await pilot.press("ctrl+g")
    await until(
        pilot,
        lambda: (
            isinstance(pilot.app.screen, StudyPrompt)
            and "row 3" in _said(pilot, "#question-title")
        ),
    )
    await pilot.press("escape")
    await idle(pilot)


def _studies(records: str) -> list[object]:
    with open_records(records) as store:
        return StudyBook(store).all_studies()


def _readings(records: str, study_id: str) -> dict[int, object]:
    with open_records(records) as store:
        return StudyBook(store).readings(study_id)


async def test_a_study_that_is_complete_is_worked_out_and_reported(
    make_app: MakeApp, records: str
) -> None:
    studies_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = _app(pilot)
        await at_screen(pilot, "Rig")
        await _go_to(pilot, "Studies")
        table = app.screen.query_one(FittingTable)
        await until(pilot, lambda: table.row_count == 2)
        await pilot.press("enter")
        await at_screen(pilot, "Study")
        await until(pilot, lambda: "10 are due" in _said(pilot, "#study-head"))
        await pilot.press("w")
        refused = app.situation.problem.sentence
        await pilot.press("escape", "down", "enter")
        await at_screen(pilot, "Study")
        await until(pilot, lambda: "All 12" in _said(pilot, "#study-head"))
        assert app.situation.problem is None
        await pilot.press("w")
        await _is(pilot, StudyResultScreen)
        components = _said(pilot, "#text-Components")
        await pilot.press("ctrl+o")
        pattern = "study-Bench-2-spring-*.html"
        await until(pilot, lambda: bool(_report(app, pattern)))

    assert "10 rows have no reading yet" in refused
    for words in ("Repeatability", "Reproducibility", "Distinct categories"):
        assert words in components


async def test_a_calibration_is_added_from_a_file_and_is_in_force_at_once(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    table = tmp_path / "axis.csv"
    lines = [f"{r.target_mm},{r.direction},{r.deviation_mm}" for r in readings()]
    table.write_text("\n".join(["target_mm,direction,deviation_mm", *lines]))
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = _app(pilot)
        await to_bench(pilot)
        rig_id = app.situation.traits.rig_id
        await _go_to(pilot, "Calibration")
        await until(pilot, lambda: "No axis" in _said(pilot, "#page-head"))
        await pilot.press("n")
        await _is(pilot, CalibrationForm)
        form = app.screen
        offered = form.query_one("#calibration-rig", Input).value
        await pilot.press("ctrl+s")
        empty = _said(pilot, "#form-caption")
        given = {
            "path": str(table),
            "certificate": "AX-7",
            "made": "20.11.2026",
            "due": "2099-11-20",
            "instrument": "0,6",
            "reason": "due again",
        }
        for name, text in given.items():
            form.query_one(f"#calibration-{name}", Input).value = text
        await pilot.press("ctrl+s")
        no_day = _said(pilot, "#form-caption")
        await pilot.press("enter", "y")
        assert app.screen is form
        # The letter stands in whichever field had the focus
        right = given | {"rig": rig_id, "made": "2026-11-20"}
        for name, text in right.items():
            form.query_one(f"#calibration-{name}", Input).value = text
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "AX-7" in _said(pilot, "#page-head"))
        test = _said(pilot, "#text-Axis-test")
        await until(pilot, lambda: app.situation.calibration is not None)
        known = app.situation.calibration

    assert offered == rig_id
    assert "File with readings is empty" in empty
    assert "Made on is '20.11.2026': give a day as year-month-day" in no_day
    assert "n = 5 runs each way" in test
    assert (known.rig_id, known.certificate) == (rig_id, "AX-7")
    with open_records(records) as store:
        (entry,) = CalibrationBook(store).every(rig_id)
    assert entry.calibration.certificate == "AX-7"
    assert entry.instrument_uncertainty_mm == 0.0006


async def test_the_runs_that_the_filter_shows_are_reported_together(
    make_app: MakeApp, records: str
) -> None:
    parts_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = _app(pilot)
        await at_screen(pilot, "Rig")
        await pilot.press("f7")
        await at_screen(pilot, "Runs")
        await until(pilot, lambda: "8 of 8 runs" in _said(pilot, "#runs-count"))
        await pilot.press("slash", *"a1", "enter")
        await until(pilot, lambda: "1 of 8 runs" in _said(pilot, "#runs-count"))
        await pilot.press("ctrl+o")
        await until(pilot, lambda: bool(_report(app, "run-level-18-A1-steel-*.html")))
        await pilot.press("slash", "backspace", "backspace", "enter")
        await until(pilot, lambda: "8 of 8 runs" in _said(pilot, "#runs-count"))
        await pilot.press("ctrl+o")
        await until(pilot, lambda: bool(_report(app, "8-runs-level-18-*.html")))
