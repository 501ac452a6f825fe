"""Montgomery's worked examples of gauge studies and nested designs, from memory.

The sums of squares that he prints are the check that the tables are his: a mistaken
reading would move them.
"""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.study.component_study import Design, component_study
from rig.analysis.study.measurement_system import crossed_study
from rig.analysis.study.study_results import study_intervals
from rig.analysis.study.tolerance_share import tolerance_share

# Introduction to Statistical Quality Control: 20 parts, 3 operators, 2 readings each;
# the limits of the part are 5 and 60
GAUGE_TEXT = """
21 20 20 20 19 21   24 23 24 24 23 24   20 21 19 21 20 22   27 27 28 26 27 28
19 18 19 18 18 21   23 21 24 21 23 22   22 21 22 24 22 20   19 17 18 20 19 18
24 23 25 23 24 24   25 23 26 25 24 25   21 20 20 20 21 20   18 19 17 19 18 19
23 25 25 25 25 25   24 24 23 25 24 25   29 30 30 28 31 30   26 26 25 26 25 27
20 20 19 20 20 20   19 21 19 19 21 23   25 26 25 24 25 25   19 19 18 17 19 17
"""
TOLERANCE = 60.0 - 5.0
# Design and Analysis of Experiments: purity of 3 suppliers' raw material, 4 batches
# each, 3 readings of a batch
PURITY_TEXT = """
1 -1 0   -2 -3 -4   -2 0 1   1 4 0
1 -2 -3   0 4 2   -1 0 -2   0 3 2
2 4 0   -2 0 2   1 -1 2   3 2 1
"""
GAUGE = np.array(GAUGE_TEXT.split(), dtype=float).reshape(20, 3, 2)
PURITY = np.array(PURITY_TEXT.split(), dtype=float).reshape(3, 4, 3)


@pytest.mark.parametrize(
    ("source", "dof", "squares", "mean_square"),
    [
        ("part", 19, 1185.425, 62.391),
        ("appraiser", 2, 2.617, 1.308),
        ("part x appraiser", 38, 27.050, 0.712),
        ("repeatability", 60, 59.500, 0.992),
        ("total", 119, 1274.592, None),
    ],
)
def test_printed_analysis_of_variance_of_the_gauge(
    source: str, dof: int, squares: float, mean_square: float | None
) -> None:
    row = next(row for row in crossed_study(GAUGE).full if row.source == source)

    assert row.degrees_of_freedom == dof
    assert row.sum_of_squares == pytest.approx(squares, abs=6e-4)
    if mean_square is not None:
        assert row.mean_square == pytest.approx(mean_square, abs=6e-4)


def test_share_of_the_tolerance_with_the_interaction_pooled() -> None:
    study = crossed_study(GAUGE)
    interval = study_intervals(study).measurement
    found = tolerance_share(study.spreads.measurement, interval, TOLERANCE)

    # Printed: sigma squared 0.88 and 0.0106, 0.8938 together
    assert study.pooled
    assert study.spreads.measurement**2 == pytest.approx(0.8938, abs=5e-5)
    assert found.percent == pytest.approx(100.0 * 6.0 * 0.8938**0.5 / 55.0, abs=1e-3)
    assert found.interval.lower < found.percent < found.interval.upper


def nested_purity():
    labels = [(f"batch {b}", f"supplier {s}") for s, b, _ in np.ndindex(PURITY.shape)]
    batches, suppliers = zip(*labels, strict=True)
    return component_study(batches, suppliers, PURITY.ravel(), nested=True)


@pytest.mark.parametrize(
    ("source", "dof", "squares", "mean_square"),
    [
        ("appraiser", 2, 15.06, 7.53),
        ("part within appraiser", 9, 69.92, 7.77),
        ("repeatability", 24, 63.33, 2.64),
    ],
)
def test_printed_analysis_of_variance_of_the_nested_design(
    source: str, dof: int, squares: float, mean_square: float
) -> None:
    row = next(row for row in nested_purity().rows if row.source == source)

    assert row.degrees_of_freedom == dof
    assert row.sum_of_squares == pytest.approx(squares, abs=6e-3)
    assert row.mean_square == pytest.approx(mean_square, abs=6e-3)


def test_printed_components_of_the_nested_design() -> None:
    study = nested_purity()

    assert study.design is Design.NESTED
    assert study.balanced
    assert study.parts == 12
    # Printed: batches (7.77 - 2.64) / 3 = 1.71, readings 2.64, suppliers below 0
    assert study.by_mean_squares["part within appraiser"] == pytest.approx(
        1.71, abs=6e-3
    )
    assert study.components["repeatability"] == pytest.approx(2.64, abs=6e-3)
    assert study.by_mean_squares["appraiser"] < 0.0
    assert study.components["appraiser"] == 0.0
