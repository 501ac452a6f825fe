"""Verdicts, ratios and differences: worked by hand unless a source is named."""

from __future__ import annotations

import math
from datetime import UTC, datetime

import numpy as np
import pytest

from rig.analysis.edges.budget import Knowns, backlash_term, common_terms
from rig.analysis.edges.shared_causes import (
    BACKLASH,
    TOUCH_OFF,
    TOUCH_PROBE,
    shared_contributions,
)
from rig.analysis.limits.limit_table import limits_for
from rig.analysis.limits.verdict import (
    GUARDED,
    SIMPLE,
    Decision,
    Limits,
    conformance_probability,
    verdict,
)
from rig.analysis.numbers.ratio import ratio
from rig.analysis.numbers.uncertainty import figure
from rig.analysis.standard.iec_60947_5_2 import effective_distance
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.mounted import (
    Principle,
    Sensor,
)
from rig.model.sweeps import Conditions
from tests import builders

LIMITS = Limits(lower=7.2, upper=8.8, unit="mm", source="made up")


def scatter(readings: list[float]) -> Contribution:
    return Contribution(
        name="repeatability",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=float(np.std(readings, ddof=1)) / math.sqrt(len(readings)),
        unit="mm",
        degrees_of_freedom=len(readings) - 1.0,
    )


def probe(size: float = 0.01) -> Contribution:
    return Contribution(
        name=TOUCH_PROBE,
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=size,
        unit="mm",
    )


def measured(readings: list[float], *lines: Contribution) -> Figure:
    return figure(
        float(np.mean(readings)),
        "mm",
        [scatter(readings), *lines],
        n=len(readings),
        standard_deviation=float(np.std(readings, ddof=1)),
    )


def known(value: float, u: float) -> Figure:
    return figure(value, "mm", [probe(u)], n=10)


# Constructed; u and effective degrees of freedom by GUM 5.1.2 and G.4.1
STEEL = [4.012, 4.008, 4.015, 4.010, 4.006]
ALUMINIUM = [1.602, 1.606, 1.598, 1.604, 1.600]


def test_reduction_factor_of_the_constructed_set() -> None:
    factor = ratio(measured(ALUMINIUM), measured(STEEL))

    assert factor.value == pytest.approx(0.3994813226, abs=1e-9)
    assert factor.expanded_uncertainty is not None
    assert factor.coverage_factor is not None
    u = factor.expanded_uncertainty / factor.coverage_factor
    assert u == pytest.approx(0.00038545823, abs=1e-9)
    assert factor.effective_degrees_of_freedom == pytest.approx(5.5007, abs=5e-5)
    # Truncated to 5: t = 2.5706
    assert factor.coverage_factor == pytest.approx(2.5706, abs=5e-5)


def test_a_shared_zero_error_enters_a_ratio_once() -> None:
    steel, aluminium = measured(STEEL, probe()), measured(ALUMINIUM, probe())

    apart = ratio(aluminium, steel)
    once = ratio(aluminium, steel, shared=[TOUCH_PROBE])

    names = [line.name for line in once.budget]
    assert names.count(TOUCH_PROBE) == 1
    # (1 - factor)/s_r, against both counted apart
    line = once.budget[names.index(TOUCH_PROBE)]
    assert line.sensitivity == pytest.approx((1.0 - once.value) / steel.value)
    assert once.expanded_uncertainty is not None
    assert apart.expanded_uncertainty is not None
    assert once.expanded_uncertainty < apart.expanded_uncertainty


def test_the_shared_zero_error_agrees_with_a_simulation() -> None:
    rng = np.random.default_rng(8)
    zero = rng.normal(0.0, 0.05, 200_000)
    simulated = np.std((1.602 + zero) / (4.010 + zero))

    once = ratio(known(1.602, 0.05), known(4.010, 0.05), shared=[TOUCH_PROBE])

    assert once.expanded_uncertainty is not None
    assert once.coverage_factor is not None
    assert once.expanded_uncertainty / once.coverage_factor == pytest.approx(
        simulated, rel=0.01
    )


def test_a_ratio_to_a_figure_without_uncertainty_says_why() -> None:
    bare = figure(4.0, "mm", [], n=1, why_none="one sweep shows no scatter")

    result = ratio(measured(ALUMINIUM), bare)

    assert result.expanded_uncertainty is None
    assert "denominator" in result.why_none
    assert "one sweep shows no scatter" in result.why_none


def conditions(found_at: datetime, rig_id: str = "rig 1") -> Conditions:
    return builders.conditions(rig_id=rig_id, datum={"found_at": found_at})


