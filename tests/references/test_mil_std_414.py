"""MIL-STD-414, table B-1: s method, form k, as one public package holds it.

A second package's values of M convert to the same k within 0.01. ISO 3951-1 was not
opened.
"""

from __future__ import annotations

import pytest

from rig.analysis.acceptance.variables import estimated_share, variables_plan

TABLE = {
    5: (1.53, 1.40, 1.24, 1.07),
    7: (1.62, 1.50, 1.33, 1.15),
    10: (1.72, 1.58, 1.41, 1.23),
    15: (1.79, 1.65, 1.47, 1.30),
    20: (1.82, 1.69, 1.51, 1.33),
    25: (1.85, 1.72, 1.53, 1.35),
    35: (1.89, 1.76, 1.57, 1.39),
    50: (1.93, 1.80, 1.61, 1.42),
}


@pytest.mark.parametrize("n", TABLE)
def test_constants(n: int) -> None:
    found = tuple(variables_plan(n, aql_percent=aql).k for aql in (1.0, 1.5, 2.5, 4.0))

    assert found == TABLE[n]


# M at AQL 1.0 from the second package, and the k that it converts to
@pytest.mark.parametrize(
    ("n", "m_percent", "k"),
    [(5, 3.33, 1.5247), (7, 3.54, 1.6220), (10, 3.27, 1.7141), (35, 2.66, 1.8940)],
)
def test_form_m_and_form_k_agree(n: int, m_percent: float, k: float) -> None:
    assert 100.0 * estimated_share(k, n) == pytest.approx(m_percent, abs=0.005)
    assert variables_plan(n, aql_percent=1.0).k == pytest.approx(k, abs=0.01)
