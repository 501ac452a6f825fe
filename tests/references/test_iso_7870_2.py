"""Constants that ISO 7870-2, ASTM E2587 and NIST e-Handbook 6.3.2 print.

Recomputed by integration to 4 digits; printed tables round to 3.
"""

from __future__ import annotations

import math

import pytest

from rig.analysis.batch.control_constants import chart_constants, range_moments

# n: d2, d3, c4, A2, D3, D4, A3, B3, B4
TABLE = {
    2: (1.1284, 0.8525, 0.7979, 1.8800, 0, 3.2665, 2.6587, 0, 3.2665),
    3: (1.6926, 0.8884, 0.8862, 1.0233, 0, 2.5746, 1.9544, 0, 2.5682),
    4: (2.0588, 0.8798, 0.9213, 0.7286, 0, 2.2821, 1.6281, 0, 2.2660),
    5: (2.3259, 0.8641, 0.9400, 0.5768, 0, 2.1145, 1.4273, 0, 2.0890),
    6: (2.5344, 0.8480, 0.9515, 0.4832, 0, 2.0038, 1.2871, 0.0304, 1.9696),
    7: (2.7044, 0.8332, 0.9594, 0.4193, 0.0757, 1.9243, 1.1819, 0.1177, 1.8823),
    8: (2.8472, 0.8198, 0.9650, 0.3725, 0.1362, 1.8638, 1.0991, 0.1851, 1.8149),
    9: (2.9700, 0.8078, 0.9693, 0.3367, 0.1840, 1.8160, 1.0317, 0.2391, 1.7609),
    10: (3.0775, 0.7971, 0.9727, 0.3083, 0.2230, 1.7770, 0.9754, 0.2837, 1.7163),
}


@pytest.mark.parametrize("n", TABLE)
def test_constants(n: int) -> None:
    c = chart_constants(n)

    found = (
        c.d2,
        c.d3,
        c.c4,
        c.a2,
        c.d3_lower,
        c.d4_upper,
        c.a3,
        c.b3_lower,
        c.b4_upper,
    )
    assert found == pytest.approx(TABLE[n], abs=6e-5)


# Closed forms
def test_exact_values() -> None:
    assert range_moments(2)[0] == pytest.approx(2.0 / math.sqrt(math.pi), abs=1e-10)
    assert range_moments(3)[0] == pytest.approx(3.0 / math.sqrt(math.pi), abs=1e-10)
    assert chart_constants(2).d4_upper == pytest.approx(
        1.0 + 3.0 * math.sqrt(math.pi / 2.0 - 1.0), abs=1e-9
    )
