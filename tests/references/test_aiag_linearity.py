"""AIAG, Measurement Systems Analysis: linearity of 5 parts read 12 times, from memory.

The sums that the readings give are those that are printed there as slope, intercept and
mean bias of each part.
"""

from __future__ import annotations

import pytest

from rig.analysis.study.linearity import Linearity, linearity

READINGS = {
    2.0: "2.7 2.5 2.4 2.5 2.7 2.3 2.5 2.5 2.4 2.4 2.6 2.4",
    4.0: "5.1 3.9 4.2 5.0 3.8 3.9 3.9 3.9 3.9 4.0 4.1 3.8",
    6.0: "5.8 5.7 5.9 5.9 6.0 6.1 6.0 6.1 6.4 6.3 6.0 6.1",
    8.0: "7.6 7.7 7.8 7.7 7.8 7.8 7.8 7.7 7.8 7.5 7.6 7.7",
    10.0: "9.1 9.3 9.5 9.3 9.4 9.5 9.5 9.5 9.6 9.2 9.3 9.4",
}


def of_the_manual() -> Linearity:
    rows = [
        (f"part {reference:g}", reference, float(reading))
        for reference, own in READINGS.items()
        for reading in own.split()
    ]
    parts, references, readings = zip(*rows, strict=True)
    return linearity(parts, references, readings)


def test_printed_line_of_the_bias() -> None:
    found = of_the_manual()

    assert found.slope == pytest.approx(-0.1317, abs=5e-5)
    assert found.intercept == pytest.approx(0.7367, abs=5e-5)
    assert found.r_squared == pytest.approx(0.714, abs=5e-4)
    # Printed: s 0.23954, t of slope and intercept -12.043 and 10.158
    assert found.residual_sd == pytest.approx(0.23954, abs=5e-6)
    assert found.slope_p < 1e-15
    assert found.intercept_p < 1e-12


def test_printed_bias_of_each_part() -> None:
    found = [one.bias for one in of_the_manual().parts]

    assert found == pytest.approx(
        [0.491667, 0.125, 0.025, -0.291667, -0.616667], abs=5e-7
    )
