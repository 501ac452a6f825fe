"""Figures of very many runs from arrays, each as its run alone would give it.

Runs that went through the same speeds are worked out together. Says nothing in words:
for warnings and for figures to be shown, take a run by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.budget import Knowns
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.run.quantities import RunQuantities, run_quantities

IndexArray = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class ManyRuns:
    """Usable sweeps of r runs in a row, and what is known of each run's bench.

    Attributes:
        sweeps: Number of sweeps of each run, shape (r,), at least 1 each.
        speed_mm_s: Of every sweep, run after run, shape (s,).
        operate_steps: Step counts of the edges taken, shape (s,).
        release_steps: Likewise.
        knowns: Arrays of shape (r,); its switching frequency is not used.
        switching_frequency_hz: Shape (r,); NaN where it is unknown.
    """

    sweeps: IndexArray
    speed_mm_s: FloatArray
    operate_steps: FloatArray
    release_steps: FloatArray
    knowns: Knowns
    switching_frequency_hz: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Runs that were worked out together.

    Attributes:
        runs: Which of the runs, shape (k,).
        quantities: Arrays of shape (k,).
    """

    runs: IndexArray
    quantities: RunQuantities


def many_quantities(many: ManyRuns) -> Iterator[Together]:
    """Work out all figures of many runs.

    Parameters
    ----------
    many : ManyRuns
        A few thousand runs at a time keep the arrays within the processor's cache.

    Yields
    ------
    Together
        One for each order of speeds and switching frequency that occurs.

    Raises
    ------
    ValueError
        If the sweeps do not add up or a value is not finite.
    """
    if int(many.sweeps.sum()) != many.speed_mm_s.size or np.any(many.sweeps < 1):
        raise ValueError("the sweeps of the runs do not add up to the edges given")
    starts = np.cumsum(many.sweeps) - many.sweeps
    for n in np.unique(many.sweeps):
        left = np.flatnonzero(many.sweeps == n)
        while left.size:
            rows = starts[left][:, np.newaxis] + np.arange(n)
            speeds = many.speed_mm_s[rows]
            frequency = many.switching_frequency_hz[left]
            alike = (speeds == speeds[0]).all(axis=1) & (
                (frequency == frequency[0])
                | (np.isnan(frequency) & np.isnan(frequency[0]))
            )
            yield Together(
                runs=left[alike],
                quantities=run_quantities(
                    many.operate_steps[rows[alike]],
                    many.release_steps[rows[alike]],
                    speeds[0],
                    _knowns_of(many, left[alike]),
                ),
            )
            left = left[~alike]


def _knowns_of(many: ManyRuns, runs: IndexArray) -> Knowns:
    known = many.knowns
    frequency = float(many.switching_frequency_hz[runs[0]])
    return Knowns(
        steps_per_mm=np.asarray(known.steps_per_mm)[runs],
        axis_mm=np.asarray(known.axis_mm)[runs],
        datum_steps=np.asarray(known.datum_steps)[runs],
        datum_mm=np.asarray(known.datum_mm)[runs],
        datum_dof=np.asarray(known.datum_dof)[runs],
        probe_mm=np.asarray(known.probe_mm)[runs],
        backlash_mm=np.asarray(known.backlash_mm)[runs],
        backlash_uncertainty_mm=np.asarray(known.backlash_uncertainty_mm)[runs],
        backlash_dof=np.asarray(known.backlash_dof)[runs],
        switching_frequency_hz=None if np.isnan(frequency) else frequency,
    )
