"""Numbers as people give them, to arrays or one sentence; knows no statistics."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray
from rig.errors import InputError
from rig.model.number_input import number

Cells = npt.ArrayLike | Sequence[object]
_PLACES = ("reading", "row", "layer")


def column(name: str, cells: Cells, *, at_least: int = 1) -> FloatArray:
    """Return one column of numbers.

    Parameters
    ----------
    name : str
        What the numbers are, for the message.
    cells : array_like, shape (n,)
        Numbers, any unit.
    at_least : int
        Smallest n that is of use.

    Returns
    -------
    ndarray, shape (n,)
        In the order given.

    Raises
    ------
    InputError
        If a cell is empty, text or not finite, or there are too few.
    """
    array = block(name, cells, dimensions=1)
    if array.size < at_least:
        raise InputError(
            f"{name}: {_count(array.size)} given, at least {at_least} needed",
            hint=f"measure at least {at_least}",
        )
    return array


def block(name: str, cells: Cells, *, dimensions: int) -> FloatArray:
    """Return a block of numbers with every cell filled.

    Parameters
    ----------
    name : str
        What the numbers are, for the message.
    cells : array_like with that number of dimensions
        Numbers, any unit.
    dimensions : int
        1 for a column, 2 for rows of readings, 3 for layers of them.

    Returns
    -------
    ndarray
        The same shape.

    Raises
    ------
    InputError
        If a cell is empty, text or not finite, or the rows differ in length.
    """
    try:
        array = np.asarray(cells, dtype=np.float64)
    except (TypeError, ValueError):
        return _cell_by_cell(name, cells, dimensions)
    if array.ndim != dimensions:
        raise InputError(
            f"{name}: a table of {array.ndim} dimensions given, {dimensions} needed",
            hint="one number for each place",
        )
    if not np.all(np.isfinite(array)):
        first = np.argwhere(~np.isfinite(array))[0]
        number(float(array[tuple(first)]), _where(name, first.tolist()))
    return array


def _cell_by_cell(name: str, cells: object, dimensions: int) -> FloatArray:
    """Find what numpy could not convert, and say where it stands."""
    _visit(name, cells, [], dimensions)
    raise InputError(
        f"{name}: the rows differ in length, so a cell is empty or one too many",
        hint="the same number of readings in every row",
    )


def _visit(name: str, cells: object, place: list[int], dimensions: int) -> None:
    if len(place) == dimensions:
        number(cells, _where(name, place))
        return
    if isinstance(cells, str) or not isinstance(cells, Iterable):
        raise InputError(
            f"{_where(name, place)} is {cells!r}, not a list of readings",
            hint="one number for each place",
        )
    for index, inner in enumerate(cells):
        _visit(name, inner, [*place, index], dimensions)


def _where(name: str, place: Sequence[int]) -> str:
    words = _PLACES[: len(place)][::-1]
    spots = [f"{word} {index + 1}" for word, index in zip(words, place, strict=True)]
    return f"{name}: {', '.join(spots)}" if spots else name


def _count(n: int) -> str:
    return "none" if n == 0 else str(n)


def one_unit(units: Iterable[str], what: str) -> str:
    """Return the unit that all share.

    Parameters
    ----------
    units : iterable of str
        Unit of each of the numbers.
    what : str
        What the numbers are, for the message.

    Returns
    -------
    str
        The unit.

    Raises
    ------
    InputError
        If there are several, or none at all.
    """
    found = sorted(set(units))
    if not found:
        raise InputError(f"{what}: no readings given", hint="give at least one")
    if len(found) > 1:
        raise InputError(
            f"{what}: units are mixed ({', '.join(found)})",
            hint=f"convert them all to one unit, such as {found[0]}",
        )
    return found[0]


def same_length(name: str, given: int, other: str, wanted: int) -> None:
    """Refuse two columns that do not go together.

    Parameters
    ----------
    name, other : str
        What the columns are.
    given, wanted : int
        Lengths of the two.

    Raises
    ------
    InputError
        If the lengths differ.
    """
    if given != wanted:
        raise InputError(
            f"{name}: {given} given for {wanted} {other}", hint="one for each"
        )


def probability(name: str, value: float) -> float:
    """Return a probability that lies strictly between 0 and 1.

    Parameters
    ----------
    name : str
        What it is, for the message.
    value : float
        Probability as given.

    Returns
    -------
    float
        The same.

    Raises
    ------
    InputError
        If it is outside.
    """
    if not 0.0 < value < 1.0:
        raise InputError(
            f"{name} is {value:g}", hint="give a share between 0 and 1, such as 0.95"
        )
    return float(value)
