from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import timedelta, timezone
from pathlib import Path

import pytest

from rig.analysis.run.run_figures import run_figures
from rig.inquiry.recorded_run import evaluated_run
from rig.model.figure_kinds import figures_with_budget
from rig.model.rounding import format_figure
from rig.records.checksum import edges_checksum
from rig.report.runs_page import run_report
from rig.version import ANALYSIS_VERSION, SOFTWARE_VERSION
from tests import builders

from .conftest import BEGUN, MADE, VOID, at_one_speed, conditions, make_run, report
from .page_tree import Element, page_tree

HOSTILE = "\"><script>alert(1)</script><img src=x onerror='alert(1)'>&amp;{{ 7*7 }}"


def figure_cells(page: Element) -> dict[str, list[str]]:
    """Texts of each line of the table of figures, by the figure's name."""
    return {
        row.one("th").text.partition(" – ")[0]: [cell.text for cell in row.all("td")]
        for row in page.one("table", class_="figures").all("tr")
        if any(row.all("th", scope="row"))
    }


def described(page: Element, name: str) -> str:
    """Value of a definition list's entry."""
    for listing in page.all("dl"):
        for term, value in zip(listing.all("dt"), listing.all("dd"), strict=True):
            if term.text == name:
                return value.text
    raise KeyError(name)


def condition(page: Element, name: str) -> list[str]:
    (row,) = (
        row
        for row in page.one("table", class_="conditions").all("tr")
        if any(head.text == name for head in row.all("th", scope="row"))
    )
    return [cell.text for cell in row.all("td")]


def test_every_figure_has_unit_uncertainty_and_n(run) -> None:
    figures = run_figures(run)
    expected = {
        "Operate point": figures.operate,
        "Release point": figures.release,
        "Differential travel": figures.differential_travel,
        "Differential travel, share": figures.differential_travel_percent,
        "Repeat accuracy, short term": figures.repeat_accuracy_short_term,
        "Noise bias, operate": figures.first_passage_bias_operate,
        "Noise bias, release": figures.first_passage_bias_release,
        "Noise-free threshold, operate": figures.threshold_operate,
        "Noise-free threshold, release": figures.threshold_release,
        "Response time, operate": figures.response_time_operate,
        "Response time, release": figures.response_time_release,
        "Response time, both together": figures.response_time_both,
    }

    cells = figure_cells(page_tree(report(run)))

    assert list(cells) == list(expected)
    for name, figure in expected.items():
        text = format_figure(figure)
        uncertainty = f"± {text.expanded_uncertainty}" if not text.why_none else "none"
        assert cells[name] == [
            text.value,
            uncertainty,
            figure.unit,
            text.coverage_factor or "–",
            text.standard_deviation or "–",
            str(figure.n),
        ]


def test_figure_without_uncertainty_says_why() -> None:
    run = make_run(sweeps=1, void_index=None)
    page = page_tree(report(run))

    rows = [
        row.one("th").text
        for row in page.one("table", class_="figures").all("tr")
        if any(row.all("th", scope="row"))
        if "none" in [cell.text for cell in row.all("td")]
    ]

    # Of the repeat accuracy there is not even a value
    assert len(rows) == 8
    assert all("No uncertainty: " in row for row in rows)
    assert "one sweep shows no scatter" in rows[0]


def test_response_time_of_a_single_speed_says_why_it_is_missing(run) -> None:
    cells = figure_cells(page_tree(report(at_one_speed(run))))

    words = "none: all sweeps ran at one speed, and a response time needs two"
    assert cells["Response time, operate"] == [words]
    assert cells["Response time, release"] == [words]


def test_repeat_accuracy_is_never_taken_for_the_standards(run) -> None:
    page = page_tree(report(run))
    (row,) = (
        row
        for row in page.one("table", class_="figures").all("tr")
        if "short term" in row.text
    )

    assert "not the standard's 8 h test" in row.one("th").text
    # Of nine sweeps, five ran at one and the same speed
    assert [cell.text for cell in row.all("td")][-1] == "5"


def test_budgets_hold_every_contribution_and_their_shares_make_a_whole(run) -> None:
    figures = run_figures(run)
    tables = list(page_tree(report(run)).all("table", class_="budget"))

    known = list(figures_with_budget(figures))
    names = [table.one("caption").text for table in tables]
    assert names == [f"Budget of the {kind.name}" for kind, _ in known]
    assert len(names) >= 10
    for table, (_, figure) in zip(tables, known, strict=True):
        rows = list(table.one("tbody").all("tr"))
        # A contribution of 0 would say nothing
        assert [row.one("th").text for row in rows] == [
            c.name for c in figure.budget if c.standard_uncertainty > 0.0
        ]
        freedom = [list(row.all("td"))[3].text for row in rows]
        # A range rests on the step grid, which no number of readings limits
        by_grid = figure is figures.repeat_accuracy_short_term
        assert freedom[0] == ("∞" if by_grid else "7")
        widths = [
            float(bar.attributes["style"].removeprefix("width: ").rstrip("%"))
            for bar in table.all("span", class_="bar")
        ]
        assert sum(widths) == pytest.approx(100.0, abs=0.05 * len(widths) + 1e-9)
        foot = table.one("tfoot").text
        assert f"{format_figure(figure).expanded_uncertainty} {figure.unit}" in foot


