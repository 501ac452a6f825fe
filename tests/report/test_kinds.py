from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from rig.analysis.limits.verdict import GUARDED, PART_DECISIONS, SIMPLE
from rig.analysis.run.run_figures import run_figures
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.inquiry.recorded_run import evaluated_run
from rig.model.mounted import Target
from rig.model.rounding import format_figure, round_to_interval
from rig.records import RunCheck, edges_checksum
from rig.report.runs_page import run_report

from .conftest import BEGUN, MADE, make_run, report
from .kinds import (
    LIMITS,
    PLATE,
    VALID,
    batch_of_a_table,
    batch_result,
    behind,
    calibrated,
    lot_by_variables,
    lot_decision,
    lot_evidence,
    lot_part,
    page_of,
    page_of_batch,
    page_of_lot,
    page_of_plan,
    page_of_study,
    part_run,
    part_runs,
    plan_of_targets,
    study_result,
    two_batches,
)
from .page_tree import Element, page_tree
from .test_page import described


def rows_of(page: Element, css_class: str) -> list[list[str]]:
    table = next(page.all("table", class_=css_class))
    return [
        [cell.text for cell in row.all("th", "td")]
        for row in table.one("tbody").all("tr")
    ]


def marked_runs() -> Element:
    made = part_runs(6)
    real = tuple(behind(part_run(k, simulated=False)) for k in range(7, 13))
    runs = (*made, *real)
    return page_tree(page_of_batch(batch_result(runs)))


class TestRun:
    def test_verdicts_name_limits_source_rule_and_figure(self) -> None:
        run = make_run()
        found = standard_of_run(run, run_figures(run), GUARDED)
        page = page_tree(report(run))

        rows = rows_of(page, "verdicts")

        assert list(found.verdicts) == ["s_r", "H", "R"]
        for row, (symbol, one) in zip(rows, found.verdicts.items(), strict=False):
            assert row[0].startswith(symbol)
            assert row[1].startswith(str(format_figure(one.figure)).partition(",")[0])
            assert one.limits.source in row[2]
            assert row[4].endswith(one.decision.value)
        assert f"Decision rule: {GUARDED.name}." in page.text
        # IEC 60947-5-2, 0.9 s_n to 1.1 s_n with s_n = 8 mm
        assert rows[0][2].startswith("7.2 to 8.8 mm")

    def test_another_rule_is_the_one_that_is_named(self) -> None:
        run = make_run()
        html = run_report(
            [evaluated_run(run, run_figures(run), rule=SIMPLE)],
            title="t",
            generated_at=MADE,
        )

        assert SIMPLE.name in html
        assert GUARDED.name not in html

    def test_a_run_on_another_target_has_no_verdict_and_says_why(self) -> None:
        run = make_run()
        pvc = Target(name="sheet", material="pvc", thickness_mm=3.0)
        run = replace(run, header=replace(run.header, target=pvc))
        page = page_tree(report(run))

        assert "s_r" not in page.text
        assert "No verdict: the target is pvc" in page.text

    @pytest.mark.parametrize(
        ("calibration", "words"),
        [
            (VALID, "due on 2025-01-10: valid"),
            (replace(VALID, due_on=date(2024, 5, 1)), "STALE; the calibration AX 17"),
        ],
    )
    def test_state_of_the_calibration_is_that_of_the_day(
        self, calibration, words
    ) -> None:
        page = page_tree(report(calibrated(make_run(), calibration)))

        row = next(
            row
            for row in rows_of(page, "conditions")
            if row[0] == "Calibration of the axis"
        )
        assert words in row[1]

    def test_edges_that_were_changed_are_told_first(self) -> None:
        run = make_run()
        run_id = run.header.run_id
        check = RunCheck(
            run_id=run_id,
            stored="0" * 64,
            computed=edges_checksum(run),
            changes=("sweep 2 was altered", "its ending was altered"),
        )
        found = evaluated_run(run, run_figures(run), check=check)
        html = run_report([found], title="t", generated_at=MADE)
        page = page_tree(html)

        first = next(page.one("section", class_="warnings").all("li")).text
        assert first == (
            f"Run {run_id} was changed after it was recorded: sweep 2 was altered, and"
            " 1 more."
        )
        assert described(page, "On record") == (
            "CHANGED: sweep 2 was altered; its ending was altered"
        )


