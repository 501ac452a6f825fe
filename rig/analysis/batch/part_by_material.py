"""Every part on every material at once, from its sweeps; knows no limit's source."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.batch.batch_summary import BatchSummary, summarise_parts
from rig.analysis.limits.verdict import GUARDED, Limits, Rule
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, block, same_length
from rig.analysis.numbers.uncertainty import expand, mean_and_sd
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepTable:
    """Figures of every part on every material, arrays of shape (p, m).

    Attributes:
        parts: Names of the p parts.
        materials: Names of the m materials.
        n: Sweeps behind each mean.
        mean_mm: Mean operate point.
        sd_mm: Of a single sweep.
        largest_difference_mm: Between two sweeps, short term.
        expanded_uncertainty_mm: Of the mean.
        factor: Mean over that on the standard target.
        expanded_uncertainty_factor: Of that; 0 for the standard target itself.
    """

    parts: tuple[str, ...]
    materials: tuple[str, ...]
    n: int
    mean_mm: FloatArray
    sd_mm: FloatArray
    largest_difference_mm: FloatArray
    expanded_uncertainty_mm: FloatArray
    factor: FloatArray
    expanded_uncertainty_factor: FloatArray


def table_of_sweeps(
    parts: Sequence[str],
    materials: Sequence[str],
    operate_mm: Cells,
    *,
    standard: str,
    shared_mm: npt.ArrayLike = 0.0,
    own_mm: npt.ArrayLike = 0.0,
) -> SweepTable:
    """Work out means, spreads and reduction factors of a whole batch at once.

    Parameters
    ----------
    parts : sequence of str, shape (p,)
        Names.
    materials : sequence of str, shape (m,)
        Names.
    operate_mm : array_like, shape (p, m, n)
        Operate points at rest, mm; n of at least 2.
    standard : str
        Which material is the standard target.
    shared_mm : float or array_like, shape (p,)
        Standard uncertainty common to all materials of a part, such as the zero, mm.
    own_mm : float or array_like, shape (p, m)
        Standard uncertainty of each mean besides its scatter and the shared one, mm.

    Returns
    -------
    SweepTable
        Arrays of shape (p, m).

    Raises
    ------
    InputError
        If a cell is missing, there is one sweep only, or names do not go together.

    Notes
    -----
    GUM, 5.2 and G.4: the shared error enters a reduction factor once, with the
    difference of its two sensitivities, (1 - factor)/s.
    """
    x = _checked(parts, materials, operate_mm, standard)
    mean, sd = mean_and_sd(x)
    n = x.shape[2]
    scatter = sd / math.sqrt(n)
    shared = np.broadcast_to(
        np.asarray(shared_mm, dtype=np.float64).reshape(-1, 1), mean.shape
    )
    own = np.broadcast_to(np.asarray(own_mm, dtype=np.float64), mean.shape)
    whole = expand([scatter, shared, own], [n - 1, math.inf, math.inf])
    factor, size = _factors(
        mean, scatter, shared, own, n, list(materials).index(standard)
    )
    return SweepTable(
        parts=tuple(parts),
        materials=tuple(materials),
        n=n,
        mean_mm=mean,
        sd_mm=sd,
        largest_difference_mm=np.ptp(x, axis=2),
        expanded_uncertainty_mm=whole.expanded_uncertainty,
        factor=factor,
        expanded_uncertainty_factor=size,
    )


def _checked(
    parts: Sequence[str], materials: Sequence[str], operate_mm: Cells, standard: str
) -> FloatArray:
    x = block("operate points", operate_mm, dimensions=3)
    same_length("layers of operate points", x.shape[0], "parts", len(parts))
    same_length("rows of operate points", x.shape[1], "materials", len(materials))
    if x.shape[2] < 2:
        raise InputError("one sweep shows no scatter", hint="measure at least 2 sweeps")
    if standard not in materials:
        raise InputError(
            f"the standard target {standard!r} is not among the materials",
            hint=f"one of {', '.join(materials)}",
        )
    return x


def _factors(
    mean: FloatArray,
    scatter: FloatArray,
    shared: FloatArray,
    own: FloatArray,
    n: int,
    at: int,
) -> tuple[FloatArray, FloatArray]:
    base = mean[:, [at]]
    if np.any(base <= 0.0):
        part = int(np.argmax(base[:, 0] <= 0.0)) + 1
        raise InputError(
            f"layer {part}: the operate point on the standard target is not above 0",
            hint="measure that part again",
        )
    factor = mean / base
    parts = [
        scatter / base,
        factor * scatter[:, [at]] / base,
        (1.0 - factor) * shared / base,
        own / base,
        factor * own[:, [at]] / base,
    ]
    dof = [n - 1, n - 1, math.inf, math.inf, math.inf]
    size = expand([np.abs(p) for p in parts], dof).expanded_uncertainty
    size = np.array(size)
    # The standard target over itself is 1 exactly
    size[:, at] = 0.0
    return factor, size


def summarise_sweeps(
    table: SweepTable,
    *,
    limits: Mapping[str, Limits],
    rule: Rule = GUARDED,
) -> tuple[BatchSummary, ...]:
    """Summarise the batch for each material.

    Parameters
    ----------
    table : SweepTable
        From `table_of_sweeps`.
    limits : mapping of str to Limits
        By material, mm; a material without limits is not decided about.
    rule : Rule
        Decision rule.

    Returns
    -------
    tuple of BatchSummary
        Operate point by material, in the order of the table.

    Raises
    ------
    InputError
        If there is one part only, or a limit is for an unknown material.
    """
    unknown = sorted(set(limits) - set(table.materials))
    if unknown:
        raise InputError(
            f"limits given for {unknown[0]!r}, which was not measured",
            hint=f"one of {', '.join(table.materials)}",
        )
    return tuple(
        summarise_parts(
            f"operate point on {material}",
            table.parts,
            table.mean_mm[:, j],
            table.expanded_uncertainty_mm[:, j],
            unit="mm",
            limits=limits.get(material),
            rule=rule,
        )
        for j, material in enumerate(table.materials)
    )
