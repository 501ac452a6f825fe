"""NIST/SEMATECH e-Handbook 7.2.6.3: tolerance intervals for a normal distribution."""

from __future__ import annotations

import math

import pytest

from rig.analysis.batch.tolerance import howe_factor, one_sided_factor, two_sided_factor

# n = 43, content 90 %, confidence 99 %; values of 7.2.6.3 as a public worksheet
# reproduces them, longer digits recomputed
N, CONTENT, CONFIDENCE = 43, 0.90, 0.99


def test_howe() -> None:
    assert howe_factor(N, CONTENT, CONFIDENCE) == pytest.approx(2.2173, abs=5e-5)


def test_exact_two_sided_factor_recomputed() -> None:
    assert two_sided_factor(N, CONTENT, CONFIDENCE) == pytest.approx(2.22283, abs=5e-6)


def test_one_sided_factor() -> None:
    k = one_sided_factor(N, CONTENT, CONFIDENCE)

    assert k == pytest.approx(1.8740, abs=5e-5)
    # The noncentral t of the same page
    assert k * math.sqrt(N) == pytest.approx(12.28834, abs=5e-5)


def test_interval_of_the_resistivity_data() -> None:
    k = howe_factor(N, CONTENT, CONFIDENCE)

    # Mean 97.07, s 0.0268: 97.0106 to 97.1294
    assert 97.07 - k * 0.0268 == pytest.approx(97.0106, abs=1e-4)
    assert 97.07 + k * 0.0268 == pytest.approx(97.1294, abs=1e-4)
