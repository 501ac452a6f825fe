"""The operating characteristic is that of the plan as it decides."""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.acceptance.attributes import Severity, attribute_plan, decide_lot
from rig.analysis.acceptance.operating_curve import (
    acceptance_hypergeometric,
    average_outgoing_share,
)
from rig.analysis.acceptance.variables_plan import variables_plan
from rig.inquiry.lot_curve import curve_of_plan


def test_a_reduced_plan_accepts_what_its_curve_says_it_accepts() -> None:
    # Under reduced inspection a number between Ac and Re accepts the lot
    plan = attribute_plan(1000, aql_percent=2.5, severity=Severity.REDUCED)
    assert plan.reject - plan.accept > 1
    accepting = [
        bad
        for bad in range(plan.sample + 1)
        if decide_lot(plan, nonconforming=bad, inspected=plan.sample).accepted
    ]

    curve = curve_of_plan(plan)

    bad_parts = np.rint(curve.shares * plan.lot)
    assert curve.acceptance == pytest.approx(
        acceptance_hypergeometric(bad_parts, plan.lot, plan.sample, max(accepting))
    )


@pytest.mark.parametrize("aql_percent", [0.65, 1.0, 4.0, 6.5])
def test_no_incoming_share_goes_out_worse_than_the_limit(aql_percent: float) -> None:
    plan = attribute_plan(1000, aql_percent=aql_percent)

    outgoing = curve_of_plan(plan).outgoing

    assert outgoing is not None
    many = np.linspace(0.0, 1.0, 20_001)
    every = average_outgoing_share(
        many, lot=plan.lot, sample=plan.sample, accept=plan.accept
    )
    assert outgoing.limit_share >= every.max()
    assert outgoing.limit_share == pytest.approx(every.max(), rel=1e-4)
    assert outgoing.at_share == pytest.approx(many[every.argmax()], abs=1e-4)


def test_nothing_goes_out_of_a_lot_that_is_inspected_whole() -> None:
    plan = attribute_plan(10, aql_percent=0.65)
    assert plan.sample == plan.lot

    outgoing = curve_of_plan(plan).outgoing

    assert outgoing is not None
    assert outgoing.limit_share == 0.0


def test_by_variables_nothing_is_said_of_what_goes_out() -> None:
    assert curve_of_plan(variables_plan(10, aql_percent=1.0)).outgoing is None
