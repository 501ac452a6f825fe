"""Means of a run that goes on, against the GUM's readings."""

from __future__ import annotations

import pytest

from rig.sheets.running_means import running_means

# JCGM 100:2008 (GUM), 4.4.3, table 1: 20 readings, degrees Celsius. Printed: mean
# 100.14, s 1.49, of the mean 0.33; table G.2: t for 19 degrees of freedom, 95 %: 2.09
TEMPERATURES = (
    "96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07 100.33 100.42 100.68"
    " 100.95 101.11 101.20 101.57 101.84 102.36 102.73"
)


def test_the_plus_minus_is_that_of_the_mean_by_its_scatter() -> None:
    points = [(1.0, float(text)) for text in TEMPERATURES.split()]

    (found,) = running_means(points)

    assert found.mean_mm == pytest.approx(100.14, abs=6e-3)
    assert found.half_mm == pytest.approx(2.09 * 0.33, abs=0.01)
    assert found.n == "20"
    assert found.words == "(100.15 ± 0.70) mm"


def test_speeds_are_not_thrown_together_and_the_slowest_comes_first() -> None:
    points = [(4.0, 8.02), (1.0, 8.0), (4.0, 8.04), (1.0, 8.002)]

    slow, fast = running_means(points)

    assert (slow.speed, fast.speed) == ("1", "4")
    assert slow.mean_mm == pytest.approx(8.001)
    assert fast.mean_mm == pytest.approx(8.03)


def test_one_point_has_no_plus_minus_and_says_so() -> None:
    (found,) = running_means([(1.0, 8.0)])

    assert found.half_mm is None
    assert found.words == "8.0000 mm, ± none yet"


def test_no_point_has_no_mean() -> None:
    assert running_means([]) == ()