def test_sweeps_stand_with_their_points_and_void_ones_with_the_reason(run) -> None:
    table = page_tree(report(run)).one("table", class_="sweeps")
    rows = [
        [cell.text for cell in row.all("td")] for row in table.one("tbody").all("tr")
    ]

    assert len(rows) == len(run.sweeps)
    # (20000.3 - (20000 - 6400 + 8 + 2 - 0.5)) / 1600, by hand
    assert rows[0][1] == "3.9942"
    # (20000.3 - (20000 - 7264 - 3 - 1 + 0.5)) / 1600 less 0.04 mm of backlash;
    # positions are cut to whole steps toward 0
    assert rows[0][3] == f"{(20000.3 - (12731 + 0.5)) / 1600 - 0.04:.4f}"
    assert rows[6] == ["1", "3.9955", "–", "–", "–", "1", f"void: {VOID}"]
    used = [row for k, row in enumerate(rows) if k != 6]
    figures = run_figures(run)
    for column, figure in ((2, figures.operate), (4, figures.release)):
        mean = sum(float(row[column]) for row in used) / len(used)
        assert mean == pytest.approx(figure.value, abs=5e-5)


def test_corrected_points_carry_no_delay(run) -> None:
    table = page_tree(report(run)).one("table", class_="sweeps")
    rows = [
        [cell.text for cell in row.all("td")]
        for row in table.one("tbody").all("tr")
        if "class" not in row.attributes
    ]

    def step_over_speed(column: int) -> float:
        means = [
            sum(v) / len(v)
            for v in (
                [float(r[column]) for r in rows if r[0] == speed]
                for speed in ("1", "4")
            )
        ]
        return means[1] - means[0]

    # 5 ms and 2 ms over 3 mm/s, less what the scatter of the hand-made points makes
    assert step_over_speed(1) == pytest.approx(-0.015, abs=0.003)
    assert step_over_speed(3) == pytest.approx(0.006, abs=0.003)
    assert step_over_speed(2) == pytest.approx(0.0, abs=1e-4)
    assert step_over_speed(4) == pytest.approx(0.0, abs=1e-4)


def test_job_bench_conditions_and_evidence_are_there(run) -> None:
    page = page_tree(report(run))

    assert described(page, "Sensor").startswith("level 18, nest 3: capacitive, 18 mm")
    assert described(page, "Target") == "reference plate: steel, 1 mm, earthed"
    assert described(page, "Operator") == "second shift"
    assert described(page, "Note") == "from the delivery of the first week"
    assert described(page, "Rig") == "bench-1, SIMULATED"
    assert described(page, "Axis") == "1600 steps/mm"
    assert condition(page, "Datum, from home") == ["20000.3 steps"]
    assert condition(page, "Datum, standard uncertainty") == [
        "0.00050 mm (0.80 steps), n = 5 touches"
    ]
    assert condition(page, "Touch-off") == ["2024-05-06 07:54:00 UTC"]
    assert condition(page, "Backlash") == [
        "0.04000 mm, standard uncertainty 0.00080 mm, n = 5, by probe"
    ]
    assert condition(page, "Temperature") == ["not recorded"]
    assert described(page, "SHA-256 of the 19 edges") == edges_checksum(run)
    assert described(page, "Analysis version") == ANALYSIS_VERSION
    assert described(page, "Firmware version") == "1.2.0"
    assert f"by Gapsweep {SOFTWARE_VERSION}" in page.one("p", class_="made").text
    signature = page.one("section", class_="signature").text
    assert "not by itself a statement of conformity" in signature
    assert "Signature" in signature


def test_what_was_given_or_not_measured_is_said_so(run) -> None:
    bare = replace(
        run.header.conditions,
        temperature_c=21.5,
        operator="",
        note="",
        backlash=builders.NO_BACKLASH,
    )
    run = replace(run, header=replace(run.header, conditions=bare))
    page = page_tree(report(run))

    assert condition(page, "Temperature") == ["21.5 °C, as given"]
    assert condition(page, "Backlash") == [
        "not measured, taken as 0 mm; no uncertainty, since nothing is known of it"
    ]
    assert described(page, "Operator") == "not recorded"
    warnings = page.one("section", class_="warnings").text
    assert "Backlash was not measured" in warnings


