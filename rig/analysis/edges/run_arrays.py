"""A run's usable edges as plain arrays in one frame, with what is known of the bench.

A run that was cut short and taken up again has a new datum and backlash each time; its
edges are moved to the frame of the first. Knows nothing of figures.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rig.analysis.axis.axis_correction import GapCorrection, gap_correction
from rig.analysis.edges.bench_causes import bench_causes, widest
from rig.analysis.edges.budget import Knowns
from rig.analysis.edges.datum_closing import (
    DatumClosing,
    datum_closing,
    moved_share_mm,
)
from rig.analysis.edges.latched_places import edge_steps
from rig.analysis.edges.speed import fit_speed
from rig.analysis.numbers.gaps import FloatArray, operate_gap_mm, release_gap_mm
from rig.analysis.numbers.uncertainty import effective_degrees_of_freedom
from rig.errors import BenchError
from rig.model.mounted import Backlash, BacklashSource, Datum
from rig.model.sweeps import Conditions, Run, Sweep

_NO_SHARE = 1e-12  # what rounding leaves of a share of 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RunArrays:
    """What `run_quantities` needs of one run; stack those of equal speeds for many.

    Attributes
    ----------
    operate_steps : ndarray of float
        Step counts of the operate edges, shape (n,), in the frame of the first
        conditions.
    release_steps : ndarray of float
        Step counts of the release edges, shape (n,), in the same frame; a later
        backlash is allowed for.
    speed_mm_s : ndarray of float
        Speed of each sweep, shape (n,).
    order : ndarray of float
        Indices of the sweeps in the run, shape (n,).
    knowns : Knowns
        What is known of the bench over the whole run.
    """

    operate_steps: FloatArray
    release_steps: FloatArray
    speed_mm_s: FloatArray
    order: FloatArray
    knowns: Knowns


def usable_sweeps(run: Run) -> tuple[Sweep, ...]:
    """Sweeps that a figure may rest on: not void, with both edges.

    Parameters
    ----------
    run : Run
        Run with all its sweeps.

    Returns
    -------
    tuple of Sweep
        In order.
    """
    return tuple(
        sweep
        for sweep in run.sweeps
        if not sweep.void and sweep.operate is not None and sweep.release is not None
    )


def run_arrays(run: Run) -> RunArrays:
    """Lay the usable edges of a run out as arrays.

    Parameters
    ----------
    run : Run
        Run with at least one usable sweep.

    Returns
    -------
    RunArrays
        n is the number of usable sweeps.

    Raises
    ------
    BenchError
        If the scale of the axis changed within the run.
    ValueError
        If a number of the conditions is not finite where it has to be.
    """
    sweeps = usable_sweeps(run)
    first = run.conditions[0]
    scale = first.axis.steps_per_mm
    if any(
        (c.axis.steps_per_mm, c.axis.scale_counts_per_mm)
        != (scale, first.axis.scale_counts_per_mm)
        for c in run.conditions
    ):
        raise BenchError(
            f"run {run.header.run_id} was taken at two scales of the axis",
            hint="sweep again; the steps of both cannot be put together",
        )
    corrections = calibration_of_run(run)
    on, off, speeds, order = _in_one_frame(run, sweeps, corrections)
    shares = _shares([sweep.conditions_index for sweep in sweeps], speeds, run)
    return RunArrays(
        operate_steps=on,
        release_steps=off,
        speed_mm_s=speeds,
        order=order,
        knowns=_knowns(
            run.conditions,
            shares,
            corrections,
            run.header.sensor.switching_frequency_hz,
            moved_share_mm(closings_of_run(run), shares.tolist()),
        ),
    )


def closings_of_run(run: Run) -> tuple[DatumClosing | None, ...]:
    """What touching the face again says of each of a run's datums.

    Parameters
    ----------
    run : Run
        Run with all its sweeps.

    Returns
    -------
    tuple of DatumClosing or None
        One for each of the conditions; None where the face was not touched again.
    """
    last = {sweep.conditions_index: sweep.index for sweep in usable_sweeps(run)}
    return tuple(
        datum_closing(
            [c for c in run.datum_checks if c.conditions_index == index],
            conditions.datum.place_steps,
            conditions.datum.standard_uncertainty_mm,
            steps_per_mm=conditions.axis.steps_per_mm,
            last_sweep=last.get(index, -1),
        )
        for index, conditions in enumerate(run.conditions)
    )


def one_row(arrays: RunArrays) -> RunArrays:
    """Show a run as one among many.

    Parameters
    ----------
    arrays : RunArrays
        Arrays of one run, steps of shape (n,).

    Returns
    -------
    RunArrays
        The same, steps of shape (1, n).
    """
    return replace(
        arrays,
        operate_steps=arrays.operate_steps[np.newaxis],
        release_steps=arrays.release_steps[np.newaxis],
    )


def _shares(index: Sequence[int], speeds: FloatArray, run: Run) -> FloatArray:
    """What each of the run's conditions weighs in the points at rest; sum 1."""
    shares = np.zeros(len(run.conditions))
    if len(set(index)) == 1:
        shares[index[0]] = 1.0  # rounding must not leave a little less
    else:
        weights = fit_speed(speeds, np.zeros_like(speeds)).at_rest_weights
        np.add.at(shares, index, weights)
    return shares


