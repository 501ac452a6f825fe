"""IEC 60947-5-2: limits and standard target, from memory; the text was not opened."""

from __future__ import annotations

import pytest

from rig.analysis.limits.limit_table import limits_for, standard_limits
from rig.analysis.limits.verdict import SIMPLE, Decision
from rig.analysis.numbers.uncertainty import figure
from rig.analysis.standard.iec_60947_5_2 import (
    differential_travel,
    effective_distance,
    repeat_accuracy_verdict,
    standard_target,
    usable_distance,
    worst_case_release_mm,
)
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.mounted import Principle, Sensor


def sensor(
    size_mm: float = 18.0,
    rated_mm: float = 4.0,
    principle: Principle = Principle.INDUCTIVE,
) -> Sensor:
    return Sensor(
        name="sensor A",
        principle=principle,
        size_mm=size_mm,
        rated_distance_mm=rated_mm,
    )


def exact(value: float, unit: str = "mm") -> Figure:
    line = Contribution(
        name="none", evaluation=Evaluation.TYPE_B, standard_uncertainty=0.0, unit=unit
    )
    return figure(value, unit, [line], n=10)


# From memory: 0.9 s_n <= s_r <= 1.1 s_n, both ends allowed; s_n = 4 mm
@pytest.mark.parametrize(
    ("value", "decision"),
    [
        (3.600, Decision.CONFORMS),
        (3.599, Decision.DOES_NOT_CONFORM),
        (4.400, Decision.CONFORMS),
        (4.401, Decision.DOES_NOT_CONFORM),
    ],
)
def test_effective_distance_at_its_limits(value: float, decision: Decision) -> None:
    one = sensor()

    result = effective_distance(exact(value), one, limits_for(one, {}), SIMPLE)

    assert result.decision is decision


@pytest.mark.parametrize("rated", [1.5, 3.0, 4.0, 8.0, 15.0, 0.7])
def test_a_binary_rounding_of_the_limit_does_not_decide(rated: float) -> None:
    one = sensor(rated_mm=rated)

    # 3 * 1.1 is 3.3000000000000003 in binary
    above = effective_distance(
        exact(round(1.1 * rated, 9)), one, limits_for(one, {}), SIMPLE
    )
    below = effective_distance(
        exact(round(0.9 * rated, 9)), one, limits_for(one, {}), SIMPLE
    )

    assert above.decision is below.decision is Decision.CONFORMS


# From memory: H <= 0.2 s_r and R <= 0.1 s_r, with s_r = 4.000 mm
@pytest.mark.parametrize(
    ("h_mm", "decision"),
    [(0.800, Decision.CONFORMS), (0.801, Decision.DOES_NOT_CONFORM)],
)
def test_differential_travel_at_its_limit(h_mm: float, decision: Decision) -> None:
    limits = standard_limits(Principle.CAPACITIVE)

    result = differential_travel(exact(100.0 * h_mm / 4.0, "%"), limits, SIMPLE)

    assert result.decision is decision


@pytest.mark.parametrize(
    ("r_mm", "decision"),
    [(0.400, Decision.CONFORMS), (0.401, Decision.DOES_NOT_CONFORM)],
)
def test_repeat_accuracy_at_its_limit(r_mm: float, decision: Decision) -> None:
    limits = standard_limits(Principle.INDUCTIVE)

    result = repeat_accuracy_verdict(exact(100.0 * r_mm / 4.0, "%"), limits, SIMPLE)

    assert result.decision is decision


# From memory: s_u 0.9 to 1.1 s_r inductive, 0.8 to 1.2 s_r capacitive;
# s_a 0.81 s_n = 0.9 x 0.9 and 0.72 s_n = 0.9 x 0.8
@pytest.mark.parametrize(
    ("principle", "low", "high", "assured"),
    [
        (Principle.INDUCTIVE, 0.9, 1.1, 3.24),
        (Principle.CAPACITIVE, 0.8, 1.2, 2.88),
    ],
)
def test_usable_and_assured_distance_depend_on_the_principle(
    principle: Principle, low: float, high: float, assured: float
) -> None:
    one = sensor(principle=principle)
    table = limits_for(one, {})
    s_r = exact(4.0)

    inside = usable_distance(
        s_r,
        {"cold": exact(round(low * 4.0, 6)), "hot": exact(round(high * 4.0, 6))},
        one,
        table,
        rule=SIMPLE,
    )
    outside = usable_distance(
        s_r,
        {"cold": exact(low * 4.0 - 0.01), "hot": exact(high * 4.0 + 0.01)},
        one,
        table,
        rule=SIMPLE,
    )

    assert inside.smallest[1].decision is Decision.CONFORMS
    assert inside.largest[1].decision is Decision.CONFORMS
    assert outside.smallest[1].decision is Decision.DOES_NOT_CONFORM
    assert outside.largest[1].decision is Decision.DOES_NOT_CONFORM
    assert inside.assured.limits.lower == assured
    assert table["s_a"].limits(scale=4.0, unit="mm").lower == assured


# From memory: side = max(diameter of the face, 3 s_n), 1 mm, earthed if capacitive
@pytest.mark.parametrize(
    ("size", "rated", "side"),
    [(12.0, 4.0, 12.0), (18.0, 8.0, 24.0), (30.0, 15.0, 45.0), (8.0, 1.5, 8.0)],
)
def test_size_of_the_standard_target(size: float, rated: float, side: float) -> None:
    target = standard_target(sensor(size, rated))

    assert (target.side_mm, target.thickness_mm, target.earthed) == (side, 1.0, False)
    assert standard_target(sensor(size, rated, Principle.CAPACITIVE)).earthed


# 1.21 s_n + 0.2 x 1.1 s_n: common practice, no source
def test_worst_case_release_of_an_inductive_sensor() -> None:
    assert worst_case_release_mm(sensor(rated_mm=4.0)) == 5.72


def test_every_limit_of_the_standard_says_that_it_is_from_memory() -> None:
    for principle in Principle:
        table = standard_limits(principle)

        assert set(table) == {"s_r", "s_u", "s_a", "H", "R"}
        assert all(
            entry.source.endswith("from memory") and entry.clause and entry.edition
            for entry in table.values()
        )
