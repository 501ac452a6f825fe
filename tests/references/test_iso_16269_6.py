"""Factors that ISO 16269-6 tabulates, recomputed; the standard was not opened.

The two-sided columns agree to 3 digits with public tables (n = 10: 2.86, 3.39, 4.44).
"""

from __future__ import annotations

import pytest

from rig.analysis.batch.tolerance import howe_factor, one_sided_factor, two_sided_factor

# (content, confidence) of the columns
COLUMNS = [(0.90, 0.95), (0.95, 0.95), (0.99, 0.95), (0.95, 0.99)]
ONE_SIDED = {
    3: (6.1553, 7.6559, 10.5527, 17.3702),
    5: (3.4066, 4.2027, 5.7411, 6.5783),
    10: (2.3546, 2.9110, 3.9811, 3.7383),
    30: (1.7773, 2.2198, 3.0639, 2.5155),
    100: (1.5267, 1.9265, 2.6840, 2.0563),
}
TWO_SIDED = {
    3: (8.3059, 9.7888, 12.6471, 22.1308),
    5: (4.2906, 5.0769, 6.5980, 7.8697),
    10: (2.8563, 3.3934, 4.4369, 4.2942),
    30: (2.1451, 2.5549, 3.3546, 2.8509),
    100: (1.8748, 2.2339, 2.9355, 2.3572),
}
HOWE = {3: 9.9928, 5: 5.0935, 10: 3.3819, 30: 2.5496, 100: 2.2328}


@pytest.mark.parametrize("n", ONE_SIDED)
def test_one_sided(n: int) -> None:
    found = [one_sided_factor(n, *column) for column in COLUMNS]

    assert found == pytest.approx(ONE_SIDED[n], abs=5e-4)


@pytest.mark.parametrize("n", TWO_SIDED)
def test_two_sided(n: int) -> None:
    found = [two_sided_factor(n, *column) for column in COLUMNS]

    assert found == pytest.approx(TWO_SIDED[n], abs=5e-4)


@pytest.mark.parametrize("n", HOWE)
def test_howe_is_close_but_not_exact(n: int) -> None:
    assert howe_factor(n, 0.95, 0.95) == pytest.approx(HOWE[n], abs=5e-4)
