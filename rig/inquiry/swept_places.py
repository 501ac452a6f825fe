"""Runs at several places as the readings that a check of the screw keeps, and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

import numpy as np

from rig.analysis.axis.axis_correction import gap_correction
from rig.analysis.axis.place_readings import (
    PlaceReadings,
    SweptPlace,
    place_readings,
)
from rig.analysis.edges.run_arrays import usable_sweeps
from rig.analysis.numbers.gaps import operate_gap_mm, release_gap_mm
from rig.errors import InputError
from rig.model.sweeps import Run
from rig.records.place_checks import PlaceCheckEntry, PlaceReading


def readings_of_runs(
    runs: Sequence[Run], lead_mm: float
) -> tuple[PlaceReadings, tuple[PlaceReading, ...], float]:
    """Return what runs at several places gave.

    Args:
        runs: One run for each place, each under one datum.
        lead_mm: Lead of the screw.

    Returns:
        The readings for the fit, the same to be kept, and the largest standard
        uncertainty of the corrections of the calibration in force, 0 without one.

    Raises:
        InputError: A run has too few usable sweeps, or the lead is not above 0.
    """
    begun = _middle(runs[0])
    found = place_readings(
        [_swept_place(run, begun) for run in runs],
        lead_mm=lead_mm,
        step_mm=1.0 / runs[0].header.conditions.axis.steps_per_mm,
    )
    kept = []
    largest_mm = 0.0
    for i, run in enumerate(runs):
        on_mm, off_mm = float(found.operate_mm[i]), float(found.release_mm[i])
        known = run.header.conditions
        correction = gap_correction([on_mm], [off_mm], known, _day(run))
        holds = known.calibration is not None and correction.in_place_of_screw
        if holds:
            largest_mm = max(largest_mm, correction.axis_mm)
        kept.append(
            PlaceReading(
                run_id=run.header.run_id,
                closing_mm=float(found.closing_mm[i]),
                opening_mm=float(found.opening_mm[i]),
                operate_mm=on_mm,
                release_mm=off_mm,
                operate_variance_mm2=float(found.covariance_mm2[i, 0, 0]),
                covariance_mm2=float(found.covariance_mm2[i, 0, 1]),
                release_variance_mm2=float(found.covariance_mm2[i, 1, 1]),
                time_s=float(found.time_s[i]),
                operate_correction_mm=float(correction.operate_mm[0])
                if holds
                else None,
                release_correction_mm=float(correction.release_mm[0])
                if holds
                else None,
            )
        )
    return found, tuple(kept), largest_mm


def readings_on_record(entry: PlaceCheckEntry) -> PlaceReadings:
    """Return the readings of a check on record for the fit."""
    kept = entry.readings
    return PlaceReadings(
        closing_mm=np.array([one.closing_mm for one in kept]),
        opening_mm=np.array([one.opening_mm for one in kept]),
        operate_mm=np.array([one.operate_mm for one in kept]),
        release_mm=np.array([one.release_mm for one in kept]),
        covariance_mm2=np.array(
            [
                [
                    [one.operate_variance_mm2, one.covariance_mm2],
                    [one.covariance_mm2, one.release_variance_mm2],
                ]
                for one in kept
            ]
        ),
        degrees_of_freedom=entry.degrees_of_freedom,
        time_s=np.array([one.time_s for one in kept]),
        lead_mm=entry.lead_mm,
    )


def calibrated_readings(entry: PlaceCheckEntry) -> PlaceReadings | None:
    """Return the readings with the calibration applied that was in force.

    Returns:
        None where none was, or where it does not hold at every place.
    """
    on = [one.operate_correction_mm for one in entry.readings]
    off = [one.release_correction_mm for one in entry.readings]
    if any(one is None for one in (*on, *off)):
        return None
    found = readings_on_record(entry)
    return replace(
        found,
        operate_mm=found.operate_mm + np.array(on, dtype=np.float64),
        release_mm=found.release_mm + np.array(off, dtype=np.float64),
    )


def _swept_place(run: Run, begun: datetime) -> SweptPlace:
    if len(run.conditions) > 1:
        raise InputError(
            f"run {run.header.run_id} was resumed under another datum",
            hint="sweep at each place without a break",
        )
    known = run.header.conditions
    sweeps = usable_sweeps(run)
    scale, datum = known.axis.steps_per_mm, known.datum.position_steps
    closing_mm = datum / scale
    return SweptPlace(
        closing_mm=closing_mm,
        opening_mm=closing_mm - known.backlash.of_screw_mm,
        closing_uncertainty_mm=known.datum.standard_uncertainty_mm,
        backlash_uncertainty_mm=known.backlash.standard_uncertainty_mm,
        touches=known.datum.n,
        operate_mm=operate_gap_mm(
            [s.operate.position_steps for s in sweeps if s.operate],
            datum_steps=datum,
            steps_per_mm=scale,
        ),
        release_mm=release_gap_mm(
            [s.release.position_steps for s in sweeps if s.release],
            datum_steps=datum,
            steps_per_mm=scale,
            backlash_mm=known.backlash.of_screw_mm,
        ),
        speeds_mm_s=np.array([s.speed_mm_s for s in sweeps], dtype=np.float64),
        time_s=(_middle(run) - begun).total_seconds(),
    )


def _middle(run: Run) -> datetime:
    first, last = run.sweeps[0].ended_at, run.sweeps[-1].ended_at
    return first + (last - first) / 2


def _day(run: Run) -> date:
    return run.sweeps[-1].ended_at.date()
