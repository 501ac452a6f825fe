"""How long the rest takes, by the pace so far. Pure; knows no clock."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from rig.procedures.plan_pair import run_that_counts
from rig.records import ItemProgress, RunSummary

_FEWEST_SWEEPS = 3  # two speeds in turn and one more
_MOST_SWEEPS = 20  # older ones say less about the pace of now


def pace_of_sweeps(ended_at: Sequence[datetime]) -> float | None:
    """Return seconds a sweep by the times at which sweeps ended; None for too few."""
    if len(ended_at) < _FEWEST_SWEEPS:
        return None
    latest = ended_at[-_MOST_SWEEPS:]
    return (latest[-1] - latest[0]).total_seconds() / (len(latest) - 1)


def pace_of_runs(runs: Sequence[RunSummary]) -> float | None:
    """Return seconds a sweep, all that belongs to a run included; None for no run.

    Runs with a timetable say nothing about the pace; leave them out.
    """
    seconds, sweeps = 0.0, 0
    for run in runs:
        if run.ended_at is not None:
            seconds += (run.ended_at - run.started_at).total_seconds()
            sweeps += run.good_sweeps + run.void_sweeps
    return seconds / sweeps if sweeps else None


def sweeps_left(progress: ItemProgress) -> int:
    """Return the good sweeps that a pair of a plan still lacks."""
    if run_that_counts(progress) is not None:
        return 0
    usable = [run for run in progress.runs if not run.void]
    good = usable[-1].good_sweeps if usable else 0
    return max(0, progress.item.sweeps_wanted - good)


def pairs_left_s(progress: Sequence[ItemProgress], pace_s: float | None) -> float:
    """Return how long pairs of a plan take, mounting not counted.

    Without a pace only those with a timetable can be reckoned.
    """
    seconds = 0.0
    for one in progress:
        left, timetable = sweeps_left(one), one.item.timetable
        if timetable is not None:
            seconds += 3600.0 * timetable.hours * left / one.item.sweeps_wanted
        elif pace_s is not None:
            seconds += left * pace_s
    return seconds


def duration_text(seconds: float) -> str:
    """Return a duration in words, as coarse as a forecast deserves."""
    if seconds < 10:
        return "a few seconds"
    if seconds < 90:
        return f"about {round(seconds / 10) * 10} s"
    minutes = round(seconds / 60)
    if minutes < 90:
        return f"about {minutes} min"
    return f"about {minutes // 60} h {minutes % 60:02d} min"
