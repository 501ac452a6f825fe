"""JCGM 100:2008 (GUM): examples H.1 to H.3, H.5 and 4.4.3, and table G.2.

H.1's inputs also stand in a public test suite; the data of H.2, H.3, H.5 and 4.4.3 are
from memory, and every digit that is published is reproduced from them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.edges.speed import fit_speed
from rig.analysis.numbers.one_way import one_way
from rig.analysis.numbers.ratio import ratio
from rig.analysis.numbers.uncertainty import (
    coverage_factor,
    expand,
    figure,
    mean_and_sd,
)
from rig.model.figures import Contribution, Evaluation, Figure
from tests.references.readings import groups_with


def test_h1_end_gauge() -> None:
    # Standard, three parts of the difference, coefficient and temperature; nm
    uncertainties = [25.0, 5.8, 3.9, 6.7, 2.9, 16.6]
    dof = [18.0, 24.0, 5.0, 8.0, 50.0, 2.0]

    whole = expand(uncertainties, dof, coverage=0.99)

    assert float(whole.standard_uncertainty) == pytest.approx(32.0, abs=0.5)
    assert float(whole.standard_uncertainty) ** 2 == pytest.approx(1002.0, abs=1.0)
    assert math.floor(float(whole.degrees_of_freedom)) == 16
    assert float(whole.degrees_of_freedom) == pytest.approx(16.7, abs=0.1)
    # t99(16) = 2.92; printed U99 = 93 nm from u rounded up to 32 nm
    assert float(whole.coverage_factor) == pytest.approx(2.9208, abs=5e-5)
    assert float(whole.coverage_factor) * 32.0 == pytest.approx(93.0, abs=0.5)


def test_h3_calibration_line() -> None:
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999]
    t += [24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165]
    b += [-0.156, -0.157, -0.159, -0.161, -0.160]

    # The straight line of the product; its abscissa is above 0 from 20 degrees up
    fit = fit_speed(np.array(t) - 20.0, b)

    assert fit.slope is not None
    assert float(fit.at_rest) == pytest.approx(-0.1712, abs=5e-5)
    assert float(fit.residual_sd) * fit.at_rest_factor == pytest.approx(
        0.0029, abs=5e-5
    )
    assert float(fit.slope) == pytest.approx(0.00218, abs=5e-6)
    assert float(fit.residual_sd) * fit.slope_factor == pytest.approx(0.00067, abs=5e-6)
    assert float(fit.residual_sd) == pytest.approx(0.0035, abs=5e-5)
    assert float(fit.at_rest + 10.0 * fit.slope) == pytest.approx(-0.1494, abs=5e-5)


def test_h5_between_day_scatter() -> None:
    # Daily means less 10 V and daily standard deviations of 5 readings; microvolts
    means = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41]
    sds = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86]

    table = one_way(groups_with(means, sds, 5))

    assert table.mean == pytest.approx(97.0, abs=0.5)
    # Printed s_a = 128, s_b = 85, F = 2.25 from rounded values
    assert math.sqrt(table.sum_of_squares_between / 9.0) == pytest.approx(
        128.0, abs=0.5
    )
    assert table.sd_within == pytest.approx(85.0, abs=0.5)
    assert table.f == pytest.approx(2.25, abs=0.02)
    assert (table.degrees_of_freedom_between, table.degrees_of_freedom_within) == (
        9,
        40,
    )
    # F95(9, 40) = 2.12 < F < F97.5(9, 40) = 2.45
    assert 0.025 < table.p < 0.05
    assert table.sd_between == pytest.approx(43.0, abs=0.5)


def test_4_4_3_twenty_readings() -> None:
    readings = [96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07]
    readings += [100.33, 100.42, 100.68, 100.95, 101.11, 101.20]
    readings += [101.57, 101.84, 102.36, 102.73]

    mean, sd = mean_and_sd(readings)

    assert float(mean) == pytest.approx(100.14, abs=6e-3)
    assert float(sd) == pytest.approx(1.49, abs=5e-3)
    assert float(sd) / math.sqrt(20.0) == pytest.approx(0.33, abs=5e-3)


# Degrees of freedom: t for 68.27, 90, 95, 95.45, 99, 99.73 %
TABLE_G2 = {
    1: (1.84, 6.31, 12.71, 13.97, 63.66, 235.8),
    2: (1.32, 2.92, 4.30, 4.53, 9.92, 19.21),
    5: (1.11, 2.02, 2.57, 2.65, 4.03, 5.51),
    10: (1.05, 1.81, 2.23, 2.28, 3.17, 3.96),
    16: (1.03, 1.75, 2.12, 2.17, 2.92, 3.54),
    50: (1.01, 1.68, 2.01, 2.05, 2.68, 3.16),
    math.inf: (1.000, 1.645, 1.960, 2.000, 2.576, 3.000),
}


@pytest.mark.parametrize("nu", TABLE_G2)
def test_table_g2(nu: float) -> None:
    shares = (0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973)

    found = [float(coverage_factor(nu, share)) for share in shares]

    assert found == pytest.approx(TABLE_G2[nu], rel=3e-4, abs=5e-3)


@pytest.mark.parametrize(("nu", "taken"), [(5.99, 5), (16.75, 16), (2.0, 2)])
def test_degrees_of_freedom_are_cut_before_the_look_up(nu: float, taken: int) -> None:
    # G.4.1, note 1
    assert float(coverage_factor(nu)) == pytest.approx(float(coverage_factor(taken)))


def test_h2_impedance_with_correlation_coefficients() -> None:
    # Readings from memory: V, mA and rad; every printed digit is reproduced from them
    volts = [5.007, 4.994, 5.005, 4.990, 4.999]
    milliamps = [19.663, 19.639, 19.640, 19.685, 19.678]
    readings = np.array([volts, np.array(milliamps) * 1e-3])
    covariance = np.cov(readings) / 5.0
    assert covariance[0, 1] / math.sqrt(
        covariance[0, 0] * covariance[1, 1]
    ) == pytest.approx(-0.36, abs=0.005)
    # Two causes that have nothing in common make the two correlated means
    root = np.linalg.cholesky(covariance)
    voltage, current = (
        figure(
            float(readings[row].mean()),
            "1",
            [
                Contribution(
                    name=f"cause {cause}",
                    evaluation=Evaluation.TYPE_A,
                    standard_uncertainty=1.0,
                    unit="1",
                    sensitivity=float(root[row, cause]),
                )
                for cause in range(row + 1)
            ],
            n=5,
        )
        for row in (0, 1)
    )

    impedance = ratio(voltage, current, shared=["cause 0"])
    apart = ratio(voltage, current)

    assert impedance.value == pytest.approx(254.260, abs=5e-4)
    assert standard(impedance) == pytest.approx(0.236, abs=5e-4)
    assert standard(apart) < 0.22


def standard(found: Figure) -> float:
    assert found.expanded_uncertainty is not None
    assert found.coverage_factor is not None
    return found.expanded_uncertainty / found.coverage_factor
