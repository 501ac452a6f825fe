"""AIAG, Measurement Systems Analysis, 4th ed.: 10 parts, 3 appraisers, 3 trials.

The data and the published analysis of variance stand in two independent public test
suites; the manual itself was not opened. Printed values of average and range are from
memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.batch.control_constants import associated_d2, range_moments
from rig.analysis.study.measurement_system import AnovaRow, crossed_study
from rig.analysis.study.study_results import average_and_range

# Columns A1 A2 A3 B1 B2 B3 C1 C2 C3
READINGS = np.array(
    [
        [0.29, 0.41, 0.64, 0.08, 0.25, 0.07, 0.04, -0.11, -0.15],
        [-0.56, -0.68, -0.58, -0.47, -1.22, -0.68, -1.38, -1.13, -0.96],
        [1.34, 1.17, 1.27, 1.19, 0.94, 1.34, 0.88, 1.09, 0.67],
        [0.47, 0.50, 0.64, 0.01, 1.03, 0.20, 0.14, 0.20, 0.11],
        [-0.80, -0.92, -0.84, -0.56, -1.20, -1.28, -1.46, -1.07, -1.45],
        [0.02, -0.11, -0.21, -0.20, 0.22, 0.06, -0.29, -0.67, -0.49],
        [0.59, 0.75, 0.66, 0.47, 0.55, 0.83, 0.02, 0.01, 0.21],
        [-0.31, -0.20, -0.17, -0.63, 0.08, -0.34, -0.46, -0.56, -0.49],
        [2.26, 1.99, 2.01, 1.80, 2.12, 2.19, 1.77, 1.45, 1.87],
        [-1.36, -1.25, -1.31, -1.68, -1.62, -1.50, -1.49, -1.77, -2.16],
    ]
).reshape(10, 3, 3)


def rows(table: tuple[AnovaRow, ...]) -> dict[str, AnovaRow]:
    return {row.source: row for row in table}


# Source: degrees of freedom, SS, MS, F; published to 4 or 5 digits
PUBLISHED = {
    "part": (9, 88.3619, 9.81799, 492.291),
    "appraiser": (2, 3.1673, 1.58363, 79.406),
    "part x appraiser": (18, 0.3590, 0.01994, 0.434),
    "repeatability": (60, 2.7589, 0.04598, None),
}


@pytest.mark.parametrize("source", PUBLISHED)
def test_published_analysis_of_variance(source: str) -> None:
    row = rows(crossed_study(READINGS).full)[source]
    dof, squares, mean_square, f = PUBLISHED[source]

    assert row.degrees_of_freedom == dof
    assert row.sum_of_squares == pytest.approx(squares, abs=5.1e-5)
    assert row.mean_square == pytest.approx(mean_square, abs=5.1e-6)
    if f is not None:
        assert row.f == pytest.approx(f, abs=6e-4)


def test_published_total_and_interaction() -> None:
    table = rows(crossed_study(READINGS).full)

    assert table["total"].degrees_of_freedom == 89
    assert table["total"].sum_of_squares == pytest.approx(94.6471, abs=5e-5)
    assert table["part x appraiser"].p == pytest.approx(0.974, abs=5e-4)


def test_spreads_with_the_interaction_pooled() -> None:
    study = crossed_study(READINGS)
    s = study.spreads
    table = rows(study.rows)

    assert study.pooled
    assert table["repeatability"].degrees_of_freedom == 78
    assert table["repeatability"].mean_square == pytest.approx(0.039973276, abs=5e-9)
    assert table["part"].f == pytest.approx(245.614, abs=5e-4)
    assert table["appraiser"].f == pytest.approx(39.6172, abs=5e-5)
    assert s.repeatability == pytest.approx(0.199933, abs=5e-6)
    assert s.reproducibility == pytest.approx(0.226838, abs=5e-6)
    assert s.measurement == pytest.approx(0.302373, abs=5e-6)  # published
    assert s.part == pytest.approx(1.042327, abs=5e-6)
    assert s.total == pytest.approx(1.0853, abs=5e-5)
    shares = [
        s.share_of_total(sd)
        for sd in (s.repeatability, s.reproducibility, s.measurement, s.part)
    ]
    assert shares == pytest.approx([18.42, 20.90, 27.86, 96.04], abs=0.02)
    assert [share * share / 100.0 for share in shares] == pytest.approx(
        [3.39, 4.37, 7.76, 92.24], abs=0.02
    )
    assert s.categories_ratio == pytest.approx(4.861, abs=1e-3)
    assert s.categories == 4


def test_components_without_pooling() -> None:
    study = crossed_study(READINGS, pool_above=0.99)

    assert not study.pooled
    assert study.spreads.repeatability == pytest.approx(0.214435, abs=5e-6)
    assert study.components["interaction"] == pytest.approx(-0.00868, abs=5e-6)


def test_average_and_range() -> None:
    result = average_and_range(READINGS)

    assert result.mean_ranges == pytest.approx([0.184, 0.513, 0.328], abs=1e-4)
    assert result.mean_range == pytest.approx(0.3417, abs=1e-4)
    assert result.appraiser_means == pytest.approx(
        [0.190333, 0.068333, -0.254333], abs=1e-4
    )
    assert result.appraiser_difference == pytest.approx(0.444667, abs=1e-4)
    assert result.part_range == pytest.approx(3.511111, abs=1e-4)


def test_both_methods_differ_on_the_same_data_and_say_which_they_are() -> None:
    anova, ranges = crossed_study(READINGS), average_and_range(READINGS)

    # Printed from memory: EV 0.20188, AV 0.22963, GRR 0.30575, PV 1.10456, TV 1.14610
    s = ranges.spreads
    found = (s.repeatability, s.reproducibility, s.measurement, s.part, s.total)
    assert found == pytest.approx(
        (0.20188, 0.22963, 0.30575, 1.10456, 1.14610), abs=3e-4
    )
    assert abs(s.measurement - anova.spreads.measurement) > 0.003
    assert "variance" in anova.method
    assert "range" in ranges.method


# K1 = 1/d2, K2 and K3 = 1/d2*
def test_factors() -> None:
    assert 1.0 / range_moments(2)[0] == pytest.approx(0.8862, abs=5e-5)
    assert 1.0 / range_moments(3)[0] == pytest.approx(0.5908, abs=5e-5)
    assert 1.0 / associated_d2(2, 1) == pytest.approx(0.7071, abs=5e-5)
    assert 1.0 / associated_d2(3, 1) == pytest.approx(0.5231, abs=5e-5)
    assert 1.0 / associated_d2(10, 1) == pytest.approx(0.3146, abs=5e-5)
