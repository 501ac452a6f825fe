"""How often the stated uncertainties cover the truth, over many benches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.ratio import ratio
from rig.analysis.run.figure_blocks import figure_blocks
from rig.analysis.run.quantities import RunQuantities, run_quantities
from rig.model.figures import Figure, RunFigures
from tests.campaigns.benches import Array, Benches
from tests.campaigns.edges import Mounted, Truths, mount, sweep, touch, truths
from tests.campaigns.knowledge import Read, State

# A kind of sensor with the target it is rated on, and one that it sees weakly
PAIRS = (
    ("capacitive", "steel", "strong"),
    ("capacitive", "pvc", "weak"),
    ("inductive", "steel", "strong"),
    ("inductive", "aluminium", "weak"),
)
SWEEPS = (3, 5, 10, 30)
FIGURES = (
    "operate",
    "release",
    "differential_travel",
    "differential_travel_percent",
    "threshold_operate",
    "threshold_release",
    "first_passage_bias_operate",
    "first_passage_bias_release",
    "response_time_operate",
    "response_time_release",
)
REDUCTION = "reduction_factor"
PRICED = (
    "operate",
    "release",
    "differential_travel",
)  # what ignorance of a screw costs
LEAST, MOST = 0.90, 0.99  # of a stated 95 %
WRONG_ACCEPTS = 0.025
MOST_FOR_BLOCKS = 1.3
_AT_ONCE = 250  # benches whose looks are drawn together


@dataclass(frozen=True, kw_only=True)
class Tally:
    """How one figure of many runs did.

    Attributes:
        state: What the host knew.
        pair: Sensor and target.
        sweeps: Sweeps of each run.
        figure: Field of `RunFigures`, or the reduction factor.
        runs: Number of runs.
        stated: Number of those with an uncertainty.
        covered: Number of those in whose interval the truth lies.
        above: Number of those whose interval lies above the truth.
        below: Number of those whose interval lies below the truth.
        half_width: Median expanded uncertainty of those, in the figure's unit.
    """

    state: str
    pair: str
    sweeps: int
    figure: str
    runs: int
    stated: int
    covered: int
    above: int
    below: int
    half_width: float

    @property
    def share(self) -> float:
        """Covered of those with an uncertainty; NaN without any."""
        return self.covered / self.stated if self.stated else float("nan")

    @property
    def wrong_accepts(self) -> float:
        """Share accepted wrongly under guarded acceptance, truth just over a limit.

        The worse of an upper and a lower limit: the whole interval on the good side.
        """
        return max(self.above, self.below) / self.runs


@dataclass(frozen=True, kw_only=True)
class _Measured:
    figures: list[RunFigures]
    truths: Truths


def campaign(
    states: Sequence[State],
    benches: Benches,
    *,
    sweeps: Sequence[int] = SWEEPS,
    seed: int = 1,
) -> Iterator[Tally]:
    """Measure every pair on every bench, once for each number of sweeps.

    The edges are the same in every state; what is made of them differs.
    """
    mounted = {(kind, to): mount(benches, kind, to) for kind, to, _ in PAIRS}
    for n in sweeps:
        strong: list[_Measured] = []
        for index, (kind, target, which) in enumerate(PAIRS):
            rng = np.random.default_rng([seed, n, index])
            found = _measure(states, benches, mounted[kind, target], n, rng)
            label = f"{kind}, {target}"
            if which == "strong":
                strong = found
            for place, state in enumerate(states):
                mine = found[place]
                for name in FIGURES:
                    figures = [getattr(each, name) for each in mine.figures]
                    truth = getattr(mine.truths, name)
                    yield tally_of(state.name, label, n, name, figures, truth)
                if which == "weak":
                    factors, truth = _reduction(state, mine, strong[place])
                    yield tally_of(state.name, label, n, REDUCTION, factors, truth)


def _reduction(
    state: State, weak: _Measured, strong: _Measured
) -> tuple[list[Figure], Array]:
    factors = [
        ratio(a.operate, b.operate, shared=state.shared)
        for a, b in zip(weak.figures, strong.figures, strict=True)
    ]
    return factors, weak.truths.operate / strong.truths.operate


def _measure(
    states: Sequence[State],
    benches: Benches,
    mounted: Mounted,
    n: int,
    rng: np.random.Generator,
) -> list[_Measured]:
    """Take the edges once, and read them in every state."""
    figures: list[list[RunFigures]] = [[] for _ in states]
    for first in range(0, benches.count, _AT_ONCE):
        some = slice(first, first + _AT_ONCE)
        part = benches.some(some).with_a_plate(rng)
        before = _part_of(mounted, some)
        touched = touch(part, rng)
        swept = sweep(part, before, touched, n, rng)
        for state, found in zip(states, figures, strict=True):
            found += _figures(state.read(part, touched, swept), swept.speeds_mm_s)
    true = truths(benches, mounted, n)
    return [_Measured(figures=found, truths=true) for found in figures]


def _figures(read: Read, speeds_mm_s: Array) -> list[RunFigures]:
    """Work the figures out as the product does for a page of runs."""
    k, n = read.operate_steps.shape
    quantities = run_quantities(
        read.operate_steps, read.release_steps, speeds_mm_s, read.knowns
    )
    return figures_of(quantities, k, n)


def figures_of(quantities: RunQuantities, k: int, n: int) -> list[RunFigures]:
    """Lay the figures of k runs of n sweeps out, in order."""
    names = [f"{number:06d}" for number in range(k)]
    by_name: dict[str, RunFigures] = {}
    for block in figure_blocks(names, quantities, n, [()] * k):
        by_name |= dict(zip(block.run_ids, block.figures(), strict=True))
    return [by_name[name] for name in names]


def _part_of(mounted: Mounted, some: slice) -> Mounted:
    columns = {
        name: value[some] if isinstance(value, np.ndarray) else value
        for name, value in vars(mounted).items()
    }
    return Mounted(**columns)


def over_all_pairs(tallies: Iterable[Tally]) -> list[Tally]:
    """Put the pairs together; the half-width is the median of theirs."""
    cells: dict[tuple[str, int, str], list[Tally]] = {}
    for tally in tallies:
        key = (tally.state, tally.sweeps, tally.figure)
        cells.setdefault(key, []).append(tally)
    return [
        Tally(
            state=state,
            pair="all",
            sweeps=n,
            figure=figure,
            runs=sum(tally.runs for tally in mine),
            stated=sum(tally.stated for tally in mine),
            covered=sum(tally.covered for tally in mine),
            above=sum(tally.above for tally in mine),
            below=sum(tally.below for tally in mine),
            half_width=float(np.median([tally.half_width for tally in mine])),
        )
        for (state, n, figure), mine in cells.items()
    ]


def counting_error(share: float, runs: int) -> float:
    """Return the standard deviation of a share that is counted over so many runs."""
    return math.sqrt(share * (1.0 - share) / runs)


def half_width_ratios(
    tallies: Sequence[Tally], state: State, beside: State, figures: Sequence[str]
) -> dict[tuple[str, int, str], float]:
    """Return median U in one state over that in another, by pair, sweeps and figure.

    Nothing where none is stated.
    """
    by = {(t.state, t.pair, t.sweeps, t.figure): t.half_width for t in tallies}
    return {
        (pair, n, figure): half_width / by[beside.name, pair, n, figure]
        for (name, pair, n, figure), half_width in by.items()
        if name == state.name and figure in figures and math.isfinite(half_width)
    }


def tally_of(
    state: str,
    pair: str,
    n: int,
    name: str,
    figures: Sequence[Figure],
    truth: Array,
    *,
    void: npt.NDArray[np.bool_] | None = None,
) -> Tally:
    """Count how many intervals cover the truth.

    Args:
        state: What the host knew.
        pair: Sensor and target.
        n: Sweeps of each run, or its readings.
        name: Field of `RunFigures`, or the reduction factor.
        figures: The figure of each run.
        truth: Its true value, shape (k,).
        void: Which of the runs the product gives no figures of; None for none.
    """
    value = np.array([figure.value for figure in figures])
    half = np.array(
        [
            np.nan
            if figure.expanded_uncertainty is None
            else figure.expanded_uncertainty
            for figure in figures
        ]
    )
    stated = np.isfinite(half) & (True if void is None else ~void)
    above = int(np.sum(value[stated] - half[stated] > truth[stated]))
    below = int(np.sum(value[stated] + half[stated] < truth[stated]))
    return Tally(
        state=state,
        pair=pair,
        sweeps=n,
        figure=name,
        runs=value.size,
        stated=int(stated.sum()),
        covered=int(stated.sum()) - above - below,
        above=above,
        below=below,
        half_width=float(np.median(half[stated])) if stated.any() else float("nan"),
    )
