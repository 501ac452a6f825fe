"""Single gauge, linearity, stability and agreement: bounds, refusals, closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from rig.analysis.numbers.intervals import Interval
from rig.analysis.study.agreement import Agreement, Rating, agreement
from rig.analysis.study.linearity import linearity
from rig.analysis.study.single_gauge import single_gauge
from rig.analysis.study.stability import stability
from rig.analysis.study.tolerance_share import tolerance_share
from rig.errors import InputError

READINGS = [8.004, 8.001, 7.999, 8.003, 8.002, 8.000, 8.005, 8.002, 8.001, 8.003]


def test_bias_and_its_interval_are_those_of_students_test() -> None:
    beside = stats.ttest_1samp(READINGS, 8.0)

    found = single_gauge(READINGS, reference=8.0, tolerance=0.2)

    assert found.p == pytest.approx(beside.pvalue)
    ends = beside.confidence_interval(0.95)
    assert found.bias_interval.lower == pytest.approx(ends.low - 8.0)
    assert found.bias_interval.upper == pytest.approx(ends.high - 8.0)


def test_capability_of_a_gauge_without_bias_is_the_same_by_both_indices() -> None:
    mean = float(np.mean(READINGS))

    found = single_gauge(READINGS, reference=mean, tolerance=0.2)

    assert found.cg == pytest.approx(0.2 * 0.2 / (6.0 * np.std(READINGS, ddof=1)))
    assert found.cgk == pytest.approx(found.cg)


def test_a_bias_of_a_tenth_of_the_tolerance_takes_all_capability() -> None:
    reference = float(np.mean(READINGS)) - 0.1 * 0.2

    assert single_gauge(
        READINGS, reference=reference, tolerance=0.2
    ).cgk == pytest.approx(0.0, abs=1e-9)


def test_a_coarse_step_widens_the_interval_of_the_spread() -> None:
    fine = single_gauge(READINGS, reference=8.0, tolerance=0.2)
    coarse = single_gauge(READINGS, reference=8.0, tolerance=0.2, step=0.005)

    assert coarse.sd_interval.upper > fine.sd_interval.upper
    assert coarse.cg_interval.lower < fine.cg_interval.lower
    assert coarse.step_percent == pytest.approx(2.5)


@pytest.mark.parametrize(
    ("readings", "reference", "tolerance", "words"),
    [
        ([8.0], 8.0, 0.2, "at least 2 needed"),
        ([8.0, 8.0, 8.0], 8.0, 0.2, "all readings are alike"),
        (READINGS, math.nan, 0.2, "the reference is nan"),
        (READINGS, 8.0, 0.0, "the tolerance is 0"),
        (READINGS, 8.0, -1.0, "the tolerance is -1"),
        (READINGS, 8.0, math.inf, "the tolerance is inf"),
    ],
)
def test_a_single_gauge_study_that_shows_nothing_is_refused(
    readings: list[float], reference: float, tolerance: float, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        single_gauge(readings, reference=reference, tolerance=tolerance)


def test_a_tolerance_takes_the_interval_along() -> None:
    found = tolerance_share(
        0.01, Interval(lower=0.005, upper=0.02, confidence=0.9), 0.6
    )

    assert found.percent == pytest.approx(10.0)
    assert (found.interval.lower, found.interval.upper) == pytest.approx((5.0, 20.0))
    assert found.interval.confidence == 0.9


def test_line_and_tests_of_linearity_are_those_of_scipy() -> None:
    rng = np.random.default_rng(2)
    x = np.repeat([2.0, 4.0, 6.0, 8.0], 5)
    y = x * 1.01 + 0.02 + rng.normal(0.0, 0.05, x.size)
    beside = stats.linregress(x, y - x)

    found = linearity([f"{v:g}" for v in x], x, y)

    assert found.slope == pytest.approx(beside.slope)
    assert found.slope_p == pytest.approx(beside.pvalue)
    assert found.intercept == pytest.approx(beside.intercept)
    assert found.r_squared == pytest.approx(beside.rvalue**2)


def test_means_that_bend_are_told_by_the_lack_of_fit() -> None:
    rng = np.random.default_rng(2)
    x = np.repeat([2.0, 4.0, 6.0, 8.0], 6)
    names = [f"{v:g}" for v in x]
    noise = rng.normal(0.0, 0.01, x.size)

    straight = linearity(names, x, 1.02 * x + noise).lack_of_fit_p
    bent = linearity(names, x, x + 0.02 * (x - 5.0) ** 2 + noise).lack_of_fit_p

    assert straight is not None
    assert straight > 0.05
    assert bent is not None
    assert bent < 1e-6


@pytest.mark.parametrize(
    ("parts", "references", "readings", "words"),
    [
        ("aab", (1, 1, 1), (1, 2, 3), "the same reference value"),
        ("aab", (1, 2, 3), (1, 2, 3), "part a has two reference values"),
        ("abc", (1, 2, 3), (2, 3, 4), "no reading lies off the line"),
        ("ab", (1, 2), (1, 2), "at least 3 needed"),
        ("abc", (1, 2), (1, 2, 3), "references: 2 given for 3 readings"),
    ],
)
def test_readings_that_draw_no_line_are_refused(
    parts: str,
    references: tuple[float, ...],
    readings: tuple[float, ...],
    words: str,
) -> None:
    with pytest.raises(InputError, match=words):
        linearity(list(parts), references, readings)


def days(count: int, size: int, slope: float = 0.0) -> tuple[list[str], np.ndarray]:
    rng = np.random.default_rng(11)
    names = [f"day {k}" for k in range(count) for _ in range(size)]
    values = 8.0 + slope * np.repeat(np.arange(count), size)
    return names, values + rng.normal(0.0, 0.01, count * size)


def test_a_steady_standard_breaks_no_rule_and_a_drifting_one_does() -> None:
    steady = stability(*days(20, 4))
    drifting = stability(*days(20, 4, slope=0.005), reference=8.0)

    assert steady.stable
    assert steady.drift_p > 0.05
    assert steady.bias is None
    assert not drifting.stable
    assert drifting.drift_p < 1e-6
    assert drifting.drift == pytest.approx(0.005, abs=0.001)
    assert drifting.bias == pytest.approx(0.0475, abs=0.005)


def test_drift_is_the_line_of_scipy_through_the_means() -> None:
    names, values = days(12, 3)
    beside = stats.linregress(range(12), values.reshape(12, 3).mean(axis=1))

    found = stability(names, values)

    assert found.drift == pytest.approx(beside.slope)
    assert found.drift_p == pytest.approx(beside.pvalue)


def test_single_readings_are_charted_as_individuals() -> None:
    found = stability(*days(15, 1))

    assert found.charts.spread.name == "moving range"
    assert found.between is None


@pytest.mark.parametrize(
    ("groups", "readings", "words"),
    [
        ("aabb", (1, 2, 3, 4), "2 subgroups show no course"),
        ("aabbc", (1, 2, 3, 4, 5), "the subgroups differ in size: 1 to 2 readings"),
        ("abc", (1, 1, 1), "all readings are alike"),
    ],
)
def test_readings_that_show_no_course_are_refused(
    groups: str, readings: tuple[float, ...], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        stability(list(groups), readings)


def rated(rows: dict[str, str], **options: object) -> Agreement:
    """Rate by words such as P1="A:good A:bad B:good"."""
    ratings = [
        Rating(part=part, appraiser=who, rating=what)
        for part, cells in rows.items()
        for who, _, what in (cell.partition(":") for cell in cells.split())
    ]
    return agreement(ratings, **options)


def test_shares_have_the_exact_interval_of_a_proportion() -> None:
    rows = {f"P{k}": "A:good A:good" for k in range(8)}
    rows |= {f"P{k}": "A:good A:bad" for k in range(8, 10)}
    low, high = proportion_confint(8, 10, alpha=0.05, method="beta")

    (share,) = rated(rows).within_share

    assert (share.matched, share.parts) == (8, 10)
    assert share.interval.lower == pytest.approx(low)
    assert share.interval.upper == pytest.approx(high)


def test_full_agreement_is_kappa_1_with_a_bound_that_few_parts_do_not_bring_near() -> (
    None
):
    def found(parts: int) -> Agreement:
        kinds = ("good", "bad")
        return rated(
            {f"P{k}": f"A:{kinds[k % 2]} B:{kinds[k % 2]}" for k in range(parts)}
        )

    few, many = found(6).pairs[0], found(60).pairs[0]

    assert few.value == many.value == pytest.approx(1.0)
    assert few.interval is not None
    assert many.interval is not None
    assert few.interval.lower < 0.3
    assert 0.8 < many.interval.lower < 0.95


def test_ratings_of_one_category_have_no_kappa() -> None:
    found = rated({"P1": "A:good B:good", "P2": "A:good B:good"})

    assert found.between is not None
    assert found.between.value is None
    assert found.between.interval is None
    assert found.between_share is not None
    assert found.between_share.matched == 2


def test_appraisers_are_held_against_the_reference() -> None:
    rows = {
        "P1": "A:good A:good B:good",
        "P2": "A:bad A:bad B:good",
        "P3": "A:good A:bad B:good",
        "P4": "A:bad A:bad B:bad",
    }
    right = {"P1": "good", "P2": "bad", "P3": "good", "P4": "bad"}

    found = rated(rows, references=right)

    shares = {one.name: one.matched for one in found.reference_share}
    assert shares == {"A": 3, "B": 3, "all": 2}
    counts = {(one.appraiser, one.reference): one.counts for one in found.counts}
    assert counts["A", "good"] == {"good": 3, "bad": 1}
    assert counts["B", "bad"] == {"good": 1, "bad": 1}


@pytest.mark.parametrize(
    ("rows", "references", "words"),
    [
        ({"P1": "A:good B:good"}, {}, "1 part was rated"),
        ({"P1": "A:good", "P2": "A:bad"}, {}, "every part was rated once"),
        (
            {"P1": "A:good", "P2": "A:bad"},
            {"P1": "good"},
            "part P2 has no reference category",
        ),
    ],
)
def test_ratings_that_show_no_agreement_are_refused(
    rows: dict[str, str], references: dict[str, str], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        rated(rows, references=references)
