"""The operating characteristic is that of the plan as it decides."""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.acceptance.attributes import Severity, attribute_plan, decide_lot
from rig.analysis.acceptance.operating_curve import acceptance_hypergeometric
from rig.analysis.acceptance.staged_curve import average_outgoing_share
from rig.analysis.acceptance.variables_plan import variables_plan
from rig.inquiry.lot_curve import LotCurve, curve_of_plan
from rig.inquiry.lot_inspection import (
    ASSUMED_RELATIVE_UNCERTAINTY,
    InspectionChoices,
    inspection_of,
)
from rig.sheets.lot_curve_sheet import curve_sheet
from tests.report.kinds import lot_part, part_runs


def curve_of(plan, rule: str = "guarded", **said: float) -> LotCurve:
    inspection = inspection_of(plan, rule, choices=InspectionChoices(**said))
    return curve_of_plan(plan, inspection)


def test_a_reduced_plan_accepts_what_its_curve_says_it_accepts() -> None:
    # Under reduced inspection a number between Ac and Re accepts the lot
    plan = attribute_plan(1000, aql_percent=2.5, severity=Severity.REDUCED)
    assert plan.reject - plan.accept > 1
    accepting = [
        bad
        for bad in range(plan.sample + 1)
        if decide_lot(plan, nonconforming=bad, inspected=plan.sample).accepted
    ]

    curve = curve_of(plan)

    bad_parts = np.rint(curve.shares * plan.lot)
    assert curve.acceptance == pytest.approx(
        acceptance_hypergeometric(bad_parts, plan.lot, plan.sample, max(accepting))
    )


@pytest.mark.parametrize("aql_percent", [0.65, 1.0, 4.0, 6.5])
def test_no_incoming_share_goes_out_worse_than_the_limit(aql_percent: float) -> None:
    plan = attribute_plan(1000, aql_percent=aql_percent)

    outgoing = curve_of(plan).outgoing

    assert outgoing is not None
    many = np.linspace(0.0, 1.0, 20_001)
    every = average_outgoing_share(many, plan.stages, lot=plan.lot)
    assert outgoing.limit_share >= every.max()
    assert outgoing.limit_share == pytest.approx(every.max(), rel=1e-4)
    assert outgoing.at_share == pytest.approx(many[every.argmax()], abs=1e-4)


def test_nothing_goes_out_of_a_lot_that_is_inspected_whole() -> None:
    plan = attribute_plan(10, aql_percent=0.65)
    assert plan.sample == plan.lot

    outgoing = curve_of(plan).outgoing

    assert outgoing is not None
    assert outgoing.limit_share == 0.0


def test_by_variables_nothing_is_said_of_what_goes_out() -> None:
    assert curve_of(variables_plan(10, aql_percent=1.0)).outgoing is None


def test_acceptance_as_inspected_stands_beside_the_nominal_one() -> None:
    # n 50, Ac 1 at AQL 1 %: nominally 0.911, and with a guard band of a quarter of the
    # way to the limit, undecided parts counting as nonconforming, 0.307 (counted over
    # 20,000 lots by other code, on independent errors)
    plan = attribute_plan(500, aql_percent=1.0)

    curve = curve_of(plan, relative_uncertainty=0.25, common_share=0.0)

    found = curve.as_inspected
    assert found.nominal[0] == pytest.approx(0.911, abs=5e-4)
    assert found.named.accepted[0] == pytest.approx(0.307, abs=0.03)
    words = " ".join(curve_sheet(curve).as_inspected)
    assert "1.00 % nonconforming 31.2 % are accepted, nominally 91.1 %" in words
    assert "seed 2859" in words
    assert "counting error" in words


def test_each_row_of_the_table_is_simulated_at_its_own_share() -> None:
    for size in (8, 90, 1000):
        curve = curve_of(attribute_plan(size, aql_percent=4.0))

        points = curve.as_inspected.points
        assert points.shares == pytest.approx(
            curve.shares[list(curve.as_inspected.rows)]
        )
        assert len(curve_sheet(curve).rows) == len(points.shares) >= 7


def test_without_uncertainty_the_simulated_curve_is_the_nominal_one() -> None:
    for plan in (
        attribute_plan(90, aql_percent=6.5),
        variables_plan(10, aql_percent=1),
    ):
        curve = curve_of(plan, relative_uncertainty=0.0)

        found = curve.as_inspected
        nominal = curve.acceptance[list(found.rows)]
        error = np.sqrt(nominal * (1.0 - nominal) / found.points.lots)
        assert np.all(np.abs(found.points.accepted - nominal) <= 4.0 * error + 1e-9)


def test_the_uncertainty_is_that_of_the_parts_where_enough_are_measured() -> None:
    plan = attribute_plan(500, aql_percent=1.0)
    parts = [lot_part(run, k) for k, run in enumerate(part_runs(10))]

    few, many = (inspection_of(plan, "guarded", parts[:n]) for n in (4, 10))

    assert few.real.relative_uncertainty == ASSUMED_RELATIVE_UNCERTAINTY
    assert few.uncertainty_source == "assumed"
    values = [part.value for part in parts]
    uncertainty = np.mean([part.expanded_uncertainty for part in parts])
    # 2.326 standard deviations from the mean to a limit beyond which 1 % lie
    assert many.real.relative_uncertainty == pytest.approx(
        uncertainty / (2.326348 * np.std(values, ddof=1))
    )
    assert many.uncertainty_source == "from 10 parts measured"


@pytest.mark.long
def test_what_repeats_cost_is_said_with_their_bound() -> None:
    plan = attribute_plan(500, aql_percent=1.0)

    none = curve_of(plan)
    twice = curve_of(plan, "simple", failing_again=2, common_share=0.0)

    assert none.as_inspected.repeats is None
    words = " ".join(curve_sheet(twice).as_inspected)
    assert "Measuring failing parts again, at most twice, takes" in words
    assert "(nominally 10 %)" in words
