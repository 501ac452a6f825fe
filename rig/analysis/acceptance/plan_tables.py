"""Tables of sampling plans as the files beside the code hold them."""

from __future__ import annotations

import tomllib
from bisect import bisect_right
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from rig.errors import InputError


@cache
def plan_tables(name: str) -> dict[str, Any]:
    """Read a file of tables.

    Parameters
    ----------
    name : str
        Name of the file in `rig/analysis/data`, without its ending.

    Returns
    -------
    dict
        The tables, read once.
    """
    text = files("rig.analysis").joinpath(f"data/{name}.toml").read_text("utf-8")
    return tomllib.loads(text)


def letter_of_size(lot: int, ranges: Sequence[dict[str, Any]], column: int) -> str:
    """Look up the code letter of a lot by its size.

    Parameters
    ----------
    lot : int
        Parts in the lot, at least 2.
    ranges : sequence of dict
        Ranges of lot sizes: smallest size, `from`, and `letters` of the levels.
    column : int
        Place of the inspection level among the letters.

    Returns
    -------
    str
        Code letter.

    Raises
    ------
    InputError
        If the lot is below 2.
    """
    if lot < 2:
        raise InputError(
            f"a lot of {lot} is not sampled", hint="inspect the part itself"
        )
    row = ranges[bisect_right([entry["from"] for entry in ranges], lot) - 1]
    return str(row["letters"].split()[column])
