"""The points of a run that goes on, by speed: mean, ± of their scatter, and n."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from rig.analysis.numbers.scatter_mean import scatter_mean
from rig.model.rounding import format_figure
from rig.sheets.sweep_rows import speed_words


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningMean:
    """Points at one speed, delay still in them.

    Points at another speed stand elsewhere, by speed times delay, so speeds are not
    thrown together.

    Attributes:
        speed: Speed in mm/s.
        mean_mm: Mean gap.
        half_mm: Expanded uncertainty (95 %) of the mean, of the scatter alone; None for
            one point.
        mean: Mean in mm, rounded.
        words: Mean with its ± and unit; without one, why.
        n: Number of points.
        counts: Number of points and standard deviation of one.
    """

    speed: str
    mean_mm: float
    half_mm: float | None
    mean: str
    words: str
    n: str
    counts: str


def running_means(points: Sequence[tuple[float, float]]) -> tuple[RunningMean, ...]:
    """Lay out the points that a run has so far.

    Args:
        points: Speed in mm/s and gap in mm of each, none of a void sweep.

    Returns:
        One for each speed, the slowest first.
    """
    return _by_speed(tuple(points))


@lru_cache(maxsize=8)
def _by_speed(points: tuple[tuple[float, float], ...]) -> tuple[RunningMean, ...]:
    speeds = sorted({speed for speed, _ in points})
    return tuple(
        _mean(speed, [gap for at, gap in points if at == speed]) for speed in speeds
    )


def _mean(speed_mm_s: float, gaps_mm: Sequence[float]) -> RunningMean:
    found = scatter_mean(gaps_mm, "mm")
    text = format_figure(found)
    n = f"n {text.n}"
    return RunningMean(
        speed=speed_words(speed_mm_s),
        mean_mm=found.value,
        half_mm=found.expanded_uncertainty,
        mean=text.value,
        words=f"{text.value} mm, ± none yet" if text.why_none else text.brief,
        n=text.n,
        counts=f"{n}, s {text.standard_deviation} mm" if not text.why_none else n,
    )
