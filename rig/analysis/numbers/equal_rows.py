"""Rows of a table that are the same; knows nothing of what stands in them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt


def equal_rows(table: npt.NDArray[Any]) -> Iterator[npt.NDArray[np.intp]]:
    """Sort the rows of a table into groups of equal ones.

    Parameters
    ----------
    table : ndarray, shape (k, m)
        Table with at least one row; no value in it is NaN.

    Yields
    ------
    ndarray of int
        Indices of the rows of a group, rising.
    """
    if (table == table[0]).all():
        yield np.arange(table.shape[0])
        return
    _, which = np.unique(table, axis=0, return_inverse=True)
    which = which.reshape(-1)
    for group in range(int(which.max()) + 1):
        yield np.flatnonzero(which == group)
