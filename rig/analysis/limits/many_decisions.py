"""Many figures against one limit at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from rig.analysis.limits.verdict import GUARDED, Limits, Rule, decision
from rig.analysis.numbers.given import block
from rig.errors import InputError


def decide(
    values: npt.ArrayLike,
    expanded: npt.ArrayLike,
    limits: Limits,
    rule: Rule = GUARDED,
) -> npt.NDArray[np.str_]:
    """Decide about many figures at once.

    Parameters
    ----------
    values : array_like, shape (n,)
        Values in the unit of the limits.
    expanded : array_like, shape (n,)
        Expanded uncertainties (95 %), 0 or more.
    limits : Limits
        Limits that hold for all values.
    rule : Rule
        Decision rule; its guard band lies on both sides of each limit.

    Returns
    -------
    ndarray of str, shape (n,)
        The values of `Decision`.

    Raises
    ------
    InputError
        If a number is missing or an uncertainty is below 0.

    Notes
    -----
    See `decision`.
    """
    x = block("values", values, dimensions=1)
    u = block("expanded uncertainties", expanded, dimensions=1)
    if x.shape != u.shape:
        raise InputError(
            f"{u.size} uncertainties for {x.size} values", hint="give one for each"
        )
    if np.any(u < 0.0):
        raise InputError("an expanded uncertainty is below 0", hint="give its size")
    pairs = zip(x.tolist(), u.tolist(), strict=True)
    decided = [decision(value, size, limits, rule).value for value, size in pairs]
    return np.array(decided, dtype="<U16")
