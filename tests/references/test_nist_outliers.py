"""NIST/SEMATECH e-Handbook 1.3.5.17: Grubbs' test and Rosner's, from memory.

Every printed statistic and critical value is reproduced from the data.
"""

from __future__ import annotations

import pytest

from rig.analysis.batch.outliers import find_outliers

# 1.3.5.17.1, mass spectrometer
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]

# 1.3.5.17.3, Rosner 1983
VITAMIN = """
-0.25 0.68 0.94 1.15 1.20 1.26 1.26 1.34 1.38 1.43 1.49 1.49 1.55 1.56 1.58 1.65 1.69
1.70 1.76 1.77 1.81 1.91 1.94 1.96 1.99 2.06 2.09 2.10 2.14 2.15 2.23 2.24 2.26 2.35
2.37 2.40 2.47 2.54 2.62 2.64 2.90 2.92 2.92 2.93 3.21 3.26 3.30 3.59 3.68 4.30 4.64
5.34 5.42 6.01
"""
STATISTICS = [3.118, 2.942, 3.179, 2.810, 2.815, 2.848, 2.279, 2.310, 2.101, 2.067]
CRITICAL = [3.158, 3.151, 3.143, 3.136, 3.128, 3.120, 3.111, 3.103, 3.094, 3.085]


def test_grubbs() -> None:
    # The handbook's critical value 2.032 is one-sided at 5 %, so two-sided at 10 %
    result = find_outliers(URANIUM, at_most=1, significance=0.10)

    assert result.statistics[0] == pytest.approx(2.4687, abs=1e-4)
    assert result.critical[0] == pytest.approx(2.032, abs=5e-4)
    assert [outlier.index for outlier in result.outliers] == [7]
    assert result.test == "Grubbs"


def test_rosner() -> None:
    values = [float(word) for word in VITAMIN.split()]

    result = find_outliers(values, at_most=10)

    assert len(values) == 54
    assert result.statistics == pytest.approx(STATISTICS, abs=1.01e-3)
    assert result.critical == pytest.approx(CRITICAL, abs=1.01e-3)
    # Three, although the first two steps alone stay below their critical values
    assert [outlier.index for outlier in result.outliers] == [53, 52, 51]
