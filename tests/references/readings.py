"""Readings of which only the mean and the standard deviation are printed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def groups_with(
    means: Sequence[float], sds: Sequence[float], n: int
) -> list[list[float]]:
    """Make groups of n readings with exactly these means and standard deviations."""
    steps = np.arange(n) - (n - 1) / 2.0
    shape = steps / steps.std(ddof=1)
    return [(m + s * shape).tolist() for m, s in zip(means, sds, strict=True)]
