"""The sentences that go wherever the figures of a run go; changes no figure."""

from __future__ import annotations

import numpy as np

from rig.analysis.edges.drift import drift_over_order
from rig.analysis.edges.quality import pick_edges
from rig.analysis.edges.run_arrays import RunArrays, calibration_of_run
from rig.analysis.numbers.gaps import operate_gap_mm
from rig.analysis.run.quantities import RunQuantities
from rig.analysis.run.timed_readings import TimedReadings
from rig.analysis.threshold.first_passage import M_LARGEST, Noise
from rig.model.mounted import BacklashSource
from rig.model.sweeps import Run, Sweep

CHATTER_RATIO = 5.0  # differential travel over noise below which chatter sets in


def run_warnings(
    run: Run,
    sweeps: tuple[Sweep, ...],
    arrays: RunArrays,
    quantities: RunQuantities,
    timed: TimedReadings,
) -> tuple[str, ...]:
    """Say what the reader of a run's figures has to know besides them.

    Parameters
    ----------
    run : Run
        With all its sweeps.
    sweeps : tuple of Sweep
        Those that the figures rest on.
    arrays : RunArrays
        Of the same run.
    quantities : RunQuantities
        Of this run alone.
    timed : TimedReadings
        What its timetable gave.

    Returns
    -------
    tuple of str
        Whole sentences, the gravest first; empty if there is nothing to say.
    """
    return (
        *_about_the_run(run, sweeps),
        *_about_the_timetable(timed),
        *_about_the_corrections(run, sweeps),
        *_about_the_calibration(run, sweeps),
        *_about_the_delay(run, sweeps),
        *_about_the_noise(quantities),
        *_about_drift(arrays),
    )


def _about_the_run(run: Run, sweeps: tuple[Sweep, ...]) -> list[str]:
    found = []
    if run.void:
        found.append(f"The whole run is void: {run.void}.")
    if run.home_shift_steps:
        found.append(
            f"The home switch moved by {run.home_shift_steps:+d} steps over the run:"
            " steps were lost, and the figures cannot be trusted."
        )
    elif run.home_shift_steps is None and run.ended_at is not None:
        found.append(
            "The home switch was not touched again after the run, so lost steps would"
            " have gone unnoticed."
        )
    unused = len(run.sweeps) - len(sweeps)
    if unused:
        reason = next((s.void for s in run.sweeps if s.void), "an edge is missing")
        found.append(
            f"{unused} of {len(run.sweeps)} sweeps are not used; the first reason:"
            f" {reason.rstrip('.')}."
        )
    output = run.header.sensor.output
    extra = [len(s.edges) - 2 for s in sweeps if len(s.edges) > 2]
    if extra:
        found.append(
            f"The output chattered in {len(extra)} of {len(sweeps)} sweeps, with"
            f" {sum(extra)} edges too many; the first edge each way is taken."
        )
    if any(pick_edges(s.edges, output) != (s.operate, s.release) for s in sweeps):
        found.append(
            "In some sweeps the edges taken are not the first to the expected level;"
            " the output may be declared the wrong way round."
        )
    return found


def _about_the_timetable(timed: TimedReadings) -> list[str]:
    test = timed.test
    if test is None:
        why = timed.why_none
        return [f"No repeat accuracy over the timetable: {why}."] if why else []
    if not test.complete:
        faults = "; ".join(test.faults)
        return [f"The timetable is not the standard's 8 h test: {faults}."]
    said = "; ".join(test.unrecorded)
    return [f"8 h test: {said}."] if said else []


def _about_the_corrections(run: Run, sweeps: tuple[Sweep, ...]) -> list[str]:
    found = []
    used = {sweep.conditions_index for sweep in sweeps}
    if len(used) > 1:
        found.append(
            f"The sweeps were taken under {len(used)} datums, the run having been taken"
            " up again; what the datums differ by is part of the scatter."
        )
    unmeasured = [
        run.conditions[i].backlash
        for i in sorted(used)
        if run.conditions[i].backlash.source is BacklashSource.NOT_MEASURED
    ]
    if unmeasured:
        backlash = unmeasured[0]
        stated = (
            f"; only a stated {1000.0 * backlash.standard_uncertainty_mm:.1f} µm stands"
            " in the budget"
            if backlash.standard_uncertainty_mm > 0.0
            else ", and their uncertainty leaves it out"
        )
        found.append(
            "Backlash was not measured: it is in the release point and in the"
            f" differential travel in full{stated}."
        )
    return found


def _about_the_calibration(run: Run, sweeps: tuple[Sweep, ...]) -> list[str]:
    used = {sweep.conditions_index for sweep in sweeps}
    said = [
        sentence
        for index, correction in enumerate(calibration_of_run(run))
        if index in used
        for sentence in correction.statements
    ]
    return list(dict.fromkeys(said))


def _about_the_delay(run: Run, sweeps: tuple[Sweep, ...]) -> list[str]:
    speeds = {round(s.speed_mm_s, 9) for s in sweeps}
    if len(speeds) > 1:
        return []
    speed = next(iter(speeds))
    frequency = run.header.sensor.switching_frequency_hz
    bound = (
        f"the data sheet's {frequency:g} Hz bounds it, and that bound is in the budget"
        if frequency is not None
        else "no bound on it is known, and the uncertainty leaves it out"
    )
    return [
        f"All sweeps ran at {speed:g} mm/s, so the switching delay is not removed: the"
        " operate point reads small, the release point and the differential travel read"
        f" large; {bound}."
    ]


def _about_the_noise(q: RunQuantities) -> list[str]:
    travel = float(q.differential_travel.value)
    sigmas = [float(n.sigma_mm) for n in (q.noise_operate, q.noise_release) if n]
    found = []
    if travel < 0.0:
        found.append(
            f"The differential travel comes out negative ({1000.0 * travel:.1f} µm):"
            " noise makes both points early, and the sensor's own is too small for it."
        )
    elif sigmas and travel < CHATTER_RATIO * max(sigmas):
        found.append(
            f"The differential travel is less than {CHATTER_RATIO:g} times the noise:"
            " chatter is to be expected, and the noise bias is a rough figure."
        )
    noises = (("operate", q.noise_operate), ("release", q.noise_release))
    found += [_beyond(which) for which, noise in noises if noise and _is_beyond(noise)]
    return found


def _is_beyond(noise: Noise) -> bool:
    return bool(np.any(noise.beyond_table))


def _beyond(which: str) -> str:
    return (
        f"The {which} points scatter by more than noise of {M_LARGEST:g} steps would:"
        " their noise bias and threshold are a lower bound of the correction."
    )


def _about_drift(arrays: RunArrays) -> list[str]:
    gaps = operate_gap_mm(
        arrays.operate_steps,
        datum_steps=arrays.knowns.datum_steps,
        steps_per_mm=arrays.knowns.steps_per_mm,
    )
    drift = drift_over_order(arrays.order, arrays.speed_mm_s, gaps)
    if drift is None or not drift.significant:
        return []
    return [
        f"The operate point drifts by {1000.0 * drift.over_run_mm:+.1f} µm from the"
        " first sweep to the last (significant at 1 %): the sensor or the bench was not"
        " settled, and sweeps are not independent."
    ]
