"""Sorting parts into classes, with those that the uncertainty leaves between two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.given import Cells, column, same_length
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorted:
    """The class of one part.

    Attributes
    ----------
    part : str
        Name of the part.
    value : float
        Value of the part, in the unit of the bounds.
    class_name : str
        Name of the class that the value falls into.
    sure : bool
        Whether its whole uncertainty interval does.
    may_be : tuple[str, ...]
        Every class that the interval reaches, in rising order.
    """

    part: str
    value: float
    class_name: str
    sure: bool
    may_be: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorting:
    """All parts and how many went where.

    Attributes
    ----------
    parts : tuple[Sorted, ...]
        Parts in the order given.
    counts : dict[str, int]
        Parts by class, in rising order of the classes.
    unsure : dict[str, int]
        Parts by class whose interval reaches beyond it.
    """

    parts: tuple[Sorted, ...]
    counts: dict[str, int]
    unsure: dict[str, int]


def sort_into_classes(
    parts: Sequence[str],
    values: Cells,
    expanded: Cells,
    *,
    bounds: Cells,
    names: Sequence[str],
) -> Sorting:
    """Sort parts by a figure.

    Parameters
    ----------
    parts : sequence of str, shape (n,)
        Names.
    values : array_like, shape (n,)
        Figures, any unit.
    expanded : array_like, shape (n,)
        Expanded uncertainties of the values, 0 or more, in the same unit.
    bounds : array_like, shape (c - 1,)
        Between one class and the next, rising, in the same unit. A value on a bound
        belongs to the class above.
    names : sequence of str, shape (c,)
        Names of the classes, in rising order, all different.

    Returns
    -------
    Sorting
        Every part is in it.

    Raises
    ------
    InputError
        If a cell is missing, numbers do not go together, bounds do not rise or two
        classes have one name.

    Notes
    -----
    Common practice, no source: the value decides, the interval says how surely.
    """
    x = column("values of the parts", values)
    u = column("uncertainties of the parts", expanded)
    edges = column("bounds of the classes", bounds)
    same_length("values", x.size, "parts", len(parts))
    same_length("uncertainties", u.size, "parts", len(parts))
    same_length("names of classes", len(names), "classes", edges.size + 1)
    if np.any(np.diff(edges) <= 0.0):
        raise InputError("the bounds of the classes do not rise", hint="sort them")
    if len(set(names)) != len(names):
        raise InputError("two classes have one name", hint="give each its own")
    if np.any(u < 0.0):
        raise InputError("an expanded uncertainty is below 0", hint="give its size")
    own, low, high = (
        np.searchsorted(edges, at, side="right").tolist() for at in (x, x - u, x + u)
    )
    rows = tuple(
        Sorted(
            part=part,
            value=float(value),
            class_name=names[c],
            sure=a == b,
            may_be=tuple(names[a : b + 1]),
        )
        for part, value, c, a, b in zip(parts, x, own, low, high, strict=True)
    )
    counts = dict.fromkeys(names, 0)
    unsure = dict.fromkeys(names, 0)
    for row in rows:
        counts[row.class_name] += 1
        unsure[row.class_name] += not row.sure
    return Sorting(parts=rows, counts=counts, unsure=unsure)
