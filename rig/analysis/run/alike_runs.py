"""Whether runs scatter so much alike that their noise may be pooled."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from rig.analysis.edges.drift import bases_of_speed, without
from rig.analysis.edges.run_arrays import RunArrays
from rig.analysis.edges.speed import fit_speed
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.threshold.first_passage import noise_from_sd
from rig.analysis.threshold.noise_signs import shared_of

LEVEL = 0.01  # of the test of equal spread; a common offset is tested at as much
_LEAST_DOF = 3


def why_not_pooled(runs: Sequence[RunArrays]) -> str:
    """Say why the noise of runs must not be pooled.

    Parameters
    ----------
    runs : sequence of RunArrays
        Runs of one part against one target, at one scale of the axis.

    Returns
    -------
    str
        In words; empty if nothing speaks against it.

    Notes
    -----
    Equal spread: Bartlett's test (Snedecor and Cochran; NIST/SEMATECH e-Handbook,
    1.3.5.7) of the differential travels about their lines over speed at 1 %, its
    statistic divided by 1 + kappa/2 for their excess kurtosis kappa, which is half that
    of first crossings (Box 1953, from memory). A variance below the step's own is taken
    as that. Offset common to both flanks: their correlation over all runs, one-sided at
    1 %; the likelihood of a pooled noise takes all scatter for white.
    """
    scatters = [_scatter(run) for run in runs]
    shown = [one for one in scatters if one is not None]
    dof = np.array([float(one[0]) for one in shown])
    if len(shown) > 1 and _differ(dof, np.array([one[1] for one in shown]), runs[0]):
        return (
            f"its {len(shown)} runs do not scatter alike (test of equal spread, level"
            f" {100.0 * LEVEL:g} %)"
        )
    total = int(dof.sum())
    products, on, off = np.array([one[2:] for one in shown]).reshape(-1, 3).sum(axis=0)
    floor = total * 0.25 * _step_mm(runs[0]) ** 2
    tested = total >= _LEAST_DOF and min(on, off) > floor
    if tested and bool(shared_of(products, on, off, total)):
        return (
            "both points of a sweep move together in its runs (significant at 1 %), so"
            " that their scatter is no white noise"
        )
    return ""


def _step_mm(run: RunArrays) -> float:
    return 1.0 / float(np.asarray(run.knowns.steps_per_mm))


def _scatter(run: RunArrays) -> tuple[int, float, float, float, float] | None:
    """Degrees of freedom; variance of the travel; products and squares of flanks."""
    bases = bases_of_speed(run.speed_mm_s)
    dof = run.speed_mm_s.size - len(bases)
    if dof < 1:
        return None
    step = _step_mm(run)
    on = without(-step * run.operate_steps, bases)
    off = without(-step * run.release_steps, bases)
    travel = fit_speed(run.speed_mm_s, off - on)
    return (
        dof,
        float(travel.residual_sd) ** 2,
        float((on * off).sum()),
        float((on * on).sum()),
        float((off * off).sum()),
    )


def _differ(
    dof: FloatArray,
    variances: FloatArray,
    run: RunArrays,
) -> bool:
    from scipy.special import chdtri

    step = _step_mm(run)
    # Two places within a step each: q^2/12 twice
    known = np.maximum(variances, step * step / 6.0)
    total = float(dof.sum())
    pooled = float((dof * known).sum()) / total
    statistic = total * np.log(pooled) - float((dof * np.log(known)).sum())
    k = dof.size
    statistic /= 1.0 + (float((1.0 / dof).sum()) - 1.0 / total) / (3.0 * (k - 1))
    flank = noise_from_sd(np.sqrt(0.5 * pooled), step)
    statistic /= 1.0 + 0.25 * max(float(flank.excess_kurtosis), 0.0)
    return bool(statistic > chdtri(k - 1, LEVEL))
