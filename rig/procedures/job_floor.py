r"""The least time in which a whole job can be done, part by part, with its derivation.

Given are the axis (quick speed v, speed r of the retreat, acceleration a, the highest
speed u at which the probe may close, the speed w of the touches), the bench (distance f
of the face from where the axis rests, play b between closing and opening of the probe),
the sensor (operate gap g, differential travel h), and what is asked for: n touches, the
sweeps with their speeds, m touches that close the datum. What no order of motions can
avoid:

- T(s) is the least time of a way s from rest to rest: 2 sqrt(s / a), or s / v + v / a
  from s = v^2 / a on.
- Homing is a sequence of the controller's own (SPEC.md, 10): as it was.
- Finding the face: where nothing is known it may be anywhere, and no place may be gone
  over at more than u before it is known to be free: f / u. Where the last part had it,
  all but what faces of a kind lie apart is free: T(f - d) + d / u.
- A touch closes and opens the probe at w. Each edge lies in a band that the probe's
  repeatability p gives, five standard deviations to either side, and comes in its
  middle: 2 (5 p / w + b / u).
- Locating: the way out to the release point has to be gone in any case: T(g + h).
- A sweep: from one edge to the other quickly up to the band of its scatter, slowly to
  the middle of that, and settled, both ways (`pair_floor_s`).
- Closing: T(g) back to the face, m touches, and T(f) with r in place of v out of the
  way of hands.

It leaves out run-ups, braking beyond an edge, and all words on the wire.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rig.analysis.edges.speed import fit_speed
from rig.model.phases import Phase, PhaseTime
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.face_search import FACES_DIFFER_MM
from rig.procedures.kinematics import move_s

_SPREAD = 5.0  # standard deviations on either side of the middle make a band
_PROBE_MM = 0.002  # repeatability of a probe of which nothing is declared


@dataclass(frozen=True, slots=True, kw_only=True)
class JobShape:
    """What a job has to get over and through, from its records.

    Attributes:
        face_mm: Way from where the axis rests to the face.
        face_known: Whether the last part of the kind told where the face is.
        play_mm: Way from the closing of the probe to its opening.
        touches: Slow touches behind the datum.
        operate_mm: Operate gap.
        travel_mm: Way from the operate to the release point, as the axis counts.
        scatter_mm: Scatter of a sweep.
        speeds_mm_s: Speed of each sweep.
        closing_touches: Slow touches that close the datum.
    """

    face_mm: float
    face_known: bool
    play_mm: float
    touches: int
    operate_mm: float
    travel_mm: float
    scatter_mm: float
    speeds_mm_s: tuple[float, ...]
    closing_touches: int


def job_floor(shape: JobShape, settings: BenchSettings) -> dict[Phase, float]:
    """Return the least time of each part of a job but homing, s.

    Args:
        shape: What the job has to get through.
        settings: How the axis is driven.
    """
    quick, accelerates = settings.coarse_speed_mm_s, settings.acceleration_mm_s2
    search = settings.search_speed_mm_s

    def way_s(way_mm: float) -> float:
        return move_s(way_mm, quick, accelerates)

    slow_mm = min(FACES_DIFFER_MM, shape.face_mm) if shape.face_known else shape.face_mm
    slow_s = _SPREAD * _PROBE_MM / settings.touch_speed_mm_s
    touch_s = 2.0 * (slow_s + shape.play_mm / search)
    return {
        Phase.FACE: way_s(shape.face_mm - slow_mm) + slow_mm / search,
        Phase.TOUCHES: shape.touches * touch_s,
        Phase.LOCATING: way_s(shape.operate_mm + shape.travel_mm),
        Phase.SWEEPS: sum(
            pair_floor_s(
                shape.travel_mm,
                2.0 * _SPREAD * shape.scatter_mm,
                slow_mm_s=speed,
                fast_mm_s=quick,
                acceleration_mm_s2=accelerates,
                settle_s=settings.settle_s,
            )
            for speed in shape.speeds_mm_s
        ),
        Phase.CLOSING: way_s(shape.operate_mm)
        + shape.closing_touches * touch_s
        + move_s(shape.face_mm, settings.retreat_speed_mm_s, accelerates),
    }


def shape_of_run(run: Run, *, face_known: bool) -> JobShape | None:
    """Return what the job of a run had to get through; None without a good sweep.

    Args:
        run: The run with all its sweeps.
        face_known: Whether the last part of the kind told where the face is.
    """
    conditions = run.conditions[-1]
    scale = conditions.axis.steps_per_mm
    points = [
        (sweep.speed_mm_s, sweep.operate.position_steps, sweep.release.position_steps)
        for sweep in run.sweeps
        if not sweep.void and sweep.operate is not None and sweep.release is not None
    ]
    if not points:
        return None
    speeds, on, off = np.array(points, dtype=np.float64).T
    fits = [fit_speed(speeds, places / scale) for places in (on, off)]
    datum = conditions.datum
    return JobShape(
        face_mm=datum.position_steps / scale,
        face_known=face_known,
        play_mm=max(0.0, conditions.backlash.of_screw_mm),
        touches=datum.n,
        operate_mm=float(datum.position_steps - np.mean(on)) / scale,
        travel_mm=max(0.0, float(np.mean(on - off)) / scale),
        scatter_mm=float(np.mean([fit.residual_sd for fit in fits])),
        speeds_mm_s=tuple(speeds.tolist()),
        closing_touches=run.datum_checks[-1].n if run.datum_checks else 0,
    )


def with_floors(
    times: Sequence[PhaseTime], shape: JobShape, settings: BenchSettings
) -> tuple[PhaseTime, ...]:
    """Return the times of a job's parts with the least time of each.

    Args:
        times: What was taken.
        shape: What the job had to get through.
        settings: How the axis was driven.
    """
    floors = job_floor(shape, settings)
    return tuple(
        replace(time, floor_s=floors.get(time.name, time.seconds)) for time in times
    )


def pair_floor_s(
    travel_mm: float,
    band_mm: float,
    *,
    slow_mm_s: float,
    fast_mm_s: float,
    acceleration_mm_s2: float,
    settle_s: float,
) -> float:
    """Return the least time for an operate and a release point of a known band.

    Both ways: fast up to the middle of the far edge's band less half its width, at
    once slowly to its middle, where the edge is expected, and settled. No real axis
    does that: it leaves out braking, the run-up and the words on the wire.

    Args:
        travel_mm: Way from the operate to the release point, as the axis counts.
        band_mm: Width in which either edge may fall.
        slow_mm_s: Speed in the band.
        fast_mm_s: Speed outside it.
        acceleration_mm_s2: Acceleration of every ramp.
        settle_s: Rest before the axis turns.
    """
    half_mm = min(band_mm / 2.0, travel_mm)
    fast_s = move_s(travel_mm - half_mm, fast_mm_s, acceleration_mm_s2)
    return 2.0 * (fast_s + half_mm / slow_mm_s + settle_s)
