"""Verdicts sweep after sweep over drawn benches, beside those of the whole run."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.analysis.limits.verdict import Decision, Limits, decision
from rig.analysis.numbers.uncertainty import coverage_factor
from rig.analysis.run.quantities import Quantity, run_quantities
from rig.analysis.standard.early_verdict import clear_of_limits
from tests.campaigns.benches import Array, Benches
from tests.campaigns.edges import mount, sweep, touch, truths
from tests.campaigns.knowledge import State

FIGURES = ("operate", "differential_travel_percent")
SWEEPS, FIRST_LOOK = 10, 5


@dataclass(frozen=True, kw_only=True)
class Looks:
    """One figure of many runs after each number of sweeps.

    Attributes:
        values: Value, shape (looks, k).
        early: Expanded uncertainty that a verdict before the last sweep rests on,
            likewise; NaN for none.
        expanded: Expanded uncertainty after the last sweep, shape (k,).
        truth: True value, shape (k,).
    """

    values: Array
    early: Array
    expanded: Array
    truth: Array


def looks(
    state: State, benches: Benches, kind: str, coverage: float, *, seed: int
) -> dict[str, Looks]:
    """Sweep once on every bench, and read what there is after each sweep.

    Args:
        state: What the host knows of the benches.
        benches: The benches.
        kind: Principle of the sensor.
        coverage: Coverage of the interval behind a verdict before the last sweep.
        seed: Seed of everything that is drawn.
    """
    rng = np.random.default_rng(seed)
    mounted = mount(benches, kind, "steel")
    part = benches.with_a_plate(rng)
    touched = touch(part, rng)
    swept = sweep(part, mounted, touched, SWEEPS, rng)
    true = truths(benches, mounted, SWEEPS)
    read = state.read(part, touched, swept)
    by_n = [
        run_quantities(
            read.operate_steps[:, :n],
            read.release_steps[:, :n],
            swept.speeds_mm_s[:n],
            read.knowns,
        )
        for n in range(FIRST_LOOK, SWEEPS + 1)
    ]
    found = {}
    for name in FIGURES:
        figures: list[Quantity] = [getattr(one, name) for one in by_n]
        expanded = [figure.expanded() for figure in figures]
        found[name] = Looks(
            values=np.array([figure.value for figure in figures]),
            early=np.array(
                [
                    coverage_factor(one.degrees_of_freedom, coverage)
                    * one.standard_uncertainty
                    for one in expanded
                ]
            ),
            expanded=expanded[-1].expanded_uncertainty,
            truth=getattr(true, name),
        )
    return found


@dataclass(frozen=True, kw_only=True)
class Ended:
    """How the verdict on each run came out.

    Attributes:
        whole: Decision after all sweeps, one a run.
        early: Decision of a run that ends as soon as it is clear.
        sweeps: Sweeps that such a run took.
    """

    whole: tuple[Decision, ...]
    early: tuple[Decision, ...]
    sweeps: tuple[int, ...]


def ended(found: Looks, lower_limits: Array) -> Ended:
    """Hold every run against a lower limit of its own, after each sweep."""
    whole, early, sweeps = [], [], []
    for run, lower in enumerate(lower_limits.tolist()):
        limits = Limits(lower=lower, upper=math.inf, unit="mm", source="drawn")
        last = decision(
            float(found.values[-1, run]), float(found.expanded[run]), limits
        )
        whole.append(last)
        for look in range(found.values.shape[0] - 1):
            expanded = float(found.early[look, run])
            if math.isnan(expanded):
                continue
            value = float(found.values[look, run])
            if clear := clear_of_limits(decision(value, expanded, limits)):
                early.append(clear)
                sweeps.append(FIRST_LOOK + look)
                break
        else:
            early.append(last)
            sweeps.append(SWEEPS)
    return Ended(whole=tuple(whole), early=tuple(early), sweeps=tuple(sweeps))
