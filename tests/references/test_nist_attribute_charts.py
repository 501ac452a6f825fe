"""Attribute charts: NIST/SEMATECH e-Handbook 6.3.3, and a u chart of unlike samples.

6.3.3.2, misregistered chips of 30 wafers of 50 chips: the values from memory; their
average .2313 is printed there, as quoted in an exercise on that page that was opened.
6.3.3.1, defects of 25 wafers: from memory, centre 16, limits 4 and 28.
Dyed cloth, defects in rolls of unlike length: D. C. Montgomery, Introduction to
Statistical Quality Control, from memory: centre 1.42, limits to two decimals.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.batch.attribute_charts import rate_chart, share_chart
from rig.errors import InputError

WAFERS = [
    *(0.24, 0.30, 0.16, 0.20, 0.08, 0.14, 0.32, 0.18, 0.28, 0.20),
    *(0.10, 0.12, 0.34, 0.24, 0.44, 0.16, 0.20, 0.10, 0.26, 0.22),
    *(0.40, 0.36, 0.48, 0.30, 0.18, 0.24, 0.14, 0.26, 0.18, 0.12),
]
DEFECTS = [
    *(16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14),
    *(16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13),
]
CLOTH = [14, 12, 20, 11, 7, 10, 21, 16, 19, 23]
UNITS = [10.0, 8.0, 13.0, 10.0, 9.5, 10.0, 12.0, 10.5, 12.0, 12.5]
CLOTH_LIMITS = {0: (0.29, 2.55), 1: (0.16, 2.68), 2: (0.43, 2.41)}


def beyond(signals) -> list[int]:
    return [one.at for one in signals if one.rule == "1 point beyond 3 sigma"]


def test_the_share_chart_of_the_wafers() -> None:
    found = share_chart([round(50 * p) for p in WAFERS], [50] * 30)

    assert found.centre == pytest.approx(0.2313, abs=5e-5)
    # .2313 +- 3 sqrt(.2313 x .7687 / 50)
    assert found.upper == pytest.approx(0.4102, abs=1e-4)
    assert found.lower == pytest.approx(0.0524, abs=1e-4)
    assert beyond(found.signals) == [14, 22]  # .44 and .48


def test_the_rate_chart_of_the_wafers() -> None:
    found = rate_chart(DEFECTS, [1] * 25)

    assert found.centre == 16.0
    assert found.upper == pytest.approx(28.0)
    assert found.lower == pytest.approx(4.0)
    assert beyond(found.signals) == [23]  # 31; the third, 28, lies on the limit


def test_limits_of_the_cloth_follow_the_length_of_each_roll() -> None:
    found = rate_chart(CLOTH, UNITS)

    assert found.centre == pytest.approx(1.42, abs=5e-3)
    for at, (low, high) in CLOTH_LIMITS.items():
        # Printed with the centre rounded to 1.42
        assert found.lower[at] == pytest.approx(low, abs=1e-2)
        assert found.upper[at] == pytest.approx(high, abs=1e-2)
    assert beyond(found.signals) == []


def test_limits_are_cut_where_no_share_and_no_rate_can_be() -> None:
    found = share_chart([0, 1, 0, 9], [10, 10, 10, 10])

    assert np.all(found.lower == 0.0)
    assert np.all(rate_chart([0, 1, 0], [5, 5, 5]).lower == 0.0)
    assert np.all(share_chart([9, 10, 10], [10, 10, 10]).upper == 1.0)


def test_where_nothing_or_all_fails_no_rule_is_broken() -> None:
    for failing in (0, 8):
        found = share_chart([failing] * 12, [8] * 12)

        assert found.signals == ()
        assert np.all(found.lower == found.upper)


@pytest.mark.parametrize(
    ("counts", "sizes", "words"),
    [
        ([1, 2], [3, 4], "at least 3"),
        ([1, 2, 3], [3, 4], "at least 3|for 2 samples"),
        ([1, 2, 5], [3, 3, 3], "more parts fail"),
        ([-1, 2, 3], [3, 3, 3], "below 0"),
        ([0, 0, 0], [3, 0, 3], "empty"),
        ([0, math.nan, 0], [3, 3, 3], "counts"),
    ],
)
def test_counts_that_cannot_be_are_refused(counts, sizes, words) -> None:
    with pytest.raises(InputError, match=words):
        share_chart(counts, sizes)
