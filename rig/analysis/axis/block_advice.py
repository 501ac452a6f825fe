"""Which gauge blocks cover the turns of a screw."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from rig.analysis.axis.block_fit import LEAST_BLOCKS, ratio_of_lengths

# Uncertainty of a correction over that of a reading that no further block need lower
GOOD_RATIO = 1.5
# Readings beyond the fit's parameters. A screw has more errors than the fit, so they
# scatter more than contacts and blocks explain; with 2 to spare Student's factor makes
# that 2.2 times as wide, with 4 1.4 times
_SPARE = 4
_MOST = 6  # blocks that are advised at once
_SPACING_MM = 0.1  # of lengths that a set of gauge blocks makes easily
_SHORTEST_MM = 0.5


def advised_lengths_mm(
    lengths_mm: Sequence[float], *, lead_mm: float, longest_mm: float
) -> tuple[float, ...]:
    """Advise lengths beside those that there are.

    Parameters
    ----------
    lengths_mm : sequence of float
        Lengths of the blocks that there are; may be empty.
    lead_mm : float
        Lead of the screw.
    longest_mm : float
        Largest gap that is to be covered.

    Returns
    -------
    tuple of float
        Lengths to add, each the one that then lowers the largest uncertainty most;
        empty if those that there are cover every phase and leave readings to spare.
    """
    have = [0.0, *lengths_mm]
    count = round((longest_mm - _SHORTEST_MM) / _SPACING_MM)
    steps = np.arange(max(count, 0) + 1)
    candidates = np.round(_SHORTEST_MM + _SPACING_MM * steps, 6).tolist()
    added: list[float] = []
    if max(have) + 0.5 * lead_mm < longest_mm:
        added.append(candidates[-1])
    while len(added) < _MOST:
        own = np.array([*have, *added])
        if (
            own.size >= LEAST_BLOCKS + _SPARE
            and ratio_of_lengths(own, lead_mm) <= GOOD_RATIO
        ):
            break
        # Before all parameters can be told apart, phases far from all others do best
        best = min(
            (length for length in candidates if length not in own),
            key=lambda length: (
                ratio_of_lengths(np.append(own, length), lead_mm),
                -_nearest_phase(length, own, lead_mm),
            ),
        )
        added.append(best)
    return tuple(sorted(added))


def _nearest_phase(length: float, others: np.ndarray, lead_mm: float) -> float:
    apart = np.abs((others - length) / lead_mm % 1.0)
    return float(np.minimum(apart, 1.0 - apart).min())
