"""NIST StRD, Norris: ozone read by a customer's monitor against NIST's, certified.

Data and certified figures from memory of the StRD page; the data reproduce them to 10
digits, which no mistaken reading would.
"""

from __future__ import annotations

import pytest
from scipy.stats import t

from rig.analysis.study.linearity import linearity

READING = (
    "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8"
    " 339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5"
    " 778.9 10.2 117.6 228.9 668.4 449.2 0.2"
)
REFERENCE = (
    "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9"
    " 338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0"
    " 779.0 11.1 118.3 229.2 669.1 448.9 0.5"
)
CERTIFIED_SLOPE, SLOPE_ERROR = 1.00211681802045, 0.429796848199937e-03
CERTIFIED_INTERCEPT, INTERCEPT_ERROR = -0.262323073774029, 0.232818234301152
CERTIFIED_SD = 0.884796396144373


def test_certified_line() -> None:
    readings = [float(x) for x in READING.split()]
    references = [float(x) for x in REFERENCE.split()]
    found = linearity([str(x) for x in references], references, readings)
    reach = t.ppf(0.975, 34)

    # The bias is the reading less the reference, so its slope is one less
    assert found.slope + 1.0 == pytest.approx(CERTIFIED_SLOPE, rel=1e-10)
    assert found.intercept == pytest.approx(CERTIFIED_INTERCEPT, rel=1e-8)
    assert found.residual_sd == pytest.approx(CERTIFIED_SD, rel=1e-10)
    assert found.slope_interval.upper - found.slope == pytest.approx(
        reach * SLOPE_ERROR, rel=1e-9
    )
    assert found.intercept_interval.upper - found.intercept == pytest.approx(
        reach * INTERCEPT_ERROR, rel=1e-9
    )
