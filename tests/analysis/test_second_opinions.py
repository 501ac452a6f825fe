"""The same figures from scipy.stats and statsmodels."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
import scipy.integrate
import scipy.stats
import statsmodels.api as sm
import statsmodels.stats.diagnostic
import statsmodels.stats.proportion
from statsmodels.formula.api import ols

from rig.analysis.acceptance.operating_curve import (
    acceptance_binomial,
    acceptance_hypergeometric,
)
from rig.analysis.acceptance.variables import acceptance_by_variables, estimated_share
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.analysis.batch.batch_summary import summarise_parts
from rig.analysis.batch.capability import index_lower_bound
from rig.analysis.batch.compare import compare_batches
from rig.analysis.batch.control_constants import range_moments
from rig.analysis.batch.normal_plot import normal_plot
from rig.analysis.batch.tolerance import one_sided_factor, two_sided_factor
from rig.analysis.classroom.predicted_curve import _rank_correlation
from rig.analysis.numbers.intervals import sd_interval
from rig.analysis.numbers.one_way import one_way
from rig.analysis.study.measurement_system import crossed_study
from rig.analysis.study.study_results import study_intervals

RNG = np.random.default_rng(11)
BATCHES = {
    "lot 1": RNG.normal(8.0, 0.10, 25),
    "lot 2": RNG.normal(8.1, 0.20, 18),
    "lot 3": RNG.normal(7.9, 0.15, 30),
}


def test_welch() -> None:
    pair = compare_batches(BATCHES).pairs[0]

    other = scipy.stats.ttest_ind(BATCHES["lot 2"], BATCHES["lot 1"], equal_var=False)
    interval = other.confidence_interval(0.95)
    assert pair.t == pytest.approx(other.statistic, rel=1e-12)
    assert pair.p == pytest.approx(other.pvalue, rel=1e-9)
    assert pair.degrees_of_freedom == pytest.approx(other.df, rel=1e-12)
    assert (pair.interval.lower, pair.interval.upper) == pytest.approx(
        (interval.low, interval.high), rel=1e-12
    )


def test_means_and_spreads_of_several_batches() -> None:
    result = compare_batches(BATCHES)

    means = scipy.stats.f_oneway(*BATCHES.values())
    spreads = scipy.stats.levene(*BATCHES.values(), center="median")
    assert (result.means.f, result.means.p) == pytest.approx(tuple(means), rel=1e-10)
    assert (result.spreads.f, result.spreads.p) == pytest.approx(
        tuple(spreads), rel=1e-10
    )


def test_ratio_of_spreads() -> None:
    pair = compare_batches(BATCHES).pairs[0]

    low, high = scipy.stats.f.ppf([0.025, 0.975], 17, 24)
    assert pair.sd_ratio_interval.lower == pytest.approx(
        pair.sd_ratio / math.sqrt(high), rel=1e-10
    )
    assert pair.sd_ratio_interval.upper == pytest.approx(
        pair.sd_ratio / math.sqrt(low), rel=1e-10
    )


def test_unbalanced_one_way() -> None:
    groups = list(BATCHES.values())

    table = one_way(groups)

    frame = pd.DataFrame(
        {
            "y": np.concatenate(groups),
            "g": np.repeat(["a", "b", "c"], [len(g) for g in groups]),
        }
    )
    other = sm.stats.anova_lm(ols("y ~ C(g)", frame).fit())
    assert table.sum_of_squares_between == pytest.approx(other["sum_sq"].iloc[0])
    assert table.sum_of_squares_within == pytest.approx(other["sum_sq"].iloc[1])
    assert table.f == pytest.approx(other["F"].iloc[0])


def test_crossed_analysis_of_variance() -> None:
    x = RNG.normal(0.0, 0.1, (6, 3, 4)) + RNG.normal(0.0, 1.0, (6, 1, 1))

    table = {row.source: row for row in crossed_study(x, pool_above=0.999).full}

    p, o, _ = np.indices(x.shape)
    frame = pd.DataFrame({"y": x.ravel(), "p": p.ravel(), "o": o.ravel()})
    other = sm.stats.anova_lm(ols("y ~ C(p) * C(o)", frame).fit())["sum_sq"].tolist()
    sources = ("part", "appraiser", "part x appraiser", "repeatability")
    assert [table[source].sum_of_squares for source in sources] == pytest.approx(other)


def test_interval_of_a_study_near_the_closed_approximation() -> None:
    # Modified large-sample interval (Graybill and Wang 1980) of the same variance
    x = (
        RNG.normal(0.0, 1.0, (10, 1, 1))
        + RNG.normal(0.0, 0.3, (1, 6, 1))
        + RNG.normal(0.0, 0.2, (10, 6, 1))
        + RNG.normal(0.0, 0.2, (10, 6, 3))
    )
    study = crossed_study(x, pool_above=0.999)
    p, _, r = study.shape
    rows = {row.source: row for row in study.full}
    weights = {
        "appraiser": 1.0 / (p * r),
        "part x appraiser": (p - 1.0) / (p * r),
        "repeatability": (r - 1.0) / r,
    }
    value = sum(w * rows[s].mean_square for s, w in weights.items())
    low = high = 0.0
    for source, weight in weights.items():
        nu = rows[source].degrees_of_freedom
        g = 1.0 - nu / scipy.stats.chi2.ppf(0.975, nu)
        h = nu / scipy.stats.chi2.ppf(0.025, nu) - 1.0
        low += (g * weight * rows[source].mean_square) ** 2
        high += (h * weight * rows[source].mean_square) ** 2

    found = study_intervals(study).measurement

    assert found.lower == pytest.approx(math.sqrt(value - math.sqrt(low)), rel=0.05)
    assert found.upper == pytest.approx(math.sqrt(value + math.sqrt(high)), rel=0.05)


def test_normal_plot_and_test_of_normality() -> None:
    for values in (BATCHES["lot 1"], RNG.exponential(1.0, 40), RNG.uniform(0, 1, 200)):
        plot = normal_plot(values)

        (q, ordered), (slope, intercept, r) = scipy.stats.probplot(values)
        statistic, p = statsmodels.stats.diagnostic.normal_ad(values)
        n = values.size
        assert plot.quantiles == pytest.approx(q, rel=1e-10)
        assert plot.ordered == pytest.approx(ordered)
        assert (plot.slope, plot.intercept, plot.correlation) == pytest.approx(
            (slope, intercept, r), rel=1e-10
        )
        assert plot.anderson_darling == pytest.approx(
            statistic * (1.0 + 0.75 / n + 2.25 / n**2), rel=1e-9
        )
        assert plot.p == pytest.approx(p, rel=1e-6)


def test_intervals() -> None:
    x = BATCHES["lot 1"]
    parts = [f"part {number}" for number in range(len(x))]

    mean = scipy.stats.ttest_1samp(x, 0.0).confidence_interval(0.95)
    found = summarise_parts("s_r", parts, x, unit="mm", common=()).mean_interval
    assert (found.lower, found.upper) == pytest.approx((mean.low, mean.high))
    low, high = scipy.stats.chi2.ppf([0.05, 0.95], 24)
    spread = sd_interval(2.0, 24, 0.9)
    assert (spread.lower, spread.upper) == pytest.approx(
        (2.0 * math.sqrt(24 / high), 2.0 * math.sqrt(24 / low))
    )


def test_tolerance_factors() -> None:
    for n in (2, 7, 200, 3000):
        shift = scipy.stats.norm.ppf(0.9) * math.sqrt(n)
        other = scipy.stats.nct.ppf(0.95, n - 1, shift) / math.sqrt(n)
        assert one_sided_factor(n, 0.9, 0.95) == pytest.approx(other, rel=1e-9)


@pytest.mark.parametrize("n", [2, 5, 50, 1000])
def test_two_sided_factor_satisfies_its_equation(n: int) -> None:
    k = two_sided_factor(n, 0.95, 0.99)

    def given_the_mean(z: float) -> float:
        reach = scipy.stats.ncx2.ppf(0.95, 1, z * z)
        spread = scipy.stats.chi2.sf((n - 1) * reach / (k * k), n - 1)
        return float(spread * scipy.stats.norm.pdf(z, scale=1.0 / math.sqrt(n)))

    end = 8.0 / math.sqrt(n)
    held = 2.0 * scipy.integrate.quad(given_the_mean, 0.0, end, epsabs=1e-10)[0]
    assert held == pytest.approx(0.99, abs=1e-7)


def test_bound_of_capability_by_its_definition() -> None:
    bound = float(index_lower_bound(1.33, 30, 0.95))

    held = scipy.stats.nct.cdf(
        3.0 * math.sqrt(30) * 1.33, 29, 3.0 * math.sqrt(30) * bound
    )
    assert held == pytest.approx(0.95, abs=1e-9)


@pytest.mark.parametrize("n", [2, 5, 25])
def test_moments_of_the_range(n: int) -> None:
    # The Studentised range with sigma known is the range itself
    q = np.linspace(0.0, 14.0, 281)
    beyond = scipy.stats.studentized_range.sf(q, n, np.inf)

    d2, d3 = range_moments(n)

    assert d2 == pytest.approx(scipy.integrate.simpson(beyond, x=q), abs=2e-5)
    second = scipy.integrate.simpson(2.0 * q * beyond, x=q)
    assert d3 == pytest.approx(math.sqrt(second - d2 * d2), abs=5e-5)


def test_operating_characteristics() -> None:
    p = np.array([0.0, 0.003, 0.02, 0.4, 1.0])
    bad = np.array([0, 1, 20, 500, 998, 1000])

    assert acceptance_binomial(p, 80, 2) == pytest.approx(
        scipy.stats.binom.cdf(2, 80, p), abs=1e-12
    )
    assert acceptance_hypergeometric(bad, 1000, 80, 2) == pytest.approx(
        scipy.stats.hypergeom.cdf(2, 1000, bad, 80), abs=1e-10
    )


def test_operating_characteristic_of_the_s_method() -> None:
    plan = VariablesPlan(sample=20, k=1.82, aql_percent=1.0, source="table")
    x = np.random.default_rng(2).normal(0.0, 1.0, (20_000, 20))
    upper = scipy.stats.norm.ppf(0.97)

    chance = float(acceptance_by_variables([0.03], plan)[0])

    accepted = (upper - x.mean(axis=1)) / x.std(axis=1, ddof=1) >= 1.82
    assert float(np.mean(accepted)) == pytest.approx(
        chance, abs=4.0 * math.sqrt(chance * (1.0 - chance) / 2e4)
    )


def test_estimated_share_is_free_of_bias() -> None:
    x = np.random.default_rng(4).normal(0.0, 1.0, (5000, 10))
    quality = (1.5 - x.mean(axis=1)) / x.std(axis=1, ddof=1)

    shares = np.array([estimated_share(q, 10) for q in quality])

    truth = scipy.stats.norm.sf(1.5)
    error = shares.std() / math.sqrt(5000)
    assert shares.mean() == pytest.approx(truth, abs=4.0 * error)


def test_rank_correlation() -> None:
    x, y = [1.0, 2.0, 2.0, 5.0, 9.0], [2.0, 1.0, 3.0, 3.0, 8.0]

    assert _rank_correlation(x, y) == pytest.approx(scipy.stats.spearmanr(x, y)[0])
