"""The two points of every sweep as a page shows them; makes no figure of its own."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.figures import usable_sweeps
from rig.analysis.points import operate_gap_mm, release_gap_mm
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Conditions, Edge, Run


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One sweep's points.

    Attributes:
        index: Of the sweep in its run.
        speed_mm_s: On both ways.
        operate_logged_mm: Gap at the operate edge; None without that edge.
        release_logged_mm: Gap at the release edge, backlash still in it.
        operate_corrected_mm: What the operate figure is the mean of; None if void.
        release_corrected_mm: What the release figure is the mean of; None if void.
        edges: How many edges the sweep has.
        void: Why it is not used; empty if it is.
    """

    index: int
    speed_mm_s: float
    operate_logged_mm: float | None
    release_logged_mm: float | None
    operate_corrected_mm: float | None
    release_corrected_mm: float | None
    edges: int
    void: str


def readings(run: Run, figures: RunFigures) -> tuple[Reading, ...]:
    """Lay out the points of all sweeps, void ones included.

    The corrected points carry neither backlash nor the delay's travel: logged point,
    less what the response time makes at the sweep's speed, moved so that their mean is
    the figure. What is moved is the backlash and the latch's part of a step, which are
    the same for every sweep.
    """
    used = {sweep.index for sweep in usable_sweeps(run)}
    operate = {
        s.index: _operate_logged(s.operate, _conditions(run, s.conditions_index))
        for s in run.sweeps
    }
    release = {
        s.index: _release_logged(s.release, _conditions(run, s.conditions_index))
        for s in run.sweeps
    }
    speeds = {s.index: s.speed_mm_s for s in run.sweeps if s.index in used}
    operate_corrected = _corrected(
        operate, speeds, figures.operate, figures.response_time_operate, 1.0
    )
    release_corrected = _corrected(
        release, speeds, figures.release, figures.response_time_release, -1.0
    )
    return tuple(
        Reading(
            index=s.index,
            speed_mm_s=s.speed_mm_s,
            operate_logged_mm=operate[s.index],
            release_logged_mm=release[s.index],
            operate_corrected_mm=operate_corrected.get(s.index),
            release_corrected_mm=release_corrected.get(s.index),
            edges=len(s.edges),
            void="" if s.index in used else s.void or "an edge is missing",
        )
        for s in run.sweeps
    )


def _conditions(run: Run, index: int) -> Conditions:
    return run.conditions[index]


def _operate_logged(edge: Edge | None, conditions: Conditions) -> float | None:
    if edge is None:
        return None
    gap = operate_gap_mm(
        [edge.position_steps],
        datum_steps=conditions.datum.position_steps,
        steps_per_mm=conditions.axis.steps_per_mm,
    )
    return float(gap[0])


def _release_logged(edge: Edge | None, conditions: Conditions) -> float | None:
    if edge is None:
        return None
    gap = release_gap_mm(
        [edge.position_steps],
        datum_steps=conditions.datum.position_steps,
        steps_per_mm=conditions.axis.steps_per_mm,
        backlash_mm=0.0,
    )
    return float(gap[0])


def _corrected(
    logged: dict[int, float | None],
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
        if (gap := logged[index]) is not None
    }
    middle = sum(at_rest.values()) / len(at_rest) if at_rest else 0.0
    return {index: figure.value + (gap - middle) for index, gap in at_rest.items()}
