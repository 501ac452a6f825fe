"""Mean and standard deviation against NIST StRD, univariate sets.

Certified figures from memory of the StRD pages; the data reproduce them to 11 digits.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.numbers.uncertainty import mean_and_sd

# Michelson's speed of light 1879, (value - 299) * 1000 in file order
MICHELSON = (
    "850 740 900 1070 930 850 950 980 980 880 1000 980 930 650 760 810 1000 1000 960"
    " 960 960 940 960 940 880 800 850 880 900 840 830 790 810 880 880 830 800 790 760"
    " 800 880 880 880 860 720 720 620 860 970 950 880 910 850 870 840 840 850 840 840"
    " 840 890 810 810 820 800 770 760 740 750 760 910 920 890 860 880 720 840 850 850"
    " 780 890 840 780 810 760 810 790 810 820 850 870 870 810 740 810 940 950 800 810"
    " 870"
)


def alternating(first: float, low: float, high: float) -> list[float]:
    return [first, *[low, high] * 500]


SETS = [
    # name, data, certified mean, certified sd, digits of the mean, digits of the sd
    ("NumAcc1", [10000001.0, 10000003.0, 10000002.0], 10000002.0, 1.0, 13, 13),
    ("NumAcc2", alternating(1.2, 1.1, 1.3), 1.2, 0.1, 13, 13),
    ("NumAcc3", alternating(1e6 + 0.2, 1e6 + 0.1, 1e6 + 0.3), 1e6 + 0.2, 0.1, 13, 9),
    ("NumAcc4", alternating(1e7 + 0.2, 1e7 + 0.1, 1e7 + 0.3), 1e7 + 0.2, 0.1, 13, 8),
    (
        "Michelso",
        [299.0 + float(x) / 1000.0 for x in MICHELSON.split()],
        299.8524,
        0.0790105478190518,
        13,
        12,
    ),
]


def digits(found: float, certified: float) -> float:
    """Log relative error, the number of digits that agree."""
    error = abs(found - certified) / abs(certified)
    return math.inf if error == 0.0 else -math.log10(error)


@pytest.mark.parametrize(
    ("data", "mean", "sd", "mean_digits", "sd_digits"),
    [case[1:] for case in SETS],
    ids=[case[0] for case in SETS],
)
def test_certified_mean_and_sd(
    data: list[float], mean: float, sd: float, mean_digits: int, sd_digits: int
) -> None:
    found_mean, found_sd = mean_and_sd(data)

    assert digits(float(found_mean), mean) >= mean_digits
    assert digits(float(found_sd), sd) >= sd_digits


def test_rows_are_taken_one_by_one() -> None:
    rows = np.array([SETS[0][1], [1.0, 2.0, 6.0]])

    mean, sd = mean_and_sd(rows)

    assert mean == pytest.approx([10000002.0, 3.0], rel=1e-15)
    assert sd == pytest.approx([1.0, math.sqrt(7.0)], rel=1e-14)


def test_too_few_or_no_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="2 readings"):
        mean_and_sd([1.0])
    with pytest.raises(ValueError, match="finite"):
        mean_and_sd([1.0, math.nan])
