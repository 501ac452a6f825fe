"""NIST/SEMATECH e-Handbook 6.3.2.2: individuals chart of flow rates, from memory.

The limits printed there are reproduced from the ten values, which confirms both.
"""

from __future__ import annotations

import pytest

from rig.analysis.batch.control_charts import individuals_chart

FLOW_RATE = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_limits_of_the_flow_rates() -> None:
    chart = individuals_chart(FLOW_RATE)

    assert chart.location.centre == pytest.approx(50.81, abs=1e-9)
    assert chart.spread.centre == pytest.approx(1.8778, abs=5e-5)
    # Printed with d2 rounded to 1.128
    assert chart.location.upper == pytest.approx(55.8041, abs=2e-3)
    assert chart.location.lower == pytest.approx(45.8159, abs=2e-3)
    assert chart.location.signals == ()