class TestBatch:
    def test_every_part_stands_with_value_uncertainty_verdict_and_run(self) -> None:
        rows = rows_of(page_tree(page_of("batch")), "parts")

        summary = batch_result().batches[0].summary
        assert len(rows) == len(summary.rows)
        for number, (row, part) in enumerate(zip(rows, summary.rows, strict=True), 1):
            assert row[0] == str(number)
            assert row[1].startswith(part.part)
            assert abs(float(row[2]) - part.value) < 1e-4
            assert row[3].startswith("± ")
            assert part.decision is not None
            assert row[4].endswith(part.decision.value)
            assert row[5] == f"run-{number}-reference plate"
        flagged = [row[1] for row in rows if "outlier" in row[1]]
        assert len(flagged) == len(summary.outliers.outliers)

    def test_limits_source_rule_and_counts_are_there(self) -> None:
        page = page_tree(page_of("batch"))
        counts = batch_result().batches[0].summary.decisions

        assert described(page, "Limits") == "3.98 to 4.02 mm"
        limits = batch_result().limits
        assert limits is not None
        assert described(page, "Source of the limits") == limits.source
        assert described(page, "Decision rule") == GUARDED.name
        told = page.one("p", class_="counts").text
        words = ("conforming", "nonconforming", "undecided")
        counted = [counts.get(decision.value, 0) for decision in PART_DECISIONS]
        pairs = zip(counted, words, strict=True)
        assert ", ".join(f"{count} {word}" for count, word in pairs) in told

    def test_figures_have_intervals_by_which_they_are_rounded(self) -> None:
        s = batch_result().batches[0].summary
        rows = {
            row[0].partition(" – ")[0]: row[1:]
            for row in rows_of(page_tree(page_of("batch")), "intervals")
        }

        assert {"Mean", "Standard deviation", "Tolerance interval", "Cpk"} <= set(rows)
        low, high = s.mean_interval.lower, s.mean_interval.upper
        value, lower, upper = round_to_interval(s.mean, low, high)
        assert rows["Mean"][:2] == [value, f"{lower} to {upper}"]
        assert rows["Mean"][2:] == ["mm", "95 %", "12"]

    def test_only_simulated_parts_of_a_mixed_batch_are_marked(self) -> None:
        page = marked_runs()

        for css_class in ("parts", "evidence"):
            marks = [
                "SIMULATED" in " ".join(row[:2]) for row in rows_of(page, css_class)
            ]
            assert marks == [True] * 6 + [False] * 6
        said = page.one("p", class_="simulated").text
        assert said.startswith("SIMULATED A simulated rig made 6 of 12 parts")
        assert "SIMULATED in part" in page.one("h2", id="batch-1-name").text

    def test_batches_are_compared_with_the_interval_of_the_difference(self) -> None:
        found = two_batches().comparison
        assert found is not None
        (pair,) = found.pairs
        tables = page_tree(page_of("two-batches")).all("table", class_="intervals")
        (row,) = [
            [cell.text for cell in line.all("th", "td")]
            for table in tables
            for line in table.all("tr")
            if "second less first" in line.text
        ]

        assert float(row[1]) == pytest.approx(pair.difference, abs=1e-3)
        assert row[5] == "6, 6"

    def test_a_table_of_somebody_else_has_no_evidence_and_says_so(self) -> None:
        page = page_tree(page_of_batch(batch_of_a_table()))

        assert "The values come from lot.csv." in page.text
        assert "checksum are not known" in page.text
        assert list(page.all("table", class_="evidence")) == []
        assert "none" in {row[3] for row in rows_of(page, "parts")}

    def test_edges_that_were_changed_are_told_of_every_run(self) -> None:
        runs = part_runs()
        bad = behind(runs[0].run, intact=False)
        page = page_tree(page_of_batch(batch_result((bad, *runs[1:]))))

        assert "run-1-reference plate was changed after it was recorded" in page.text
        states = [row[4] for row in rows_of(page, "evidence")]
        assert ["CHANGED" in state for state in states] == [True] + [False] * 11


