"""Batches: table, outliers, charts, classes, comparison; constructed data."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rig.analysis.batch.batch_summary import BatchSummary, summarise_parts
from rig.analysis.batch.classes import sort_into_classes
from rig.analysis.batch.compare import compare_batches
from rig.analysis.batch.control_charts import (
    Chart,
    individuals_chart,
    run_rules,
    xbar_range_chart,
)
from rig.analysis.limits.verdict import Decision, Limits

LIMITS = Limits(lower=7.2, upper=8.8, unit="mm", source="made up")
RNG = np.random.default_rng(21)
GOOD = RNG.normal(8.0, 0.1, 30)


def summary(values: np.ndarray) -> BatchSummary:
    parts = [f"part {i + 1}" for i in range(len(values))]
    return summarise_parts(
        "s_r",
        parts,
        values,
        np.full(len(values), 0.01),
        unit="mm",
        limits=LIMITS,
        common=(),
    )


def test_an_outlier_is_flagged_and_counted() -> None:
    values = np.append(GOOD, 9.5)

    result = summary(values)

    assert [row.part for row in result.rows if row.outlier] == ["part 31"]
    assert result.n == 31
    assert result.mean == pytest.approx(values.mean())
    assert result.sd == pytest.approx(values.std(ddof=1))
    assert result.largest == 9.5
    assert any("flagged as outliers" in words for words in result.statements)
    assert result.decisions == {"conforms": 30, "does not conform": 1}


def test_a_clean_normal_batch_says_nothing() -> None:
    result = summary(GOOD)

    assert not any(row.outlier for row in result.rows)
    assert result.statements == ()
    assert result.capability is not None
    assert result.capability.cpk_lower_bound < result.capability.cpk


def test_a_batch_that_is_not_normal_says_so() -> None:
    result = summary(7.5 + RNG.exponential(0.2, 60))

    assert any("does not look normal" in words for words in result.statements)


def test_two_parts_are_a_batch_with_little_to_say() -> None:
    result = summary(np.array([8.0, 8.1]))

    assert result.normal_plot is None
    assert result.tolerance.factor > 30.0
    assert any("too few" in words for words in result.statements)


def test_parts_that_read_alike_have_no_capability() -> None:
    result = summary(np.full(5, 8.0))

    assert result.capability is None
    assert result.sd == 0.0


def test_without_uncertainties_no_part_is_decided_about() -> None:
    result = summarise_parts("s_r", ["a", "b"], [8.0, 8.1], unit="mm", limits=LIMITS)

    assert {row.decision for row in result.rows} == {Decision.UNDECIDED}
    assert any("no uncertainty" in words for words in result.statements)


# Patterns of the run rules, in sigma about 0: points, rule, index that completes it
PATTERNS = [
    ([0, 1, 3.1], "beyond 3 sigma", 2),
    ([0.1, 0.5, 0.2, 0.6, 0.1, 0.4, 0.3, 0.6, 0.2], "9 points in a row", 8),
    ([-0.9, -0.5, -0.1, 0.3, 0.7, 0.9], "rising or falling", 5),
    ([0.2, -0.2] * 7, "alternating", 13),
    ([2.1, 0.0, 2.2], "2 of 3", 2),
    ([1.1, 1.2, 0.0, 1.3, 1.4], "4 of 5", 4),
    ([0.5, -0.4, -0.6, 0.7, 0.1] * 3, "15 points in a row within", 14),
    ([1.5, 1.2, -1.1, -1.6, 1.4, -1.2, -1.3, 1.7], "8 points in a row beyond", 7),
]


@pytest.mark.parametrize(("points", "words", "at"), PATTERNS)
def test_a_pattern_is_found_where_it_is_complete(
    points: list[float], words: str, at: int
) -> None:
    signals = run_rules(points, 0.0, 1.0)
    shorter = run_rules(points[:-1], 0.0, 1.0)

    assert [s.at for s in signals if words in s.rule] == [at]
    assert not [s for s in shorter if words in s.rule]


def test_a_pattern_that_just_misses_is_not_found() -> None:
    # On the level itself, 5 rising, 8 on a side, 13 alternating, 2 of 4
    assert run_rules([3.0, -3.0], 0.0, 1.0) == ()
    assert run_rules([-0.9, -0.5, -0.1, 0.3, 0.7, 0.5], 0.0, 1.0) == ()
    assert run_rules([2.1, 0.0, 0.0, 2.2], 0.0, 1.0) == ()
    # A tie breaks a rise
    assert run_rules([-0.9, -0.5, -0.5, 0.3, 0.7, 0.9], 0.0, 1.0) == ()
    # Two of three, but on different sides
    assert run_rules([2.1, 0.0, -2.2], 0.0, 1.0) == ()


def test_a_steady_process_rarely_leaves_its_limits() -> None:
    chart = individuals_chart(np.random.default_rng(1).normal(8.0, 0.1, 20_000))

    beyond = [s for s in chart.location.signals if "3 sigma" in s.rule]
    # 0.27 % expected
    assert len(beyond) / 20_000 == pytest.approx(0.0027, abs=0.0015)
    assert chart.sigma == pytest.approx(0.1, rel=0.02)


def test_limits_of_means_and_ranges() -> None:
    subgroups = np.array([[1.0, 3.0], [2.0, 4.0], [3.0, 5.0]])

    pair = xbar_range_chart(subgroups)

    # Mean 3, mean range 2, A2 = 1.880, D4 = 3.267
    assert pair.location.centre == 3.0
    assert pair.location.upper == pytest.approx(3.0 + 1.880 * 2.0, abs=1e-3)
    assert pair.spread.upper == pytest.approx(3.267 * 2.0, abs=2e-3)
    assert pair.spread.lower == 0.0
    assert isinstance(pair.location, Chart)


def test_a_range_beyond_its_limit_is_a_signal() -> None:
    subgroups = np.tile([1.0, 2.0], (12, 1))
    subgroups[5] = [0.0, 9.0]

    pair = xbar_range_chart(subgroups)

    assert [s.at for s in pair.spread.signals] == [5]


def test_points_that_are_all_alike_break_no_rule() -> None:
    assert individuals_chart([8.0] * 20).location.signals == ()


def test_sorting_says_which_parts_could_be_in_the_next_class() -> None:
    result = sort_into_classes(
        ["a", "b", "c", "d"],
        [7.5, 7.99, 8.0, 9.0],
        [0.1, 0.05, 0.0, 2.0],
        bounds=[8.0, 8.5],
        names=["near", "middle", "far"],
    )

    assert [row.class_name for row in result.parts] == ["near", "near", "middle", "far"]
    assert [row.sure for row in result.parts] == [True, False, True, False]
    assert result.parts[1].may_be == ("near", "middle")
    assert result.parts[3].may_be == ("near", "middle", "far")
    assert result.counts == {"near": 2, "middle": 1, "far": 1}
    assert result.unsure == {"near": 1, "middle": 0, "far": 1}


def test_batches_that_do_not_differ_are_rarely_called_different() -> None:
    rng = np.random.default_rng(4)
    rejected = sum(
        compare_batches({"a": rng.normal(0, 1, 8), "b": rng.normal(0, 3, 15)})
        .pairs[0]
        .p
        < 0.05
        for _ in range(1000)
    )

    # Welch keeps its level with unequal spreads
    assert rejected / 1000 == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / 1000))


def test_several_pairs_come_with_a_warning() -> None:
    result = compare_batches({"a": [1, 2, 3], "b": [2, 3, 4.5], "c": [1, 2, 2.5]})

    assert len(result.pairs) == 3
    assert any("3 pairs" in words for words in result.statements)