def _in_one_frame(
    run: Run, sweeps: Sequence[Sweep], corrections: Sequence[GapCorrection]
) -> FloatArray:
    """Operate and release steps, speed and index of each sweep, shape (4, n)."""
    first = run.conditions[0]
    scale = first.axis.steps_per_mm
    rows = []
    taken = [0] * len(run.conditions)
    for sweep in sweeps:
        if sweep.operate is None or sweep.release is None:
            continue
        own = run.conditions[sweep.conditions_index]
        at = taken[sweep.conditions_index]
        taken[sweep.conditions_index] += 1
        correction = corrections[sweep.conditions_index]
        moved = own.datum.place_steps - first.datum.place_steps
        lost = (own.backlash.value_mm - first.backlash.value_mm) * scale
        # A larger gap is a place with fewer steps
        on = edge_steps(sweep.operate, own.axis) - moved
        on -= correction.operate_mm[at] * scale
        off = edge_steps(sweep.release, own.axis) - moved + lost
        off -= correction.release_mm[at] * scale
        rows.append((on, off, sweep.speed_mm_s, sweep.index))
    return np.array(rows, dtype=np.float64).T.copy()


def calibration_of_run(run: Run) -> tuple[GapCorrection, ...]:
    """What the calibration of the axis does under each of the run's conditions.

    Parameters
    ----------
    run : Run
        Run with all its sweeps.

    Returns
    -------
    tuple of GapCorrection
        One for each of the conditions, as of the day of the last sweep under it; for
        the usable sweeps under it in order.
    """
    return tuple(
        _calibration_under(
            conditions,
            [s for s in usable_sweeps(run) if s.conditions_index == index],
            run,
        )
        for index, conditions in enumerate(run.conditions)
    )


def _calibration_under(
    conditions: Conditions, sweeps: Sequence[Sweep], run: Run
) -> GapCorrection:
    datum, scale = conditions.datum.place_steps, conditions.axis.steps_per_mm
    on = operate_gap_mm(
        [edge_steps(s.operate, conditions.axis) for s in sweeps if s.operate],
        datum_steps=datum,
        steps_per_mm=scale,
    )
    off = release_gap_mm(
        [edge_steps(s.release, conditions.axis) for s in sweeps if s.release],
        datum_steps=datum,
        steps_per_mm=scale,
        backlash_mm=conditions.backlash.value_mm,
    )
    last = sweeps[-1].ended_at if sweeps else run.header.started_at
    return gap_correction(on, off, conditions, last.date())


def _knowns(
    conditions: Sequence[Conditions],
    shares: FloatArray,
    corrections: Sequence[GapCorrection],
    frequency_hz: float | None,
    datum_moved_mm: float | None,
) -> Knowns:
    """Combine the uncertainties of all conditions by their shares in the points.

    Scatter of the touches is new each time; probe and screw are the same throughout, so
    theirs add with their signs. The shares of what is declared sum to 1, so it counts
    once; where it changed on the way, the widest does.
    """
    datum_mm, datum_dof = _independent(
        [c.datum.standard_uncertainty_mm for c in conditions],
        [c.datum.degrees_of_freedom for c in conditions],
        shares,
    )
    backlash_mm, backlash_dof = _independent(
        [c.backlash.standard_uncertainty_mm for c in conditions],
        [c.backlash.degrees_of_freedom for c in conditions],
        shares,
    )
    probe = [
        0.0 if c.bench is not None else c.datum.probe_uncertainty_mm for c in conditions
    ]
    axis_mm = [correction.axis_mm for correction in corrections]
    used = np.flatnonzero(np.abs(shares) > _NO_SHARE).tolist()
    return Knowns(
        steps_per_mm=conditions[0].axis.steps_per_mm,
        axis_mm=abs(float(shares @ np.array(axis_mm))),
        scale_counts_per_mm=conditions[0].axis.scale_counts_per_mm or 0.0,
        datum_steps=conditions[0].datum.place_steps,
        datum_mm=datum_mm,
        datum_dof=datum_dof,
        probe_mm=abs(float(shares @ np.array(probe))),
        backlash_mm=conditions[0].backlash.value_mm,
        backlash_uncertainty_mm=backlash_mm,
        backlash_dof=backlash_dof,
        backlash_by_probe=max(float(by_probe(conditions[i].backlash)) for i in used),
        late_mm=_late_mm([conditions[i].datum for i in used]),
        bench=widest(
            [
                bench_causes(
                    conditions[i].bench,
                    screw=not corrections[i].in_place_of_screw,
                    scale=conditions[i].axis.scale_counts_per_mm is not None,
                )
                for i in used
            ]
        ),
        switching_frequency_hz=frequency_hz,
        datum_moved_mm=datum_moved_mm,
    )


def by_probe(backlash: Backlash) -> bool:
    """Whether a backlash was found on the touch probe.

    Parameters
    ----------
    backlash : Backlash
        Backlash of a run's conditions.

    Returns
    -------
    bool
        True if delay and hysteresis of the probe are in it.
    """
    return backlash.source is BacklashSource.PROBE


def _late_mm(datums: Sequence[Datum]) -> float:
    """Return what is left of the probe's delay, the most of several; 0 for none."""
    left = [datum.late_uncertainty_mm for datum in datums]
    return 0.0 if None in left else max(one for one in left if one is not None)


def _independent(
    uncertainties: Sequence[float], dof: Sequence[float], shares: FloatArray
) -> tuple[float, float]:
    used = [
        (abs(share) * u, nu)
        for share, u, nu in zip(shares, uncertainties, dof, strict=True)
        if abs(share) > _NO_SHARE
    ]
    if len(used) == 1:
        # Kept as stated, so that degrees of freedom that cannot be are refused
        return used[0]
    effective = effective_degrees_of_freedom([u for u, _ in used], [n for _, n in used])
    return math.hypot(*(u for u, _ in used)), float(effective)