class TestStudy:
    def test_spreads_of_both_methods_stand_side_by_side(self) -> None:
        result = study_result()
        spreads = result.crossed.spreads
        rows = rows_of(page_tree(page_of_study(result)), "spreads")

        names = [row[0].partition(" – ")[0].lower() for row in rows]
        assert names == [
            "repeatability",
            "reproducibility",
            "measurement",
            "part",
            "total",
        ]
        for row, name in zip(rows, names, strict=True):
            assert float(row[1]) == pytest.approx(getattr(spreads, name), rel=0.06)
            beside = getattr(result.ranges.spreads, name)
            assert float(row[4]) == pytest.approx(beside, rel=0.006)
        assert rows[-1][3] == "100.0 %"

    def test_sheet_holds_every_reading_and_where_it_came_from(self) -> None:
        rows = rows_of(page_tree(page_of("study")), "sheet")

        assert len(rows) == 30
        assert rows[0][5] == "run-1-reference plate"
        assert rows[1][5] == f"by hand, {BEGUN:%Y-%m-%d %H:%M:%S} UTC"
        assert "SIMULATED" in rows[0][1]
        assert "SIMULATED" not in rows[1][1]

    def test_analysis_of_variance_adds_up(self) -> None:
        rows = rows_of(page_tree(page_of("study")), "anova")

        freedom = [int(row[1]) for row in rows]
        squares = [float(row[2]) for row in rows]
        assert sum(freedom[:-1]) == freedom[-1] == 29
        assert sum(squares[:-1]) == pytest.approx(squares[-1], rel=1e-3)

    def test_a_study_by_hand_says_that_no_edges_are_behind_it(self) -> None:
        page = page_tree(page_of_study(study_result()))

        assert "All readings were entered by hand" in page.text
        assert "SIMULATED" not in page.text


class TestLot:
    @pytest.mark.parametrize(
        ("accepted", "word", "kind"),
        [(True, "ACCEPTED", "accepted"), (False, "NOT ACCEPTED", "refused")],
    )
    def test_decision_stands_in_large_words_with_reason_and_what_follows(
        self, accepted, word, kind
    ) -> None:
        matter = lot_evidence(decision=lot_decision(accepted=accepted))
        page = page_tree(page_of_lot(matter))

        outcome = page.one("section", class_=f"outcome {kind}")
        assert outcome.one("p", class_="large").text.split(maxsplit=1)[1] == word
        assert "1 nonconforming of 13, Ac 2, Re 3" in outcome.text
        assert "Next lot: normal inspection (score 3)." in outcome.text

    def test_a_delivery_that_is_open_says_how_it_stands(self) -> None:
        page = page_tree(page_of_lot(lot_evidence(decision=None)))

        outcome = page.one("section", class_="outcome open")
        assert "NOT DECIDED" in outcome.text
        assert (
            "Go on: 2 parts to go; not accepted with 1 more nonconforming."
            in outcome.text
        )

    def test_plan_limits_and_rule_have_their_sources(self) -> None:
        matter = lot_evidence()
        page = page_tree(page_of_lot(matter))

        # 90 parts, level II: letter E, sample 13; AQL 6.5 %: Ac 2, Re 3 (MIL-STD-105E)
        assert described(page, "Sample") == "13 parts: Ac 2, Re 3"
        assert "letter E" in described(page, "Sampling plan")
        assert described(page, "Source of the plan") == matter.curve.plan.source
        assert described(page, "Source of the limits") == LIMITS.source
        assert described(page, "Decision rule for a part") == GUARDED.name

    def test_parts_seen_and_parts_measured_stand_with_their_reasons(self) -> None:
        rows = rows_of(page_tree(page_of("lot")), "parts reasons")

        assert len(rows) == 13
        assert rows[-1][2] == "–"
        assert "thread damaged" in rows[-1][3]
        assert rows[-1][4].startswith("entered by hand")
        assert re.match(r"3\.99\d+± 0\.00\d+", rows[0][2])
        assert "1 of 13 parts were looked at" in page_of("lot")

    def test_a_reading_that_was_replaced_is_told(self) -> None:
        first = part_runs()[0]
        earlier = replace(lot_part(first), entered_at=BEGUN - timedelta(hours=1))
        readings = (earlier, *lot_evidence().standing.readings)
        page = page_tree(page_of_lot(lot_evidence(readings=readings)))

        told = f"Part P1, {BEGUN - timedelta(hours=1):%Y-%m-%d %H:%M:%S} UTC"
        assert any(item.text.startswith(told) for item in page.all("li"))

    def test_curve_tells_the_shares_accepted_with_95_50_and_10_per_cent(self) -> None:
        matter = lot_evidence()
        words = page_of("lot")

        for share in (
            matter.curve.producer_share,
            matter.curve.indifference_share,
            matter.curve.consumer_share,
        ):
            assert f"{100 * share:.3g}" in words
        assert "hypergeometric" in words

    def test_variables_say_that_they_need_a_normal_lot(self) -> None:
        page = page_tree(page_of_lot(lot_by_variables()))

        assert "holds for normal lots only" in page.text
        # MIL-STD-414, table B-1: n 10, AQL 1 %: k 1.72
        assert described(page, "Sampling plan") == (
            "letter F, sample as said, normal inspection, AQL 1 %: k = 1.72"
        )
        assert "noncentral t" in page.text


