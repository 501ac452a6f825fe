"""The two points of every sweep of a run, with and without the delay in them."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.edges.run_arrays import usable_sweeps
from rig.analysis.edges.sweep_points import points_of_run
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepReading:
    """One sweep's points.

    Attributes:
        number: Number of the sweep in its run, from 1.
        speed_mm_s: Speed on both ways.
        operate_delayed_mm: Gap at the operate edge; None without that edge.
        release_delayed_mm: Gap at the release edge; None without that edge.
        operate_corrected_mm: What the operate figure is the mean of; None if void or
            without figures.
        release_corrected_mm: What the release figure is the mean of; None likewise.
        edges: How many edges the sweep has.
        void: Why it is not used; empty if it is.
    """

    number: int
    speed_mm_s: float
    operate_delayed_mm: float | None
    release_delayed_mm: float | None
    operate_corrected_mm: float | None
    release_corrected_mm: float | None
    edges: int
    void: str


def sweep_readings(run: Run, figures: RunFigures | None) -> tuple[SweepReading, ...]:
    """Lay out the points of all sweeps, void ones included.

    The corrected points do not carry the delay's travel: the delayed point, less what
    the response time makes at the sweep's speed, moved so that their mean is the
    figure. That move is more than rounding only where a run was resumed.
    """
    used = {sweep.index for sweep in usable_sweeps(run)}
    points = dict(zip([s.index for s in run.sweeps], points_of_run(run), strict=True))
    operate = {index: on for index, (on, _) in points.items()}
    release = {index: off for index, (_, off) in points.items()}
    speeds = {s.index: s.speed_mm_s for s in run.sweeps if s.index in used}
    operate_corrected: dict[int, float] = {}
    release_corrected: dict[int, float] = {}
    if figures is not None:
        operate_corrected = _corrected(
            operate, speeds, figures.operate, figures.response_time_operate, 1.0
        )
        release_corrected = _corrected(
            release, speeds, figures.release, figures.response_time_release, -1.0
        )
    return tuple(
        SweepReading(
            number=s.index + 1,
            speed_mm_s=s.speed_mm_s,
            operate_delayed_mm=operate[s.index],
            release_delayed_mm=release[s.index],
            operate_corrected_mm=operate_corrected.get(s.index),
            release_corrected_mm=release_corrected.get(s.index),
            edges=len(s.edges),
            void="" if s.index in used else s.void or "an edge is missing",
        )
        for s in run.sweeps
    )


def _corrected(
    delayed: dict[int, float | None],
    speeds: dict[int, float],
    figure: Figure,
    response_time: Figure | None,
    sign: float,
) -> dict[int, float]:
    """Points at rest of the usable sweeps, about their figure.

    `sign` is +1 where the delay makes a point read small, -1 where large.
    """
    delay_s = 0.0 if response_time is None else response_time.value / 1000.0
    at_rest = {
        index: gap + sign * speed * delay_s
        for index, speed in speeds.items()
        if (gap := delayed[index]) is not None
    }
    middle = sum(at_rest.values()) / len(at_rest) if at_rest else 0.0
    return {index: figure.value + (gap - middle) for index, gap in at_rest.items()}
