"""Figures of very many runs from arrays, each as its run alone would give it.

Runs of the same sweeps are worked out together: as many, at the same speeds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.budget import Knowns
from rig.analysis.edges.run_arrays import RunArrays
from rig.analysis.numbers.equal_rows import equal_rows
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.run.figure_blocks import figure_blocks
from rig.analysis.run.quantities import run_quantities
from rig.analysis.run.remarks import warnings_of
from rig.analysis.run.run_facts import RunFacts
from rig.model.figure_forms import FigureBlock

IndexArray = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class ManyRuns:
    """Usable sweeps of r runs in a row, and what is known of each run besides.

    Attributes
    ----------
    run_ids : tuple[str, ...]
        The runs, r of them.
    facts : tuple[RunFacts, ...]
        Facts of each run, r of them.
    sweeps : ndarray of int
        Number of usable sweeps of each run, shape (r,), at least 1 each.
    speed_mm_s : ndarray of float
        Speed of every sweep, run after run, shape (s,).
    order : ndarray of float
        Index of every sweep in its run, shape (s,).
    operate_steps : ndarray of float
        Step counts of the operate edges, shape (s,), the calibration of the axis
        applied.
    release_steps : ndarray of float
        Step counts of the release edges, likewise.
    knowns : Knowns
        Arrays of shape (r,), those of the bench too; its switching frequency and what
        its datum moved by are not used.
    datum_moved_mm : ndarray of float
        Size of each datum's closing difference, shape (r,); NaN where the face was not
        touched again.
    """

    run_ids: tuple[str, ...]
    facts: tuple[RunFacts, ...]
    sweeps: IndexArray
    speed_mm_s: FloatArray
    order: FloatArray
    operate_steps: FloatArray
    release_steps: FloatArray
    knowns: Knowns
    datum_moved_mm: FloatArray


def many_figures(many: ManyRuns) -> Iterator[FigureBlock]:
    """Work out all figures of many runs.

    Parameters
    ----------
    many : ManyRuns
        A few thousand runs at a time keep the arrays within the processor's cache.

    Yields
    ------
    FigureBlock
        Every run is in one of them.

    Raises
    ------
    ValueError
        If the sweeps do not add up or a value is not finite.
    """
    if int(many.sweeps.sum()) != many.speed_mm_s.size or np.any(many.sweeps < 1):
        raise ValueError("the sweeps of the runs do not add up to the edges given")
    starts = np.cumsum(many.sweeps) - many.sweeps
    for n in np.unique(many.sweeps):
        runs = np.flatnonzero(many.sweeps == n)
        rows = starts[runs][:, np.newaxis] + np.arange(n)
        for alike in _alike(many, runs, rows):
            yield from _figures(many, runs[alike], rows[alike])


def _alike(many: ManyRuns, runs: IndexArray, rows: IndexArray) -> Iterator[IndexArray]:
    """Yield the places of runs whose terms have the same names and factors."""
    known = many.knowns
    key = np.column_stack(
        [
            many.speed_mm_s[rows],
            many.order[rows],
            [_frequency(many.facts[run]) for run in runs],
            np.isinf(np.asarray(known.backlash_dof, dtype=np.float64)[runs]),
            np.isnan(many.datum_moved_mm[runs]),
            np.column_stack([np.asarray(each)[runs] for each in known.bench.sources]),
        ]
    )
    return equal_rows(key)


def _frequency(facts: RunFacts) -> float:
    frequency = facts.switching_frequency_hz
    return 0.0 if frequency is None else frequency


def _figures(
    many: ManyRuns, runs: IndexArray, rows: IndexArray
) -> Iterator[FigureBlock]:
    points = RunArrays(
        operate_steps=many.operate_steps[rows],
        release_steps=many.release_steps[rows],
        speed_mm_s=many.speed_mm_s[rows[0]],
        order=many.order[rows[0]],
        knowns=_knowns_of(many, runs),
    )
    quantities = run_quantities(
        points.operate_steps, points.release_steps, points.speed_mm_s, points.knowns
    )
    yield from figure_blocks(
        [many.run_ids[run] for run in runs],
        quantities,
        rows.shape[1],
        warnings_of([many.facts[run] for run in runs], points, quantities),
    )


def _knowns_of(many: ManyRuns, runs: IndexArray) -> Knowns:
    known = many.knowns
    moved_mm = many.datum_moved_mm[runs]
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
        backlash_by_probe=np.asarray(known.backlash_by_probe)[runs],
        late_mm=np.asarray(known.late_mm)[runs],
        bench=known.bench.of_runs(runs),
        switching_frequency_hz=many.facts[runs[0]].switching_frequency_hz,
        datum_moved_mm=None if np.isnan(moved_mm[0]) else moved_mm,
    )
