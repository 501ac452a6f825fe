"""Studies and lots: constructed data."""

from __future__ import annotations

import json
import math
import subprocess
import sys

import numpy as np
import pytest

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    Severity,
    attribute_plan,
    decide_lot,
    single_stage,
)
from rig.analysis.acceptance.sequential import Outlook, guidance
from rig.analysis.acceptance.staged_curve import (
    average_outgoing_share,
    operating_curve,
)
from rig.analysis.acceptance.switching_rules import (
    SwitchingState,
    after_lot,
    state_from_record,
)
from rig.analysis.acceptance.variables import (
    acceptance_by_variables,
    decide_lot_by_variables,
    variables_curve,
)
from rig.analysis.acceptance.variables_plan import variables_plan
from rig.analysis.limits.verdict import SIMPLE, Limits
from rig.analysis.study.measurement_system import crossed_study
from rig.analysis.study.study_layout import FilledRow, layout_rows, readings_of_sheet
from rig.analysis.study.study_results import study_intervals, study_plots
from rig.errors import InputError

PLAN = attribute_plan(1000, aql_percent=1.0)
RNG = np.random.default_rng(31)
TRUE = RNG.normal(8.0, 0.2, (5, 1, 1))
STUDY = TRUE + RNG.normal(0.0, 0.05, (1, 3, 1)) + RNG.normal(0.0, 0.02, (5, 3, 2))


def test_a_filled_sheet_becomes_the_study() -> None:
    parts, people = [f"part {i}" for i in range(5)], ["ann", "bo", "cy"]
    sheet = layout_rows(parts, people, 2, seed=4)

    filled = [
        FilledRow(
            row=row,
            # As in a CSV file: text
            reading=str(STUDY[parts.index(row.part), people.index(row.appraiser), i]),
            unit="mm",
        )
        for row in sheet
        for i in [row.trial - 1]
    ]
    back = readings_of_sheet(filled)

    assert len(sheet) == 30
    assert [row.order for row in sheet] == list(range(1, 31))
    order = [back.parts.index(part) for part in parts]
    persons = [back.appraisers.index(person) for person in people]
    assert back.readings[np.ix_(order, persons)] == pytest.approx(STUDY)
    assert back.unit == "mm"


def test_a_sheet_mixes_the_parts_and_can_be_printed_again() -> None:
    parts = [str(i) for i in range(10)]

    one = layout_rows(parts, ["a", "b"], 3, seed=1)

    assert one == layout_rows(parts, ["a", "b"], 3, seed=1)
    assert one != layout_rows(parts, ["a", "b"], 3, seed=2)
    blocks = [tuple(row.part for row in one[i : i + 10]) for i in range(0, 60, 10)]
    assert len(set(blocks)) == 6
    assert all(sorted(block, key=int) == parts for block in blocks)


def test_a_large_common_offset_costs_no_digits() -> None:
    near, far = crossed_study(STUDY), crossed_study(STUDY + 1e6)

    assert far.spreads.repeatability == pytest.approx(
        near.spreads.repeatability, rel=1e-7
    )
    assert far.full[2].sum_of_squares == pytest.approx(
        near.full[2].sum_of_squares, rel=1e-5
    )


def test_intervals_hold_their_estimates_and_repeat() -> None:
    study = crossed_study(STUDY)

    first, again = study_intervals(study), study_intervals(study)

    assert first == again
    s = study.spreads
    for interval, value in (
        (first.repeatability, s.repeatability),
        (first.measurement, s.measurement),
        (first.part, s.part),
        (first.measurement_percent, s.measurement_percent),
        (first.categories, s.categories_ratio),
    ):
        assert interval.lower < value < interval.upper


def test_plots_show_every_reading() -> None:
    plots = study_plots(STUDY, crossed_study(STUDY).spreads)

    assert plots.cell_means.shape == (5, 3)
    assert plots.by_part.shape == (5, 6)
    assert plots.by_appraiser.shape == (3, 10)
    assert plots.by_appraiser[1] == pytest.approx(STUDY[:, 1, :].ravel())
    assert plots.contributions["measurement"] + plots.contributions[
        "part"
    ] == pytest.approx(100.0)
    # Parts should stand out from the limits of the chart of means
    low, high = plots.mean_limits
    assert np.mean((plots.cell_means < low) | (plots.cell_means > high)) > 0.5


@pytest.mark.parametrize(
    ("found", "accepted"), [(0, True), (2, True), (3, False), (80, False)]
)
def test_a_lot_is_decided_by_its_numbers(found: int, accepted: bool) -> None:
    decision = decide_lot(PLAN, nonconforming=found, inspected=80)

    assert decision.accepted is accepted
    assert not decision.back_to_normal
    assert "Ac 2, Re 3" in decision.sentence


def test_a_small_lot_is_inspected_whole_and_the_plan_says_so() -> None:
    plan = attribute_plan(100, aql_percent=0.10)

    assert plan.sample == 100
    assert any("inspect them all" in words for words in plan.statements)


def outcomes(plan: AttributePlan, measured: int, failed: int, open_: int) -> set[bool]:
    """Every decision that is still possible, by trying them all."""
    left = plan.sample - measured + open_
    return {failed + more < plan.reject for more in range(left + 1)}


