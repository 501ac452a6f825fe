"""ISO 230-2: no published example was found; formulas from memory, data constructed.

Five runs -2, -1, 0, 1, 2 times a have the standard deviation a sqrt 2.5.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.axis.axis_test import AxisReadings, axis_test

RUNS = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
S = math.sqrt(2.5)
UP, DOWN = np.array([0.000, 0.004, 0.010]), np.array([-0.006, -0.003, 0.002])
A_UP, A_DOWN = np.array([0.001, 0.002, 0.001]), np.array([0.002, 0.001, 0.001])


def test_constructed_axis() -> None:
    result = axis_test(
        AxisReadings(
            targets_mm=np.array([0.0, 50.0, 100.0]),
            up_mm=UP[:, None] + A_UP[:, None] * RUNS,
            down_mm=DOWN[:, None] + A_DOWN[:, None] * RUNS,
        )
    )

    assert result.sd_up == pytest.approx(A_UP * S, abs=1e-12)
    assert result.reversal_at == pytest.approx([0.006, 0.007, 0.008], abs=1e-12)
    assert result.reversal == pytest.approx(0.008, abs=1e-12)
    assert result.mean_reversal.value == pytest.approx(0.007, abs=1e-12)
    assert result.mean_systematic == pytest.approx(0.009, abs=1e-12)
    assert result.systematic == pytest.approx(0.016, abs=1e-12)
    assert result.systematic_up == pytest.approx(0.010, abs=1e-12)
    assert result.systematic_down == pytest.approx(0.008, abs=1e-12)
    assert result.repeatability_up == pytest.approx(0.008 * S, abs=1e-12)
    assert result.repeatability_down == pytest.approx(0.008 * S, abs=1e-12)
    # At the middle target: 2 (2 + 1) um S + 7 um
    assert result.repeatability == pytest.approx(0.006 * S + 0.007, abs=1e-12)
    # From -6 um - 4 um S to 10 um + 2 um S
    assert result.accuracy == pytest.approx(0.016 + 0.006 * S, abs=1e-12)
    assert result.accuracy_up == pytest.approx(0.010 + 0.004 * S, abs=1e-12)
    # From -6 um - 4 um S to 2 um + 2 um S
    assert result.accuracy_down == pytest.approx(0.008 + 0.006 * S, abs=1e-12)


def test_repeatability_may_come_from_one_direction_alone() -> None:
    result = axis_test(
        AxisReadings(
            targets_mm=np.array([0.0, 50.0]),
            up_mm=np.array([0.005 * RUNS, 0.005 * RUNS]),
            down_mm=np.zeros((2, 5)),
        )
    )

    # 4 s up is larger than 2 s up + 2 s down + |B|
    assert result.repeatability == pytest.approx(0.020 * S, abs=1e-12)
    assert result.statements == ("2 target positions; ISO 230-2 asks for at least 5",)
