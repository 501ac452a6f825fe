"""A run reads alike on every surface: all of it comes from its one sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from rig.analysis.limits.verdict import GUARDED
from rig.analysis.run.run_figures import run_figures
from rig.cli.text.run_list_text import run_list_text
from rig.cli.text.run_text import shown_text as run_as_text
from rig.inquiry.other_runs import reduction_factor, usable_of_runs
from rig.inquiry.recorded_run import RecordedRun, evaluated_run
from rig.inquiry.run_list import RunRow
from rig.model.attempts import Outcome
from rig.model.bench_declaration import NOTHING_DECLARED, knowledge_of
from rig.model.mounted import Target
from rig.model.sweeps import Run, Timetable
from rig.records import RunCheck, edges_checksum
from rig.records.notes import RunNote
from rig.report.runs_page import run_report
from rig.sheets.figure_rows import figure_groups
from rig.sheets.run_list_sheet import run_lines
from rig.sheets.run_sheet import RunSheet, run_sheet
from rig.tui.technician.run_sections import (
    RunFacts,
    budget_lines,
    figure_lines,
    head_lines,
    note_lines,
    sweep_cells,
    verdict_lines,
)
from rig.tui.widgets.figure_list import list_lines
from rig.version import SOFTWARE_VERSION
from tests.report.conftest import at_one_speed, make_run
from tests.report.page_tree import page_tree
from tests.sheets.surfaces import numbers_in, numbers_of, shown_text

MADE = datetime(2024, 5, 6, 12, 30, tzinfo=UTC)
# Of the page, not of the run: "about 95 % coverage" and the version that wrote it
LAYOUT = {"95", SOFTWARE_VERSION}


def answer(run: Run) -> RecordedRun:
    run_id = run.header.run_id
    checksum = edges_checksum(run)
    check = RunCheck(run_id=run_id, stored=checksum, computed=checksum)
    return evaluated_run(run, run_figures(run), check=check)


def short_term() -> RecordedRun:
    return answer(make_run())


def single_speed() -> RecordedRun:
    return answer(at_one_speed(make_run()))


def single_sweep() -> RecordedRun:
    return answer(make_run(sweeps=1, void_index=None))


def on_pvc() -> RecordedRun:
    run = make_run()
    pvc = Target(name="sheet", material="pvc", thickness_mm=3.0)
    return answer(replace(run, header=replace(run.header, target=pvc)))


def timed(hours: float) -> RecordedRun:
    run = make_run(sweeps=18, void_index=None)
    start = run.header.started_at
    header = replace(run.header, timetable=Timetable(hours=hours, readings=9))
    sweeps = tuple(
        replace(s, ended_at=start + timedelta(hours=hours / 8.0 * (s.index // 2)))
        for s in run.sweeps
    )
    return answer(replace(run, header=header, sweeps=sweeps))


def eight_hours() -> RecordedRun:
    return timed(8.0)


def half_an_hour() -> RecordedRun:
    return timed(0.5)


def beside_others() -> RecordedRun:
    """With a reduction factor, s_u and s_a, and notes."""
    run, figures = make_run(), run_figures(make_run())
    other = make_run(run_id="run-20240506-090000", sweeps=8)
    cold = (other, run_figures(other))
    return evaluated_run(
        run,
        figures,
        notes=(
            RunNote(
                run_id=run.header.run_id,
                entry=0,
                text="the clamp was loose",
                author="A. B.",
                entered_at=MADE,
                withdrawn_at=MADE + timedelta(minutes=5),
            ),
        ),
        factor=reduction_factor((run, figures), cold),
        usable=usable_of_runs((run, figures), {"cold": cold}, rule=GUARDED),
    )


ANSWERS: tuple[Callable[[], RecordedRun], ...] = (
    *(short_term, single_speed, single_sweep, on_pvc),
    *(eight_hours, half_an_hour, beside_others),
)


def tui_text(found: RecordedRun, sheet: RunSheet) -> str:
    facts = RunFacts(found=found, sheet=sheet)
    parts = (head_lines, figure_lines, verdict_lines, budget_lines, note_lines)
    cells = [" ".join(row) for row in sweep_cells(facts)]
    return "\n".join([*(part(facts).plain for part in parts), *cells])


def live_list(found: RecordedRun) -> str:
    assert found.figures is not None
    lines = list_lines(found.figures, found.run.header.timetable)
    return "\n".join(line.plain for line in lines)


@pytest.mark.parametrize("make", ANSWERS)
def test_every_number_on_any_surface_is_one_of_the_sheet(
    make: Callable[[], RecordedRun],
) -> None:
    found = make()
    sheet = run_sheet(found)
    known = numbers_of(sheet)

    text = numbers_in(run_as_text(sheet))
    page = numbers_in(shown_text(run_report([found], title="t", generated_at=MADE)))
    screen = numbers_in(tui_text(found, sheet))
    live = numbers_in(live_list(found))

    assert text <= known
    assert page <= known | LAYOUT
    assert screen <= known
    assert live <= known
    assert min(map(len, (text, page, screen))) > 20
    assert len(live) > 5


@pytest.mark.long
@pytest.mark.parametrize("make", ANSWERS)
def test_every_figure_stands_on_every_surface_under_one_name(
    make: Callable[[], RecordedRun],
) -> None:
    found = make()
    sheet = run_sheet(found)
    rows = [row for group in sheet.figure_groups for row in group.rows]
    text = [" ".join(line.split()) for line in run_as_text(sheet).splitlines()]
    screen = [" ".join(line.split()) for line in tui_text(found, sheet).splitlines()]
    table = page_tree(run_report([found], title="t", generated_at=MADE)).one(
        "table", class_="figures"
    )
    heads = [" ".join(head.text.split()) for head in table.all("th", scope="row")]

    for row in rows:
        words = f"none: {row.why_missing}" if row.text is None else str(row.text)
        assert f"{row.kind.name} {words}" in text
        assert f"{row.name} {words}" in screen
        assert any(head.startswith(f"{row.name} – {row.meaning}") for head in heads)
    assert len(heads) == len(rows)


@pytest.mark.long
@pytest.mark.parametrize("make", ANSWERS)
def test_every_figure_with_a_plus_minus_has_its_budget_on_every_surface(
    make: Callable[[], RecordedRun],
) -> None:
    found = make()
    sheet = run_sheet(found)
    known = [
        row.kind.name
        for group in sheet.figure_groups
        for row in group.rows
        if row.text is not None and not row.text.why_none
    ]
    known += ["reduction factor"] if found.factor is not None else []
    text = run_as_text(sheet)
    page = shown_text(run_report([found], title="t", generated_at=MADE))
    screen = tui_text(found, sheet)

    named = [budget.figure_name for budget in sheet.budgets]
    assert len(named) == len(set(named))
    assert set(known) <= set(named)
    for budget in sheet.budgets:
        name, whole = budget.figure_name, f"{budget.figure_name}: {budget.text}"
        assert f"budget: {name} " in text
        assert whole in text
        assert whole in screen
        assert f"Budget of the {name} " in " ".join(page.split())
        assert all(budget.combined in surface for surface in (text, page, screen))
    for surface in (text, page, screen):
        assert sheet.not_included in " ".join(surface.split())
    if found.factor is not None:
        assert "repeatability, reference plate" in text


@pytest.mark.parametrize("make", ANSWERS)
def test_every_verdict_stands_on_every_surface_with_sign_name_and_n(
    make: Callable[[], RecordedRun],
) -> None:
    found = make()
    sheet = run_sheet(found)
    text = " ".join(run_as_text(sheet).split())
    screen = " ".join(tui_text(found, sheet).split())
    page = shown_text(run_report([found], title="t", generated_at=MADE))
    page = " ".join(page.split())

    for row in sheet.verdicts.rows:
        name = f"{row.symbol} {row.name}".strip()
        assert f"{name} {row.text} {row.sign} {row.decision}" in text
        assert f"{row.sign} {row.decision.upper()} {name} {row.text}" in screen
        assert f"{name} {row.text.brief.removesuffix(' (no ±)')}" in page
        assert f"n = {row.text.n}" in str(row.text)
        assert f"{row.sign} {row.decision}" in page
    for sentence in sheet.verdicts.statements:
        assert all(sentence in surface for surface in (text, screen, page))
    assert text.count(" conforms") >= sum(
        row.decision == "conforms" for row in sheet.verdicts.rows
    )


@pytest.mark.parametrize(
    ("make", "name"),
    [
        (short_term, "repeat accuracy, short term (not the 8 h test)"),
        (eight_hours, "repeat accuracy, 8 h test"),
        (half_an_hour, "repeat accuracy, timetable (not the 8 h test)"),
    ],
)
def test_the_verdict_on_r_says_which_repeat_accuracy_it_is(
    make: Callable[[], RecordedRun], name: str
) -> None:
    rows = {row.symbol: row for row in run_sheet(make()).verdicts.rows}

    assert rows["R"].name == name


def test_points_of_a_sweep_are_rounded_once() -> None:
    """A gap of 4.00125 mm is a tie that binary and decimal numbers take differently."""
    run = make_run()
    conditions = run.header.conditions
    datum = replace(conditions.datum, position_steps=20000.5)
    header = replace(run.header, conditions=replace(conditions, datum=datum))
    found = answer(replace(run, header=header))
    sheet = run_sheet(found)
    shown = {row.number: row.operate_delayed for row in sheet.sweeps}
    text = [line.split() for line in run_as_text(sheet).splitlines()]
    page = page_tree(run_report([found], title="t", generated_at=MADE))
    cells = [
        [cell.text for cell in row.all("th", "td")]
        for row in page.one("table", class_="sweeps").all("tr")
    ]
    screen = sweep_cells(RunFacts(found=found, sheet=sheet))

    assert any(
        f"{one.operate_delayed_mm:.4f}" != shown[str(one.number)]
        for one in found.readings
    )
    for number, gap in shown.items():
        assert [row[2] for row in text if row[:1] == [number] and len(row) > 2] == [gap]
        assert [row[2] for row in cells if row[:1] == [number]] == [gap]
        assert [row[2] for row in screen if row[0] == number] == [gap]


def test_a_list_of_runs_reads_as_its_sheet() -> None:
    found = short_term()
    figures = found.figures
    assert figures is not None
    header = found.run.header
    assert found.standard is not None
    row = RunRow(
        run_id=header.run_id,
        simulated=True,
        sensor=header.sensor.name,
        product=None,
        product_version=None,
        part="17",
        target=header.target.name,
        operator="Ada Lane",
        started_at=header.started_at,
        ended_at=None,
        temperature_c=23.4,
        calibration=found.calibration,
        sweeps_wanted=10,
        good_sweeps=9,
        void_sweeps=1,
        void=None,
        plan_id=None,
        operate_mm=figures.operate,
        release_mm=figures.release,
        differential_travel_mm=figures.differential_travel,
        verdict=found.verdict,
        verdicts={
            symbol: one.decision for symbol, one in found.standard.verdicts.items()
        },
        outcome=Outcome.STOPPED,
        result="stopped by hand",
        outcome_sentence="stopped on request",
        outcome_causes=None,
    )
    (line,) = run_lines([row])
    text = run_list_text([line])
    main = figure_groups(figures, None)[0].rows

    assert [line.operate, line.release, line.travel] == [
        shown.text.cell for shown in main[:3] if shown.text is not None
    ]
    assert line.verdicts.count("s_r") == line.verdicts.count("R") == 1
    told = (line.operator, line.temperature, line.calibration, line.verdict)
    assert told[:2] == ("Ada Lane", "23.4")
    for words in told:
        assert words in text
    for words in (line.operate, line.travel, line.verdicts, line.part, line.state):
        assert words in text


def test_a_sensitivity_has_the_unit_that_turns_its_line_into_the_figure() -> None:
    """A linear error in mm/mm is a number; times a way in mm it is one of the gap."""
    undeclared = knowledge_of(NOTHING_DECLARED, touch_speed_mm_s=0.25)
    run = make_run()
    conditions = replace(run.header.conditions, bench=undeclared)
    run = replace(run, header=replace(run.header, conditions=conditions))
    budgets = {one.figure_name: one for one in run_sheet(answer(run)).budgets}

    for figure, unit in (("operate point", "mm"), ("differential travel", "mm")):
        (linear,) = (
            row for row in budgets[figure].rows if row.name.startswith("linear error")
        )
        assert linear.standard_uncertainty.endswith(" mm/mm")
        assert linear.sensitivity.endswith(f" {unit}")
    (probe,) = (
        row
        for row in budgets["differential travel, share"].rows
        if row.name.startswith("touch probe, delay")
    )
    assert probe.sensitivity.endswith(" %/mm")
