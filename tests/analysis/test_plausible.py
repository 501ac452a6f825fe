"""Typed values that are hardly meant so. How far is far: own choice, no source."""

from __future__ import annotations

import math

import pytest

from rig.analysis.limits.plausible import doubt_by_limits, doubt_by_others
from rig.analysis.limits.verdict import Limits


def limits(lower: float = -math.inf, upper: float = math.inf) -> Limits:
    return Limits(lower=lower, upper=upper, unit="mm", source="test")


@pytest.mark.parametrize("value", [7.2, 8.8, 7.0, 6.0, 9.9, 3.0])
def test_a_part_that_is_off_is_no_slip_of_the_hand(value: float) -> None:
    assert doubt_by_limits(value, limits(7.2, 8.8)) == ""


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (7900.0, "1,000 times a value within 7.2 to 8.8 mm"),
        (79.0, "10 times a value"),
        (0.79, "1/10 of a value"),
        (0.0079, "1/1,000 of a value"),
        (25.0, "10 times the width of the limits outside"),
        (-7.9, "9.4 times the width of the limits outside"),
    ],
)
def test_a_lost_point_another_unit_and_a_wild_value_are_doubted(
    value: float, words: str
) -> None:
    assert words in doubt_by_limits(value, limits(7.2, 8.8))


def test_one_limit_alone_doubts_tenfold_values_only() -> None:
    assert doubt_by_limits(0.01, limits(upper=20.0)) == ""
    assert doubt_by_limits(199.0, limits(upper=20.0)) == ""
    assert "10 times the limit" in doubt_by_limits(200.0, limits(upper=20.0))
    assert doubt_by_limits(3.0, limits(lower=7.2)) == ""
    assert "1,000 times the limit" in doubt_by_limits(7200.0, limits(lower=7.2))


@pytest.mark.parametrize(
    ("value", "doubted"), [(7.9, False), (30.0, False), (79.0, True), (0.79, True)]
)
def test_like_readings_doubt_one_that_is_five_times_off(
    value: float, doubted: bool
) -> None:
    assert bool(doubt_by_others(value, 8.0, "mm")) is doubted


def test_a_median_of_nothing_doubts_nothing() -> None:
    assert doubt_by_others(1.0, 0.0, "mm") == ""
