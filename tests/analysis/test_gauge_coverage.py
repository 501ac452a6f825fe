"""How often intervals of studies of a gauge hold the truth, by simulation.

Exact intervals within four standard deviations of the binomial; approximate ones may
miss their level by 3 % besides, which is what is said of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from rig.analysis.study.agreement import Rating, agreement
from rig.analysis.study.component_study import component_study
from rig.analysis.study.linearity import linearity
from rig.analysis.study.single_gauge import single_gauge
from rig.analysis.study.stability import stability

pytestmark = pytest.mark.long

LEVEL = 0.9
TRIALS = 400
FEWER = 1500
MORE = 3000
CLOSE = 0.03


def error_of(trials: int) -> float:
    return 4.0 * math.sqrt(LEVEL * (1.0 - LEVEL) / trials)


def check(held: dict[str, int], trials: int, beside: float = 0.0) -> None:
    for name, count in held.items():
        assert count / trials == pytest.approx(LEVEL, abs=error_of(trials) + beside), (
            name
        )


def counts_of(kind: str) -> Callable[[int, int], int]:
    """How often each part is read by each appraiser."""
    rng = np.random.default_rng(8)
    drawn = rng.integers(0, 4, (10, 3))
    return {
        "even": lambda p, a: 2,
        "drawn": lambda p, a: int(drawn[p, a]),
        "one appraiser more": lambda p, a: 4 if a == 0 else 1,
        "fewer parts": lambda p, a: 2 if p < 3 * (a + 1) else 0,
    }[kind]


def held_by_components(kind: str, trials: int, *, nested: bool) -> dict[str, int]:
    count, rng = counts_of(kind), np.random.default_rng(31)
    repeat, between, own, level = 1.0, 1.0, 0.0 if nested else 0.7, 3.0
    cells = [(p, a) for p in range(10) for a in range(3) for _ in range(count(p, a))]
    at_p, at_a = (np.array(x) for x in zip(*cells, strict=True))
    parts, appraisers = [f"p{p}" for p in at_p], [f"a{a}" for a in at_a]
    measured = math.sqrt(repeat**2 + between**2 + own**2)
    truth = {
        "repeatability": repeat,
        "reproducibility": math.hypot(between, own),
        "measurement": measured,
        "part": level,
        "total": math.hypot(measured, level),
        "measurement_percent": 100.0 * measured / math.hypot(measured, level),
    }
    held = dict.fromkeys(truth, 0)
    for _ in range(trials):
        levels = rng.normal(0.0, level, (10, 3))
        if not nested:
            levels[:] = levels[:, :1]
        whole = levels + rng.normal(0.0, between, 3) + rng.normal(0.0, own, (10, 3))
        x = whole[at_p, at_a] + rng.normal(0.0, repeat, at_p.size)
        found = component_study(
            parts, appraisers, x, nested=nested, confidence=LEVEL, draws=1000
        )
        for name, true in truth.items():
            interval = getattr(found.intervals, name)
            held[name] += bool(interval.lower <= true <= interval.upper)
    return held


DESIGNS = [
    ("even", False),
    ("drawn", False),
    ("one appraiser more", False),
    ("even", True),
    ("drawn", True),
    ("fewer parts", True),
]


@pytest.mark.parametrize(("kind", "nested"), DESIGNS)
def test_components_of_any_design_lie_in_their_intervals(
    kind: str, nested: bool
) -> None:
    check(held_by_components(kind, FEWER, nested=nested), FEWER, CLOSE)


@pytest.mark.parametrize("bias", [0.0, 0.004, -0.02])
def test_bias_cg_and_cgk_lie_in_their_intervals(bias: float) -> None:
    rng = np.random.default_rng(5)
    truth = {
        "bias": bias,
        "cg": 0.2 * 0.3 / (6.0 * 0.01),
        "cgk": (0.03 - abs(bias)) / (3.0 * 0.01),
    }
    held = dict.fromkeys(truth, 0)
    for x in rng.normal(8.0 + bias, 0.01, (FEWER, 25)):
        found = single_gauge(x, reference=8.0, tolerance=0.3, confidence=LEVEL)
        for name, true in truth.items():
            interval = getattr(found, f"{name}_interval")
            held[name] += bool(interval.lower <= true <= interval.upper)

    # Cgk is close only: of a bias within its own scatter nobody knows the size
    cgk = held.pop("cgk")
    check(held, FEWER)
    check({"cgk": cgk}, FEWER, CLOSE)


def test_line_and_its_whole_band_hold_the_bias() -> None:
    rng = np.random.default_rng(6)
    x = np.repeat([2.0, 4.0, 5.0, 8.0, 12.0], 3)
    parts = [f"{value:g}" for value in x]
    held = {"slope": 0, "intercept": 0, "band": 0}
    for noise in rng.normal(0.0, 0.05, (MORE, x.size)):
        found = linearity(parts, x, 0.03 + 1.01 * x + noise, confidence=LEVEL)
        for name, true in (("slope", 0.01), ("intercept", 0.03)):
            interval = getattr(found, f"{name}_interval")
            held[name] += interval.lower <= true <= interval.upper
        bias = 0.03 + 0.01 * found.band.reference
        inside = (found.band.lower <= bias) & (bias <= found.band.upper)
        held["band"] += bool(np.all(inside))

    # The band is that of the line without end, and is looked at over the range only
    band = held.pop("band")
    check(held, MORE)
    assert LEVEL - error_of(MORE) <= band / MORE <= LEVEL + error_of(MORE) + CLOSE


def test_mean_and_drift_of_a_standard_lie_in_their_intervals() -> None:
    rng = np.random.default_rng(7)
    groups = [f"day {k}" for k in range(8) for _ in range(2)]
    held = {"mean": 0, "drift": 0}
    for _ in range(MORE):
        days = rng.normal(0.0, 0.02, 8)
        x = 8.0 + np.repeat(days, 2) + rng.normal(0.0, 0.01, 16)
        found = stability(groups, x, confidence=LEVEL)
        for name, true in (("mean", 8.0), ("drift", 0.0)):
            interval = getattr(found, f"{name}_interval")
            held[name] += interval.lower <= true <= interval.upper

    check(held, MORE)


def kappa_of(right: float, shares: Sequence[float]) -> float:
    """Kappa of raters who see a part's category with a chance and guess otherwise."""
    chance = sum(share * share for share in shares)
    observed = right**2 + (1.0 - right**2) * chance
    return (observed - chance) / (1.0 - chance)


