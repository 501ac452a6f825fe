"""NIST StRD, one-way analysis of variance: certified values.

SiRstv is written out here; the other sets are read from the files that scipy's wheel
carries (data from line 61, certified values in the header).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from rig.analysis.numbers.one_way import one_way

SIRSTV = [
    [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
    [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
]
# Set: SS between, SS within, F, residual sd, relative tolerance that doubles allow
CERTIFIED = {
    "AtmWtAg": (
        3.63834187500000e-09,
        1.04951729166667e-08,
        15.9467335677930,
        1.51048314446410e-05,
        1e-9,
    ),
    "SmLs01": (1.68, 1.80, 21.0, 0.1, 1e-12),
    "SmLs02": (16.08, 18.0, 201.0, 0.1, 1e-12),
    "SmLs03": (160.08, 180.0, 2001.0, 0.1, 1e-12),
    "SmLs04": (1.68, 1.80, 21.0, 0.1, 1e-8),
    "SmLs05": (16.08, 18.0, 201.0, 0.1, 1e-8),
    "SmLs06": (160.08, 180.0, 2001.0, 0.1, 1e-8),
    # At 1e12 the data themselves are rounded to about 1e-4
    "SmLs07": (1.68, 1.80, 21.0, 0.1, 1e-3),
    "SmLs08": (16.08, 18.0, 201.0, 0.1, 1e-3),
    "SmLs09": (160.08, 180.0, 2001.0, 0.1, 1e-3),
}


def test_sirstv() -> None:
    table = one_way(SIRSTV)

    assert table.degrees_of_freedom_between == 4
    assert table.degrees_of_freedom_within == 20
    assert table.sum_of_squares_between == pytest.approx(5.11462616e-02, rel=1e-9)
    assert table.sum_of_squares_within == pytest.approx(2.16636560e-01, rel=1e-9)
    assert table.f == pytest.approx(1.18046237440255, rel=1e-10)
    assert table.sd_within == pytest.approx(0.104076068334656, rel=1e-11)


@pytest.mark.parametrize("name", CERTIFIED)
def test_set_of_the_collection(name: str) -> None:
    folder = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"
    if not folder.is_dir():
        pytest.skip("this scipy comes without its test data")
    treatment, value = np.loadtxt(folder / f"{name}.dat", skiprows=60, unpack=True)
    between, within, f, sd, tolerance = CERTIFIED[name]

    table = one_way([value[treatment == t] for t in np.unique(treatment)])

    assert table.sum_of_squares_between == pytest.approx(between, rel=tolerance)
    assert table.sum_of_squares_within == pytest.approx(within, rel=tolerance)
    assert table.f == pytest.approx(f, rel=tolerance)
    assert table.sd_within == pytest.approx(sd, rel=tolerance)