class TestPlan:
    def test_items_stand_with_figures_factor_or_what_is_missing(self) -> None:
        rows = rows_of(page_tree(page_of("plan")), "items")

        assert len(rows) == 3
        assert "against reference plate" in rows[0][1]
        assert rows[0][5] == "–"  # the standard target itself
        # Two operate points about 1000 steps of 0.625 µm apart, of 4 mm
        factor = float(rows[1][5].partition(" ±")[0].strip("("))
        assert factor == pytest.approx((4.0 - 1000 / 1600) / 4.0, abs=0.002)
        assert rows[2][3:] == ["–", "–", "–"]
        assert "Not measured yet: item 3 of the plan." in page_of("plan")

    def test_verdicts_are_those_of_the_standard_target_alone(self) -> None:
        page = page_tree(page_of("plan"))

        heads = [head.text for head in page.all("h3") if "Verdicts" in head.text]
        assert heads == ["Verdicts: level 18, nest 3 P1 against reference plate"]

    def test_a_series_of_thicknesses_is_drawn_over_the_thickness(self) -> None:
        plates = tuple(
            Target(name=f"pvc {k}", material="pvc", thickness_mm=float(k))
            for k in (1, 2, 4, 8)
        )
        drawing = (
            page_tree(page_of_plan(plan_of_targets(plates))).one("figure").one("svg")
        )

        labels = [text.text for text in drawing.all("text")]
        assert "thickness of pvc (mm)" in labels
        assert "pvc 1" not in labels

    def test_a_series_of_walls_is_drawn_over_the_wall(self) -> None:
        cells = tuple(
            Target(
                name=f"water wall {k} mm",
                material="water",
                thickness_mm=60.0,
                wall_material="pp",
                wall_mm=float(k),
            )
            for k in (1, 2, 4, 8)
        )
        drawing = (
            page_tree(page_of_plan(plan_of_targets(cells))).one("figure").one("svg")
        )

        labels = [text.text for text in drawing.all("text")]
        assert "wall of the cell of water (mm)" in labels

    def test_each_series_has_a_panel_of_its_own_and_the_rest_another(self) -> None:
        plates = [
            Target(name=f"{name} {k}", material=name, thickness_mm=float(k))
            for name in ("pvc", "glass")
            for k in (1, 2, 4, 8)
        ]
        drawing = (
            page_tree(page_of_plan(plan_of_targets((PLATE, *plates))))
            .one("figure")
            .one("svg")
        )

        labels = [text.text for text in drawing.all("text")]
        assert "thickness of pvc (mm)" in labels
        assert "thickness of glass (mm)" in labels
        assert any(label.startswith("reference") for label in labels)

    def test_materials_are_drawn_by_their_names(self) -> None:
        figure = page_tree(page_of("plan")).one("figure")
        drawing = figure.one("svg")

        labels = [text.text for text in drawing.all("text")]
        assert "thickness of pvc (mm)" not in labels
        assert {"pvc", "1", "2"} <= set(labels)
