"""Location that survives a few wild sweeps."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite

_VALUES_AT_ONCE = 4_000_000  # pairs held at a time; some 32 MB


def hodges_lehmann(places: npt.ArrayLike) -> FloatArray:
    """Median of the means of all pairs, each reading with itself too.

    Parameters
    ----------
    places : array_like, shape (..., n)
        Any unit.

    Returns
    -------
    ndarray, shape (...)
        In the same unit.

    Raises
    ------
    ValueError
        If there is no reading or a value is not finite.

    Notes
    -----
    Hodges and Lehmann, Ann. Math. Statist. 34, 1963 (from memory): variance pi/3 of
    that of the mean for normal readings at large n, where the median's is pi/2, and
    three in ten readings may be wild before it breaks. It estimates the observed point;
    first crossings are skewed, so it lies off their mean by a few hundredths of sigma.
    """
    x = require_finite("places", places)
    if x.ndim == 0 or x.shape[-1] == 0:
        raise ValueError("a location needs at least one reading")
    first, second = np.triu_indices(x.shape[-1])
    runs = x.reshape(-1, x.shape[-1])
    at_once = max(1, _VALUES_AT_ONCE // first.size)
    parts = [
        np.median(0.5 * (part[:, first] + part[:, second]), axis=-1)
        for part in (runs[i : i + at_once] for i in range(0, runs.shape[0], at_once))
    ]
    return np.concatenate(parts).reshape(x.shape[:-1])