def test_conditions_taken_up_again_stand_side_by_side(run) -> None:
    later = replace(conditions(), boot_number=18, temperature_c=20.0)
    sweeps = tuple(
        replace(s, conditions_index=1) if s.index >= 5 else s for s in run.sweeps
    )
    page = page_tree(report(replace(run, sweeps=sweeps, later_conditions=(later,))))

    heads = page.one("table", class_="conditions").one("thead")
    assert [h.text for h in heads.all("th")] == [
        "Condition",
        "from sweep 1",
        "from sweep 6",
    ]
    assert condition(page, "Controller start") == ["number 17", "number 18"]
    assert condition(page, "Temperature") == ["not recorded", "20 °C, as given"]


def test_warnings_go_where_the_figures_go(run) -> None:
    figures = replace(run_figures(run), warnings=("First sentence.", "Second one."))
    html = run_report([evaluated_run(run, figures)], title="t", generated_at=MADE)
    listed = page_tree(html).one("section", class_="warnings").all("li")

    assert [item.text for item in listed] == list(figures.warnings)


def test_simulated_is_said_in_every_part_that_may_stand_alone(run) -> None:
    page = page_tree(report(run))

    assert page.one("title").text.startswith("SIMULATED: ")
    assert page.one("p", class_="simulated").text.startswith("SIMULATED")
    assert "SIMULATED" in page.one("h2", id="run-1-name").text
    assert page.one("div", class_="running").text.startswith("SIMULATED")
    # The signature may stand on a sheet of its own
    assert "SIMULATED" in page.one("section", class_="signature").text


def test_real_run_never_says_simulated() -> None:
    assert "SIMULATED" not in report(make_run(simulated=False))


def test_only_the_simulated_runs_of_a_mixed_report_are_marked() -> None:
    page = page_tree(
        report(make_run(run_id="a"), make_run(run_id="b", simulated=False))
    )

    made, real = page.all("article")
    assert "SIMULATED" in made.text
    assert "SIMULATED" not in real.text
    assert "1 of 2 runs" in page.one("p", class_="simulated").text
    marks = [row.text for row in page.one("table", class_="overview").all("th")][4:]
    assert ["SIMULATED" in mark for mark in marks] == [True, False]


def test_a_run_resumed_on_a_simulated_rig_is_simulated() -> None:
    run = make_run(simulated=False)
    run = replace(run, later_conditions=(conditions(simulated=True),))

    assert "SIMULATED" in page_tree(report(run)).one("div", class_="running").text


@pytest.mark.long
def test_hostile_words_stay_words(run) -> None:
    header = replace(
        run.header,
        sensor=replace(run.header.sensor, name=HOSTILE),
        target=replace(run.header.target, name=HOSTILE, material=HOSTILE),
        conditions=replace(
            run.header.conditions, operator=HOSTILE, note=HOSTILE, rig_id=HOSTILE
        ),
        run_id=HOSTILE,
    )
    sweeps = (replace(run.sweeps[0], void=HOSTILE), *run.sweeps[1:])
    run = replace(run, header=header, sweeps=sweeps)

    page = page_tree(report(run, make_run(), title=HOSTILE))

    assert list(page.all("script", "img")) == []
    assert page.one("h1").text == HOSTILE
    assert described(page, "Operator") == HOSTILE
    assert f"void: {HOSTILE}" in page.text
    for element in page.all():
        assert not any(name.startswith("on") for name in element.attributes)


@pytest.mark.long
def test_same_input_gives_the_same_page_in_another_process(run) -> None:
    program = (
        "import sys; from tests.report.conftest import make_run, report;"
        "sys.stdout.reconfigure(encoding='utf-8');"
        "sys.stdout.write(report(make_run()))"
    )

    other = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        check=True,
        cwd=Path(__file__).parents[2],
    ).stdout.decode("utf-8")

    assert other.replace("\r\n", "\n") == report(run)


def test_times_are_told_in_utc(run) -> None:
    elsewhere = MADE.astimezone(timezone(timedelta(hours=5, minutes=30)))
    found = [evaluated_run(run, run_figures(run))]

    html = run_report(found, title="t", generated_at=elsewhere)

    assert "Made on 2024-05-06 12:30:00 UTC" in html
    assert described(page_tree(html), "Started") == f"{BEGUN:%Y-%m-%d %H:%M:%S} UTC"


def test_report_without_a_run_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one run"):
        run_report([], title="t", generated_at=MADE)


def test_rounding_loads_nothing_heavy() -> None:
    program = (
        "import sys, rig.model.rounding;"
        "print({'numpy', 'matplotlib', 'jinja2', 'scipy'} & set(sys.modules))"
    )

    loaded = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, check=True, text=True
    ).stdout

    assert loaded.strip() == "set()"
