"""How long the rest of a plan takes, by the pace so far. Pure; knows no clock."""

from __future__ import annotations

from collections.abc import Sequence

from rig.procedures.plan_pair import run_that_counts
from rig.records import ItemProgress, RunSummary


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
