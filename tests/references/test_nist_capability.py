"""NIST/SEMATECH e-Handbook 6.1.6: Cp and Cpk of its example, from memory."""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.batch.capability import capability
from rig.analysis.limits.verdict import Limits


def test_example() -> None:
    # Limits 8 and 20, mean 16, s 2: Cp 1.0, Cpk 0.6667, upper 0.6667, lower 1.3333
    shape = np.array([-1.0, 0.0, 1.0])
    values = 16.0 + 2.0 * shape
    limits = Limits(lower=8.0, upper=20.0, unit="mm", source="example")

    result = capability(values, limits)

    assert float(np.std(values, ddof=1)) == pytest.approx(2.0)
    assert result.cp == pytest.approx(1.0, abs=1e-12)
    assert result.cpk == pytest.approx(0.6667, abs=5e-5)
    assert result.upper_index == pytest.approx(0.6667, abs=5e-5)
    assert result.lower_index == pytest.approx(1.3333, abs=5e-5)
