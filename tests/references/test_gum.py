"""Uncertainty against JCGM 100:2008 (GUM): 4.4.3, H.1 and table G.2.

The inputs of H.1 also stand in a public test suite; 4.4.3 and G.2 were recomputed.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.numbers.uncertainty import (
    coverage_factor,
    effective_degrees_of_freedom,
    expand,
    expand_budget,
    mean_and_sd,
    rectangular,
)
from rig.model.figures import Contribution, Evaluation

# GUM 4.4.3, table 1: 20 readings of a temperature, degrees Celsius
TEMPERATURES = (
    "96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07 100.33 100.42 100.68"
    " 100.95 101.11 101.20 101.57 101.84 102.36 102.73"
)

# GUM H.1, as printed: three of the comparator, nm and degrees of freedom
COMPARATOR = ([5.8, 3.9, 6.7], [24.0, 5.0, 8.0])
# Standard, comparator, difference in expansion, difference in temperature
END_GAUGE = ([25.0, 9.7, 2.9, 16.6], [18.0, 25.6, 50.0, 2.0])

# GUM table G.2: nu, then t for 68.27, 90, 95, 95.45, 99 and 99.73 %
TABLE_G2 = [
    (1, (1.84, 6.31, 12.71, 13.97, 63.66, 235.80)),
    (2, (1.32, 2.92, 4.30, 4.53, 9.92, 19.21)),
    (5, (1.11, 2.02, 2.57, 2.65, 4.03, 5.51)),
    (10, (1.05, 1.81, 2.23, 2.28, 3.17, 3.96)),
    (16, (1.03, 1.75, 2.12, 2.17, 2.92, 3.54)),
    (50, (1.01, 1.68, 2.01, 2.05, 2.68, 3.16)),
    (math.inf, (1.000, 1.645, 1.960, 2.000, 2.576, 3.000)),
]
# The table's heads are rounded; the exact ones are those of 1, 2 and 3 sigma
COVERAGES = (math.erf(1 / math.sqrt(2)), 0.90, 0.95, math.erf(2 / math.sqrt(2)), 0.99)
COVERAGES = (*COVERAGES, math.erf(3 / math.sqrt(2)))


def test_readings_of_4_4_3() -> None:
    mean, sd = mean_and_sd([float(x) for x in TEMPERATURES.split()])

    # Printed: 100.14 (the sum is 2002.91, so 100.1455 before rounding), 1.49, 0.33
    assert mean == pytest.approx(2002.91 / 20, rel=1e-14)
    assert mean == pytest.approx(100.14, abs=6e-3)
    assert round(float(sd), 2) == 1.49
    assert round(float(sd) / math.sqrt(20), 2) == 0.33


def test_comparator_of_h1() -> None:
    comparator = expand(*COMPARATOR)

    # Printed: 9.7 nm with 25.6 degrees of freedom, the latter from the rounded 9.7
    assert comparator.standard_uncertainty == pytest.approx(9.7, abs=0.05)
    rounded = (9.7 / comparator.standard_uncertainty) ** 4
    assert comparator.degrees_of_freedom * rounded == pytest.approx(25.6, abs=0.05)


def test_end_gauge_of_h1() -> None:
    whole = expand(*END_GAUGE, coverage=0.99)

    # Printed: 32 nm, 16.7 truncated to 16, t 2.92, 93 nm
    assert whole.standard_uncertainty == pytest.approx(31.67, abs=0.01)
    assert whole.degrees_of_freedom == pytest.approx(16.75, abs=0.05)
    assert whole.coverage_factor == pytest.approx(2.9208, abs=5e-5)
    assert whole.expanded_uncertainty == pytest.approx(93.0, abs=0.6)


def test_degrees_of_freedom_are_truncated_before_the_look_up() -> None:
    assert coverage_factor(16.99, 0.99) == coverage_factor(16.0, 0.99)
    assert coverage_factor(17.0, 0.99) < coverage_factor(16.99, 0.99)


def test_a_budget_gives_what_its_numbers_give() -> None:
    uncertainties, dof = END_GAUGE
    budget = [
        Contribution(
            name=str(i),
            evaluation=Evaluation.TYPE_B,
            standard_uncertainty=u / 2.0,
            unit="nm",
            sensitivity=-2.0,
            degrees_of_freedom=nu,
        )
        for i, (u, nu) in enumerate(zip(uncertainties, dof, strict=True))
    ]

    whole = expand_budget(budget, coverage=0.99)

    direct = expand(uncertainties, dof, coverage=0.99)
    assert whole.expanded_uncertainty == pytest.approx(direct.expanded_uncertainty)


@pytest.mark.parametrize(("nu", "factors"), TABLE_G2)
def test_table_g2(nu: float, factors: tuple[float, ...]) -> None:
    found = [float(coverage_factor(nu, p)) for p in COVERAGES]

    # Printed with two decimals, 235.80 and 13.97 for the rounded heads included
    assert found == pytest.approx(factors, abs=0.006)


@pytest.mark.parametrize(
    ("nu", "factor"),
    # NIST e-Handbook 1.3.6.7.2, 0.975 point of Student's t
    [(4, 2.7764), (9, 2.2622), (10, 2.2281), (29, 2.0452), (30, 2.0423), (100, 1.9840)],
)
def test_t_table_of_the_e_handbook(nu: int, factor: float) -> None:
    assert coverage_factor(nu) == pytest.approx(factor, abs=5e-5)


def test_no_factor_below_one_degree_of_freedom() -> None:
    assert np.isnan(coverage_factor(0.9))


def test_rectangle_of_half_width_four() -> None:
    # GUM 4.3.7, evaluated for a = 4
    assert rectangular(4.0) == pytest.approx(2.309401, abs=5e-7)


def test_known_contributions_do_not_limit_the_degrees_of_freedom() -> None:
    assert effective_degrees_of_freedom([1.0, 2.0], [math.inf, math.inf]) == math.inf
    assert effective_degrees_of_freedom([3.0, 0.0], [7.0, 0.0]) == pytest.approx(7.0)
