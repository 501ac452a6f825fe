"""Whether plans, lots and shares are possible."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import column
from rig.errors import InputError


def check_numbers(sample: int, accept: int) -> None:
    """Refuse a single sampling plan that is not possible.

    Parameters
    ----------
    sample : int
        Parts in the sample.
    accept : int
        Acceptance number.

    Raises
    ------
    InputError
        If there is no sample, or the acceptance number is not below it.
    """
    if sample < 1 or not 0 <= accept < sample:
        raise InputError(
            f"a sample of {sample} with acceptance number {accept} is no plan",
            hint="the acceptance number lies from 0 to one below the sample",
        )


def check_lot(lot: int, sample: int) -> None:
    """Refuse a lot that has fewer parts than are inspected.

    Parameters
    ----------
    lot : int
        Parts in the lot.
    sample : int
        Parts of all samples together.

    Raises
    ------
    InputError
        If the lot is smaller.
    """
    if lot < sample:
        raise InputError(
            f"the lot of {lot} is smaller than the sample of {sample}",
            hint="inspect the whole lot",
        )


def checked_shares(shares: npt.ArrayLike) -> FloatArray:
    """Return nonconforming shares as numbers.

    Parameters
    ----------
    shares : array_like, shape (...)
        0 to 1.

    Returns
    -------
    ndarray, shape (...)
        The same.

    Raises
    ------
    InputError
        If one is not a number from 0 to 1.
    """
    p = _numbers("shares of nonconforming parts", shares)
    if np.any((p < 0.0) | (p > 1.0)):
        raise InputError("a share is not from 0 to 1", hint="5 % is 0.05")
    return p


def checked_bad_parts(nonconforming: npt.ArrayLike, lot: int) -> FloatArray:
    """Return numbers of bad parts of a lot.

    Parameters
    ----------
    nonconforming : array_like of int, shape (...)
        Bad parts in the lot.
    lot : int
        Parts in the lot.

    Returns
    -------
    ndarray, shape (...)
        The same, as float.

    Raises
    ------
    InputError
        If one is not a whole number from 0 to `lot`.
    """
    d = _numbers("bad parts", nonconforming)
    if np.any((d < 0) | (d > lot)) or np.any(d != np.rint(d)):
        raise InputError(
            f"bad parts have to be whole numbers from 0 to {lot}", hint="count them"
        )
    return d


def _numbers(name: str, cells: npt.ArrayLike) -> FloatArray:
    given = np.asarray(cells, dtype=np.object_)
    return column(name, given.ravel()).reshape(given.shape)
