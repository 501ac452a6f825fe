"""Fleiss, Psychological Bulletin 76, 378 (1971): 30 patients, 6 diagnoses of each.

The table and the kappa of 0.430 stand in the test suite of statsmodels, which has the
first from a public package; the paper was not opened. Kappas by category from memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.tests.test_inter_rater import diagnoses

from rig.analysis.study.agreement import Rating, agreement


def rated(table: np.ndarray) -> list[Rating]:
    """Return the ratings of a table of parts by appraisers."""
    return [
        Rating(part=f"patient {i}", appraiser=f"rater {j}", rating=str(value))
        for (i, j), value in np.ndenumerate(np.asarray(table))
    ]


def test_published_kappa_of_the_diagnoses() -> None:
    found = agreement(rated(diagnoses))

    assert found.between is not None
    assert found.between.value == pytest.approx(0.430, abs=5e-4)
    # Published: mean agreement 0.5556 and 0.220 by chance
    assert found.between.observed == pytest.approx(0.556, abs=5e-4)
    assert found.between.expected == pytest.approx(0.220, abs=5e-4)


@pytest.mark.parametrize(
    ("category", "kappa"),
    [("1", 0.245), ("2", 0.245), ("3", 0.520), ("4", 0.471), ("5", 0.566)],
)
def test_published_kappa_of_a_category(category: str, kappa: float) -> None:
    found = {one.name: one.value for one in agreement(rated(diagnoses)).by_category}

    assert found[category] == pytest.approx(kappa, abs=5e-4)


@pytest.mark.parametrize(
    "table",
    [
        [[44, 5, 1], [7, 20, 3], [9, 5, 6]],
        [[0, 4, 1], [0, 8, 0], [0, 1, 5]],
        [[20, 5], [10, 15]],
    ],
)
def test_two_raters_agree_as_statsmodels_has_it(table: list[list[int]]) -> None:
    pairs = [
        (str(i), str(j))
        for (i, j), count in np.ndenumerate(np.array(table))
        for _ in range(count)
    ]
    beside = cohens_kappa(table)

    (found,) = agreement(rated(np.array(pairs))).pairs

    assert found.value == pytest.approx(beside.kappa, abs=1e-12)
    # Half the width on the scale of log(1 - kappa), over Student's factor; its n where
    # ours has n - 1
    assert found.interval is not None
    from scipy.stats import t

    n = len(pairs)
    half = 0.5 * np.log((1 - found.interval.lower) / (1 - found.interval.upper))
    error = half / t.ppf(0.975, n - 1) * (1 - found.value)
    assert error == pytest.approx(beside.std_kappa * np.sqrt(n / (n - 1)), rel=1e-9)
