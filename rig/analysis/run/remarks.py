"""The sentences that go wherever the figures of a run go; changes no figure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.drift import drift_over_order
from rig.analysis.edges.run_arrays import RunArrays
from rig.analysis.numbers.gaps import operate_gap_mm, release_gap_mm
from rig.analysis.run.lost_steps import find_lost_steps
from rig.analysis.run.quantities import RunQuantities
from rig.analysis.run.run_facts import RunFacts, sentences_of
from rig.analysis.threshold.first_passage import M_LARGEST, Noise
from rig.analysis.threshold.noise_signs import noise_signs

CHATTER_RATIO = 5.0  # differential travel over noise below which chatter sets in

# Which run of the array, and what is to be said of it
Remark = tuple[int, str]


def warnings_of(
    facts: Sequence[RunFacts], points: RunArrays, quantities: RunQuantities
) -> list[tuple[str, ...]]:
    """Say what the reader of the figures of runs has to know besides them.

    Parameters
    ----------
    facts : sequence of RunFacts
        Facts of k runs.
    points : RunArrays
        Points of the same runs, shape (k, n).
    quantities : RunQuantities
        Quantities of the same runs.

    Returns
    -------
    list of tuple of str
        Whole sentences for each of the k runs, the gravest first; empty if there is
        nothing to say.
    """
    said: list[list[str]] = [[] for _ in facts]
    unproven = np.array([_is_unproven(each) for each in facts])
    for run, sentence in (
        *_about_lost_steps(points, unproven),
        *_about_the_travel(quantities),
        *_about_the_noise("operate", quantities.noise_operate),
        *_about_the_noise("release", quantities.noise_release),
        *_about_drift(points),
        *_about_what_sweeps_share(points),
    ):
        said[run].append(sentence)
    return [
        (*sentences_of(each), *more) for each, more in zip(facts, said, strict=True)
    ]


def _is_unproven(facts: RunFacts) -> bool:
    """Whether neither home switch nor face proved that the axis lost no steps.

    Under several datums a jump may be what these differ by.
    """
    proven = facts.home_checked or facts.datums_closed
    return (bool(facts.home) or not proven) and facts.datums == 1


def _about_lost_steps(
    points: RunArrays, unproven: npt.NDArray[np.bool_]
) -> Iterator[Remark]:
    if not unproven.any():
        return
    found = find_lost_steps(
        points.operate_steps, points.release_steps, points.speed_mm_s, points.order
    )
    scale = np.broadcast_to(
        np.asarray(points.knowns.steps_per_mm, dtype=np.float64), unproven.shape
    )
    for run in np.flatnonzero(unproven & (found.after >= 0)):
        jump = float(found.jump_steps[run])
        yield (
            int(run),
            f"From sweep {int(points.order[found.after[run]]) + 1} on both points lie"
            f" {jump:+.0f} steps ({1000.0 * jump / scale[run]:+.1f} µm) from where they"
            " lay before: the axis may have lost steps there, or the sensor or the"
            " target moved.",
        )


def _about_the_travel(q: RunQuantities) -> Iterator[Remark]:
    travel = q.differential_travel.value
    noises = [noise.sigma_mm for noise in (q.noise_operate, q.noise_release) if noise]
    for run in np.flatnonzero(travel < 0.0):
        yield (
            int(run),
            "The differential travel comes out negative"
            f" ({1000.0 * travel[run]:.1f} µm): noise makes both points early, and the"
            " sensor's own is too small for it.",
        )
    if not noises:
        return
    rough = (travel >= 0.0) & (travel < CHATTER_RATIO * np.max(noises, axis=0))
    for run in np.flatnonzero(rough):
        yield (
            int(run),
            f"The differential travel is less than {CHATTER_RATIO:g} times the noise:"
            " chatter is to be expected, and the noise bias is a rough figure.",
        )


def _about_the_noise(which: str, noise: Noise | None) -> Iterator[Remark]:
    if noise is None:
        return
    for run in np.flatnonzero(noise.beyond_table):
        yield (
            int(run),
            f"The {which} points scatter by more than noise of {M_LARGEST:g} steps"
            " would: their noise bias and threshold are a lower bound of the"
            " correction.",
        )


def _about_drift(points: RunArrays) -> Iterator[Remark]:
    gaps = operate_gap_mm(
        points.operate_steps,
        datum_steps=points.knowns.datum_steps,
        steps_per_mm=points.knowns.steps_per_mm,
    )
    drift = drift_over_order(points.order, points.speed_mm_s, gaps)
    if drift is None:
        return
    for run in np.flatnonzero(drift.significant):
        yield (
            int(run),
            f"The operate point drifts by {1000.0 * drift.over_run_mm[run]:+.1f} µm"
            " from the first sweep to the last (significant at 1 %): the sensor or the"
            " bench was not settled, and sweeps are not independent.",
        )


def _about_what_sweeps_share(points: RunArrays) -> Iterator[Remark]:
    known = points.knowns
    signs = noise_signs(
        points.speed_mm_s,
        operate_gap_mm(
            points.operate_steps,
            datum_steps=known.datum_steps,
            steps_per_mm=known.steps_per_mm,
        ),
        release_gap_mm(
            points.release_steps,
            datum_steps=known.datum_steps,
            steps_per_mm=known.steps_per_mm,
            backlash_mm=known.backlash_mm,
        ),
        step_mm=1.0 / np.asarray(known.steps_per_mm, dtype=np.float64),
    )
    for run in np.flatnonzero(signs.shared):
        yield (
            int(run),
            "Both points of a sweep move together (significant at 1 %): something"
            " shifts whole sweeps, or the noise has a memory of seconds. Noise biases"
            " and thresholds rest on the differential travel, in which it cancels.",
        )
    for run in np.flatnonzero(signs.in_series):
        yield (
            int(run),
            "The points of a sweep take after those of the sweep before (significant"
            " at 1 %): the noise has a memory of seconds or more, and sweeps are not"
            " independent.",
        )