def test_guidance_is_certain_exactly_when_one_outcome_is_left() -> None:
    plans = [
        attribute_plan(60, aql_percent=aql, severity=severity)
        for aql in (1.0, 4.0, 6.5)
        for severity in Severity
    ]
    for plan in plans:
        for measured in range(plan.sample + 1):
            for failed in range(measured + 1):
                for open_ in range(measured - failed + 1):
                    told = guidance(
                        plan, measured=measured, nonconforming=failed, undecided=open_
                    )
                    possible = outcomes(plan, measured, failed, open_)
                    expected = {
                        frozenset({True}): Outlook.WILL_BE_ACCEPTED,
                        frozenset({False}): Outlook.WILL_NOT_BE_ACCEPTED,
                    }.get(frozenset(possible), Outlook.OPEN)
                    assert told.outlook is expected


def test_guidance_in_words() -> None:
    begin = guidance(PLAN, measured=0, nonconforming=0)
    doubt = guidance(PLAN, measured=80, nonconforming=1, undecided=3)

    assert (begin.remaining, begin.may_still_fail) == (80, 2)
    assert (
        "go on: 80 parts to go; not accepted with 3 more nonconforming"
        in begin.sentence
    )
    assert doubt.outlook is Outlook.OPEN
    assert "more sweeps" in doubt.sentence


def test_the_switching_state_survives_the_records() -> None:
    state = SwitchingState()
    decision = decide_lot(PLAN, nonconforming=9, inspected=80)
    state = after_lot(state, PLAN, decision)

    back = state_from_record(json.loads(json.dumps(state.as_record())))

    assert back == state


def test_a_resubmitted_lot_does_not_count() -> None:
    decision = decide_lot(PLAN, nonconforming=9, inspected=80)
    once = after_lot(SwitchingState(), PLAN, decision)

    again = after_lot(once, PLAN, decision, resubmitted=True)

    assert again.severity is Severity.NORMAL
    assert again.recent == once.recent


def test_a_lot_inspected_with_the_wrong_severity_is_refused() -> None:
    tightened = attribute_plan(1000, aql_percent=1.0, severity=Severity.TIGHTENED)
    decision = decide_lot(tightened, nonconforming=0, inspected=tightened.sample)

    with pytest.raises(InputError, match="normal inspection is in force"):
        after_lot(SwitchingState(), tightened, decision)


def test_the_curve_of_a_lot_is_better_than_that_of_its_process() -> None:
    process, lot = (
        operating_curve(single_stage(80, 2), lot=lot) for lot in (None, 1000)
    )

    assert process.acceptance[0] == lot.acceptance[0] == 1.0
    assert np.all(np.diff(process.acceptance) < 0.0)
    assert np.all(np.diff(lot.acceptance) <= 0.0)
    at = np.interp(process.consumer_share, lot.shares, lot.acceptance)
    assert at < 0.10
    assert process.acceptance[-1] == pytest.approx(0.001, rel=1e-6)


def test_average_outgoing_share_has_its_worst_in_between() -> None:
    found = average_outgoing_share([0.0, 0.02, 0.3], single_stage(80, 2), lot=1000)

    # p Pa (N - n)/N at 2 %: 0.02 x 0.784419 x 0.92
    assert found == pytest.approx([0.0, 0.0144333, 0.0], abs=1e-6)


UPPER = Limits(lower=-math.inf, upper=10.0, unit="mm", source="made up")


def sample_with(quality: float, n: int) -> np.ndarray:
    shape = np.linspace(-1.0, 1.0, n)
    shape /= shape.std(ddof=1)
    return 10.0 - quality + shape


@pytest.mark.parametrize(("quality", "accepted"), [(1.721, True), (1.719, False)])
def test_s_method_with_one_limit(quality: float, accepted: bool) -> None:
    plan = variables_plan(10, aql_percent=1.0)  # k = 1.72

    result = decide_lot_by_variables(
        sample_with(quality, 10), UPPER, plan, lot=100, rule=SIMPLE
    )

    assert result.accepted is accepted
    assert result.upper_quality == pytest.approx(quality)
    assert result.lower_quality is None
    assert "not ISO 3951-1" in result.sentence


def test_s_method_with_two_limits_adds_both_sides() -> None:
    plan = variables_plan(10, aql_percent=1.0)
    sample = sample_with(1.75, 10)

    one = decide_lot_by_variables(sample, UPPER, plan, lot=100, rule=SIMPLE)
    both = decide_lot_by_variables(
        sample,
        Limits(lower=10.0 - 3.5, upper=10.0, unit="mm", source="made up"),
        plan,
        lot=100,
        rule=SIMPLE,
    )

    # Either side alone is good enough, both together are not
    assert one.accepted
    assert not both.accepted
    assert both.estimated_share == pytest.approx(2.0 * one.estimated_share)


def test_curve_of_the_s_method_passes_through_its_shares() -> None:
    plan = variables_plan(20, aql_percent=1.0)

    curve = variables_curve(plan)

    shares = [curve.producer_share, curve.indifference_share, curve.consumer_share]
    assert acceptance_by_variables(shares, plan) == pytest.approx([0.95, 0.5, 0.1])
    assert np.all(np.diff(curve.acceptance) < 0.0)


def test_importing_the_statistics_does_not_import_scipy() -> None:
    code = (
        "import pkgutil, importlib, sys, rig.analysis as a\n"
        "for m in pkgutil.iter_modules(a.__path__):\n"
        "    importlib.import_module(f'rig.analysis.{m.name}')\n"
        "bad = [m for m in sys.modules if m.split('.')[0] in ('scipy', 'pandas')]\n"
        "sys.exit(' '.join(bad[:3]) or 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)

    assert done.returncode == 0, done.stderr
