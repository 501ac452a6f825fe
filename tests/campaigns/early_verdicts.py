"""Verdicts sweep after sweep over drawn benches, beside those of the whole run."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from rig.analysis.limits.verdict import Decision, Limits, decision
from rig.analysis.standard.early_verdict import clear_of_limits
from rig.model.figures import RunFigures
from tests.campaigns.benches import Array, Benches
from tests.campaigns.coverage import _figures
from tests.campaigns.edges import Swept, mount, sweep, touch, truths
from tests.campaigns.knowledge import State

FIGURES = ("operate", "differential_travel_percent")
SWEEPS, FIRST_LOOK = 10, 5
Widen = Callable[[RunFigures], RunFigures]


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
    state: State, benches: Benches, kind: str, widen: Widen, *, seed: int
) -> dict[str, Looks]:
    """Sweep once on every bench, and read what there is after each sweep."""
    rng = np.random.default_rng(seed)
    mounted = mount(benches, kind, "steel")
    part = benches.with_a_plate(rng)
    touched = touch(part, rng)
    swept = sweep(part, mounted, touched, SWEEPS, rng)
    true = truths(benches, mounted, SWEEPS)
    by_n = [
        _figures(state.read(part, touched, cut), cut.speeds_mm_s)
        for cut in (_cut(swept, n) for n in range(FIRST_LOOK, SWEEPS + 1))
    ]
    wide = [[widen(one) for one in figures] for figures in by_n]
    return {
        name: Looks(
            values=np.array([[getattr(f, name).value for f in fs] for fs in by_n]),
            early=np.array([[_expanded(f, name) for f in fs] for fs in wide]),
            expanded=np.array([_expanded(f, name) for f in by_n[-1]]),
            truth=getattr(true, name),
        )
        for name in FIGURES
    }


def _cut(swept: Swept, n: int) -> Swept:
    return replace(
        swept,
        speeds_mm_s=swept.speeds_mm_s[:n],
        operate=swept.operate[:, :n],
        release=swept.release[:, :n],
        time_s=swept.time_s[:, :n],
        operated_mm=swept.operated_mm[:, :n],
    )


def _expanded(figures: RunFigures, name: str) -> float:
    expanded = getattr(figures, name).expanded_uncertainty
    return math.nan if expanded is None else float(expanded)


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
