"""NIST/SEMATECH e-Handbook 1.3.6.7: critical values, through the intervals they make.

Digits beyond the printed ones are recomputed.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.batch.batch_summary import summarise_parts
from rig.analysis.numbers.intervals import sd_interval
from rig.analysis.numbers.one_way import one_way
from tests.references.readings import groups_with

T_975 = {4: 2.7764, 5: 2.5706, 9: 2.2622, 10: 2.2281, 19: 2.0930, 29: 2.0452}
CHI2 = {  # 0.025 and 0.975
    5: (0.8312, 12.8325),
    10: (3.2470, 20.4832),
    20: (9.5908, 34.1696),
    29: (16.0471, 45.7223),
    99: (73.3611, 128.4220),
}


@pytest.mark.parametrize("nu", T_975)
def test_students_t_in_the_interval_of_a_mean(nu: int) -> None:
    x = np.arange(nu + 1.0)
    parts = [f"part {number}" for number in range(x.size)]

    interval = summarise_parts("s_r", parts, x, unit="mm", common=()).mean_interval

    half = 0.5 * (interval.upper - interval.lower)
    t = half * math.sqrt(x.size) / float(np.std(x, ddof=1))
    assert t == pytest.approx(T_975[nu], abs=5.1e-5)


@pytest.mark.parametrize("nu", CHI2)
def test_chi_squared_in_the_interval_of_a_spread(nu: int) -> None:
    interval = sd_interval(1.0, nu)

    assert (nu / interval.upper**2, nu / interval.lower**2) == pytest.approx(
        CHI2[nu], abs=5.1e-5
    )


def test_spread_of_ten_readings() -> None:
    interval = sd_interval(1.0, 9)

    assert interval.lower == pytest.approx(0.68784, abs=5e-6)
    assert interval.upper == pytest.approx(1.82561, abs=5e-6)


# F.95 for (numerator, denominator)
@pytest.mark.parametrize(
    ("groups", "n", "f95"), [(10, 5, 2.1240), (2, 6, 4.9646), (5, 5, 2.8661)]
)
def test_f_in_the_analysis_of_variance(groups: int, n: int, f95: float) -> None:
    # One group mean is off by so much that F comes out as the critical value
    means = np.zeros(groups)
    means[0] = math.sqrt(f95 / (n * (1.0 - 1.0 / groups) / (groups - 1.0)))

    table = one_way(groups_with(means.tolist(), [1.0] * groups, n))

    assert table.f == pytest.approx(f95, rel=1e-9)
    assert table.p == pytest.approx(0.05, abs=1e-5)