@pytest.mark.parametrize(
    ("parts", "raters", "right", "shares"),
    [
        (50, 2, 0.8, (0.6, 0.4)),
        (50, 3, 0.9, (0.6, 0.4)),
        (30, 3, 0.7, (0.5, 0.3, 0.2)),
    ],
)
def test_kappas_lie_in_their_intervals(
    parts: int, raters: int, right: float, shares: tuple[float, ...]
) -> None:
    rng = np.random.default_rng(9)
    true, kinds, trials = kappa_of(right, shares), len(shares), 2 * TRIALS
    held = {"between": 0, "pair": 0}
    for _ in range(trials):
        category = rng.choice(kinds, parts, p=shares)
        seen = rng.random((parts, raters)) < right
        guess = rng.choice(kinds, (parts, raters), p=shares)
        table = np.where(seen, category[:, np.newaxis], guess)
        ratings = [
            Rating(part=f"{i}", appraiser=f"{j}", rating=f"{value}")
            for (i, j), value in np.ndenumerate(table)
        ]
        found = agreement(ratings, confidence=LEVEL)
        for name, one in (("between", found.between), ("pair", found.pairs[0])):
            assert one is not None
            assert one.interval is not None
            held[name] += one.interval.lower <= true <= one.interval.upper

    check(held, trials, CLOSE)