def test_what_two_runs_share() -> None:
    first = conditions(datetime(2026, 1, 1, tzinfo=UTC))
    later = conditions(datetime(2026, 1, 2, tzinfo=UTC))
    elsewhere = conditions(datetime(2026, 1, 1, tzinfo=UTC), "rig 2")

    assert shared_contributions(first, first) == {TOUCH_OFF, TOUCH_PROBE, BACKLASH}
    assert shared_contributions(first, later) == {TOUCH_PROBE, BACKLASH}
    assert shared_contributions(first, elsewhere) == frozenset()


def test_names_of_shared_contributions_are_those_of_the_budget() -> None:
    knowns = Knowns(
        steps_per_mm=1600.0,
        axis_mm=0.001,
        datum_steps=8e4,
        datum_mm=0.001,
        datum_dof=4.0,
        probe_mm=0.002,
        backlash_mm=0.0,
        backlash_uncertainty_mm=0.001,
        backlash_dof=4.0,
    )

    names = [term.name for term in common_terms(knowns)]
    assert names[:2] == [TOUCH_OFF, TOUCH_PROBE]
    assert backlash_term(knowns).name == BACKLASH


@pytest.mark.parametrize(
    ("value", "decision"),
    [
        (8.0, Decision.CONFORMS),
        (8.74, Decision.CONFORMS),
        (8.79, Decision.UNDECIDED),
        (8.81, Decision.UNDECIDED),
        (8.86, Decision.DOES_NOT_CONFORM),
        (7.19, Decision.UNDECIDED),
        (7.10, Decision.DOES_NOT_CONFORM),
    ],
)
def test_the_interval_decides(value: float, decision: Decision) -> None:
    # U = 1.96 x 0.025 = 0.049 mm
    result = verdict(known(value, 0.025), LIMITS)

    assert result.decision is decision
    assert result.rule == GUARDED.name
    assert decision.value in result.sentence
    assert "rule:" in result.sentence


def test_the_interval_may_end_on_the_limit() -> None:
    line = Contribution(
        name="zero", evaluation=Evaluation.TYPE_B, standard_uncertainty=0.1, unit="mm"
    )
    one = figure(8.0, "mm", [line], n=1)
    assert one.expanded_uncertainty is not None
    end = 8.0 + one.expanded_uncertainty

    at = verdict(one, Limits(lower=0.0, upper=end, unit="mm", source="made up"))
    below = verdict(
        one, Limits(lower=0.0, upper=end - 1e-6, unit="mm", source="made up")
    )

    assert at.decision is Decision.CONFORMS
    assert below.decision is Decision.UNDECIDED


def test_a_limit_that_is_not_allowed_itself() -> None:
    strict = Limits(lower=0.0, upper=20.0, unit="%", source="x", inclusive=False)
    line = Contribution(
        name="none", evaluation=Evaluation.TYPE_B, standard_uncertainty=0.0, unit="%"
    )

    on_it = verdict(figure(20.0, "%", [line], n=1), strict, SIMPLE)
    below = verdict(figure(19.9, "%", [line], n=1), strict, SIMPLE)

    assert on_it.decision is Decision.DOES_NOT_CONFORM
    assert below.decision is Decision.CONFORMS


def test_without_an_uncertainty_nothing_is_decided_unless_the_rule_needs_none() -> None:
    bare = figure(8.0, "mm", [], n=1, why_none="one sweep shows no scatter")

    assert verdict(bare, LIMITS).decision is Decision.UNDECIDED
    assert verdict(bare, LIMITS, SIMPLE).decision is Decision.CONFORMS
    assert "one sweep shows no scatter" in verdict(bare, LIMITS).sentence
    assert verdict(bare, LIMITS).conformance_probability is None


def test_probability_of_conformity() -> None:
    # On a limit one half; one standard uncertainty inside Phi(1) = 0.8413
    assert conformance_probability(known(8.8, 0.1), LIMITS) == pytest.approx(0.5)
    assert conformance_probability(known(8.7, 0.1), LIMITS) == pytest.approx(
        0.8413447, abs=1e-6
    )


def test_a_data_sheet_overrides_the_standard_and_says_so() -> None:
    sensor = Sensor(
        name="sensor A",
        principle=Principle.CAPACITIVE,
        size_mm=18.0,
        rated_distance_mm=8.0,
    )

    ours = limits_for(sensor, {"s_r": (0.95, 1.05)})
    result = effective_distance(known(8.5, 0.001), sensor, ours)

    assert result.decision is Decision.DOES_NOT_CONFORM
    assert "data sheet of sensor A" in result.limits.source
    assert "memory" not in result.limits.source
    assert ours["H"].basis == "from memory"
