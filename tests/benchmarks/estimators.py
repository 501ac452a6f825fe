"""Bias and spread of every estimator of the threshold against what can be had."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import numpy as np

from rig.analysis.threshold.first_passage import bias_ratio
from rig.analysis.threshold.likelihood import location_by_likelihood
from rig.analysis.threshold.noise import pooled_sigma
from tests.benchmarks._first_crossings import Array, FirstCrossings
from tests.benchmarks.registry import Cell, Claim, Report, Table, benchmark
from tests.second_opinions.bias_corrected import (
    mean_with_own_scatter,
    mean_with_sigma,
)
from tests.second_opinions.cramer_rao import cramer_rao_sd
from tests.second_opinions.hodges_lehmann import hodges_lehmann
from tests.second_opinions.pitman import pitman
from tests.second_opinions.step_intervals import intersection

SIGMAS_UM = (2.0, 5.0, 10.0, 20.0)
STEPS_UM = (1.0, 5.0, 20.0)
SWEEPS = (5, 10, 50)
RUNS_POOLED = 128
GROUPS = 80  # of runs that share a sigma; 10,240 runs a row, spread known to 0.7 %
POOLS = (1, 2, 4, 16, 64, 128, 256)
SPREAD_LIMIT, BIAS_LIMIT = 1.10, 0.30


def _pooled(places: Array, runs: int, step: float) -> Array:
    """The default: likelihood, with sigma from `runs` runs at a time."""
    found = []
    for start in range(0, len(places) - runs + 1, runs):
        group = places[start : start + runs]
        sigma = pooled_sigma([group], step_mm=step).sigma_mm
        found.append(
            location_by_likelihood(group, sigma_mm=sigma, step_mm=step).place_mm
        )
    return np.concatenate(found)


def _estimators(sigma: float, step: float) -> dict[str, Callable[[Array], Array]]:
    bias = float(bias_ratio(sigma / step)) * sigma
    return {
        f"likelihood, {RUNS_POOLED} runs": lambda x: _pooled(x, RUNS_POOLED, step),
        "likelihood, known": lambda x: (
            location_by_likelihood(x, sigma_mm=sigma, step_mm=step).place_mm
        ),
        "mean - b, known": lambda x: (
            mean_with_sigma(x, sigma_mm=sigma, step_mm=step).threshold_mm
        ),
        "mean - b, own sd": lambda x: (
            mean_with_own_scatter(x, step_mm=step).threshold_mm
        ),
        "pair medians - b": lambda x: hodges_lehmann(x) + bias,
        "intersection": lambda x: intersection(x, step_mm=step).place_mm,
        "mean as it is": lambda x: x.mean(axis=-1),
    }


def _against_bound(
    rng: np.random.Generator,
) -> tuple[list[tuple[Cell, ...]], list[tuple[Cell, ...]], list[tuple[float, ...]]]:
    spreads: list[tuple[Cell, ...]] = []
    biases: list[tuple[Cell, ...]] = []
    default: list[tuple[float, ...]] = []
    for sigma, step, n in product(SIGMAS_UM, STEPS_UM, SWEEPS):
        m = sigma / step
        phase = rng.uniform(size=(RUNS_POOLED * GROUPS, n))
        places = FirstCrossings(m).draw(rng, phase) * step
        bound = cramer_rao_sd(sigma, step, n)
        least = float(pitman(places / step, m).std()) * step
        head: tuple[Cell, ...] = (sigma, step, n, m, bound, least / bound)
        found = [estimate(places) for estimate in _estimators(sigma, step).values()]
        ratios = [float(each.std()) / bound for each in found]
        shares = [float(each.mean()) / (sigma / n**0.5) for each in found]
        one_grid = np.broadcast_to(phase[:, :1], phase.shape)
        fixed = _pooled(FirstCrossings(m).draw(rng, one_grid) * step, RUNS_POOLED, step)
        spreads.append((*head, *ratios, float(fixed.std()) / bound))
        biases.append((*head, *shares, float(fixed.mean()) / (sigma / n**0.5)))
        over_least = ratios[0] * bound / least
        default.append((sigma, step, n, ratios[0], shares[0], over_least))
    return spreads, biases, default


def _over_pools(rng: np.random.Generator) -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = []
    for m, n in product((1.0, 4.0, 20.0), (5, 50)):
        phase = rng.uniform(size=(max(POOLS) * 40, n))
        places = FirstCrossings(m).draw(rng, phase)
        known = cramer_rao_sd(m, 1.0, n)
        for runs in POOLS:
            used = places[: 2048 if runs < 16 else None]
            spread = float(_pooled(used, runs, 1.0).std())
            joint = cramer_rao_sd(m, 1.0, n, runs_pooled=runs)
            rows.append((m, n, runs, joint / known, spread / known, spread / joint))
    return rows


@benchmark("estimators", "threshold estimators against the Cramer-Rao bound")
def estimators() -> Report:
    """Draw runs over noise, step and number of sweeps, and estimate."""
    rng = np.random.default_rng(20261125)
    spreads, biases, default = _against_bound(rng)
    heads = ("sigma um", "step um", "n", "M", "bound um", "least")
    columns = (*heads, *_estimators(1.0, 1.0), "default, one grid")
    missed = [row for row in default if row[5] > SPREAD_LIMIT]
    beyond = [row for row in default if row[3] > SPREAD_LIMIT >= row[5]]
    widest = max(abs(row[4]) for row in default)
    worst, most = (max(row[at] for row in default) for at in (3, 5))
    notes = [
        f"{RUNS_POOLED * GROUPS} runs a row; sigma pooled over {RUNS_POOLED} runs, each"
        " with a threshold of its own; a random phase of the steps for every sweep,"
        " but one for all sweeps of a run in the last column.",
        *(
            f"sigma {s:g}, step {d:g}, n {n:g}: {r:.3f} of the bound of Cramer and Rao,"
            f" which is not to be had: {k:.3f} of the least spread."
            for s, d, n, r, _, k in beyond
        ),
        "Least: spread of Pitman's estimator, sigma known, over the bound. Its risk is"
        " the same at every threshold and no estimator has a smaller largest risk"
        " (Girshick and Savage 1951, from memory), so no other can promise less; where"
        " the noise is far below a step the likelihood is a box with soft edges, and"
        " the bound of Cramer and Rao counts its edges alone.",
    ]
    return Report(
        tables=(
            Table(title="Spread over the bound", columns=columns, rows=spreads),
            Table(title="Bias over sigma/sqrt(n)", columns=columns, rows=biases),
            Table(
                title="How many runs to pool: spread over the bound of a known sigma",
                columns=("M", "n", "runs", "joint bound", "likelihood", "over joint"),
                rows=_over_pools(rng),
            ),
        ),
        claims=(
            Claim(
                claim=f"default within {SPREAD_LIMIT - 1.0:.0%} of the least spread"
                " that any estimator can promise",
                measured=f"{len(default) - len(missed)} of {len(default)} rows; worst "
                f"{most:.3f} of it, {worst:.3f} of the bound of Cramer and Rao",
                met=not missed,
            ),
            Claim(
                claim=f"default within {BIAS_LIMIT} sigma/sqrt(n) in bias",
                measured=f"worst {widest:.3f}",
                met=widest <= BIAS_LIMIT,
            ),
        ),
        notes=tuple(notes),
    )
