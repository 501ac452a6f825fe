"""What all parts of a batch have in common stays, however many parts there are."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.batch.batch_summary import summarise_parts
from rig.analysis.batch.common_errors import (
    CommonError,
    common_to_mean,
    difference_of,
    half_width,
)
from rig.analysis.batch.compare import compare_batches

RIG_U = 0.002
TRIALS = 2000


def error(origin: str, effect: float = RIG_U, name: str = "probe") -> CommonError:
    return CommonError(
        origin=origin, name=name, effect=effect, degrees_of_freedom=math.inf
    )


def test_ten_resistors_compared_with_one_standard() -> None:
    # JCGM 100:2008 (GUM), 5.2.2, example: 10 of 1000 ohm, each known to 100 milliohm
    # through one standard; their sum has 1 ohm, and not 0.32 ohm
    one = common_to_mean([[error("standard", 0.1)]] * 10)
    apart = common_to_mean([[error(f"standard {k}", 0.1)] for k in range(10)])

    assert 10.0 * math.hypot(*(e.effect for e in one)) == pytest.approx(1.0)
    assert 10.0 * math.hypot(*(e.effect for e in apart)) == pytest.approx(
        0.32, abs=0.005
    )


def test_an_error_of_one_rig_cancels_in_a_difference_and_that_of_two_does_not() -> None:
    same = difference_of([error("a")], [error("a")])
    other = difference_of([error("a")], [error("b")])

    assert math.hypot(*(e.effect for e in same)) == pytest.approx(0.0, abs=1e-15)
    assert math.hypot(*(e.effect for e in other)) == pytest.approx(
        math.sqrt(2.0) * RIG_U
    )


def test_without_anything_in_common_the_interval_is_students() -> None:
    # t(0.975, 9) = 2.262
    assert half_width(1.0, 9.0, (), 0.95) == pytest.approx(2.262, abs=5e-4)


@pytest.mark.long
def test_the_mean_of_a_batch_is_covered_with_what_is_common_and_not_without() -> None:
    rng = np.random.default_rng(8)
    covered = {True: 0, False: 0}
    for _ in range(TRIALS):
        x = 8.0 + rng.normal(0.0, RIG_U) + rng.normal(0.0, 0.002, 8)
        for known in covered:
            found = summarise_parts(
                "s_r",
                [str(k) for k in range(8)],
                list(x),
                unit="mm",
                common=[error("a")] if known else None,
            )
            low, high = found.mean_interval.lower, found.mean_interval.upper
            covered[known] += low <= 8.0 <= high

    assert 0.93 <= covered[True] / TRIALS <= 0.98
    assert covered[False] / TRIALS < 0.7


@pytest.mark.long
@pytest.mark.parametrize(("rigs", "bounds"), [(1, (0.03, 0.07)), (2, (0.02, 0.07))])
def test_equal_batches_are_rarely_told_apart(
    rigs: int, bounds: tuple[float, float]
) -> None:
    rng = np.random.default_rng(9)
    different = 0
    names = ("a", "a") if rigs == 1 else ("a", "b")
    common = {"one": [error(names[0])], "two": [error(names[1])]}
    for _ in range(TRIALS):
        first = rng.normal(0.0, RIG_U)
        second = first if rigs == 1 else rng.normal(0.0, RIG_U)
        batches = {
            "one": list(8.0 + first + rng.normal(0.0, 0.002, 30)),
            "two": list(8.0 + second + rng.normal(0.0, 0.002, 30)),
        }
        (pair,) = compare_batches(batches, common=common).pairs
        different += pair.p < 0.05

    assert bounds[0] <= different / TRIALS <= bounds[1]


@pytest.mark.parametrize(
    ("common", "words"),
    [
        ({"one": [error("a")], "two": [error("a")]}, "are the same, so what they"),
        ({"one": [error("a")], "two": [error("b")]}, "does not cancel"),
        (None, "cancels only where rig"),
    ],
)
def test_it_is_said_whether_it_cancels(common, words: str) -> None:
    batches = {"one": [8.0, 8.1, 8.05], "two": [8.2, 8.0, 8.1]}

    said = compare_batches(batches, common=common).statements

    assert any(words in sentence for sentence in said)
