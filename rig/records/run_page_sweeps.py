"""Usable sweeps of the plain runs of a page as arrays, with the steps of their edges.

The edges come as one row a run, their numbers in a text: a row an edge would cost more
than all else. That text also shows whether the run is plain.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, cast

from sqlalchemy import Connection

from rig.records import run_page_queries as queries
from rig.records.plain_rows import plain_rows

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    IndexArray = npt.NDArray[np.intp]
    StepArray = npt.NDArray[np.int64]
    BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainSweeps:
    """Usable sweeps of plain runs, run after run.

    Attributes:
        run_ids: The runs, r of them.
        sweeps: Number of usable sweeps of each, shape (r,).
        speed_mm_s: Speed of every one, shape (s,).
        order: Index of every one in its run, shape (s,).
        operate_steps: Step count of the operate edge, shape (s,).
        release_steps: Step count of the release edge, shape (s,).
        contents: What a hash over each run is taken of, as far as it is sweeps; None
            for one whose sweeps are not numbered from 0 without gaps.
    """

    run_ids: list[str]
    sweeps: IndexArray
    speed_mm_s: FloatArray
    order: FloatArray
    operate_steps: FloatArray
    release_steps: FloatArray
    contents: list[SweepsContent | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepsContent:
    """Sweeps of a plain run as bytes and texts (`rig.records.run_content`).

    Attributes:
        packed: The sweeps as numbers.
        edges: The columns of their edges.
    """

    packed: bytes
    edges: tuple[str, ...]


def plain_sweeps(
    connection: Connection,
    first: str,
    last: str,
    *,
    usable: Mapping[str, int],
    some_unusable: bool,
    operated_level: Mapping[str, bool],
) -> PlainSweeps:
    """Return the usable sweeps of those runs whose sweeps are all plain.

    Args:
        connection: Connection of a transaction under way.
        first: First run of the page.
        last: Last run of it.
        usable: Number of usable sweeps of each run that has any, in order of runs.
        some_unusable: Whether any run of the page has a sweep that is not usable.
        operated_level: Level of the output when the sensor operates, of each run that
            may be plain.
    """
    import numpy as np

    table = _sweep_table(connection, first, last)
    query = queries.edges_of_runs(first, last, some_unusable=some_unusable)
    listed = {row[0]: row for row in plain_rows(connection, query)}
    counts = np.fromiter(usable.values(), dtype=np.intp, count=len(usable))
    may_be = np.fromiter(
        (
            name in operated_level
            and _has_plain_edges(listed.get(name), number, operated_level[name])
            for name, number in usable.items()
        ),
        dtype=np.bool_,
        count=len(usable),
    )
    table = table[np.repeat(may_be, counts)]
    names = [name for name, taken in zip(usable, may_be, strict=True) if taken]
    counts = counts[may_be]
    steps = _pairs([listed[name][2] for name in names])
    in_order = (
        (_pairs([listed[name][3] for name in names]) == _places(table)).all(axis=1)
        & (table["operate_ordinal"] == 0)
        & (table["release_ordinal"] == 1)
    )
    plain = _all_of_each(in_order, counts)
    rows = np.repeat(plain, counts)
    names = [name for name, taken in zip(names, plain, strict=True) if taken]
    return PlainSweeps(
        run_ids=names,
        contents=_contents(names, listed, operated_level, table[rows], counts[plain]),
        sweeps=counts[plain],
        speed_mm_s=table["speed_mm_s"][rows],
        order=table["order"][rows].astype(np.float64),
        operate_steps=steps[rows, 0].astype(np.float64),
        release_steps=steps[rows, 1].astype(np.float64),
    )


def _sweep_table(connection: Connection, first: str, last: str) -> npt.NDArray[Any]:
    import numpy as np

    result = connection.execute(queries.usable_sweeps(first, last))
    table = np.fromiter(
        cast("Any", result).cursor,
        dtype=[
            ("order", "<i8"),
            ("conditions_index", "<i8"),
            ("speed_mm_s", "<f8"),
            ("operate_ordinal", "<i8"),
            ("release_ordinal", "<i8"),
        ],
    )
    result.close()
    return table


def _has_plain_edges(row: Any, sweeps: int, operated_level: bool) -> bool:
    """Whether a run has two edges a sweep, each on its side and of its level."""
    if row is None:
        return False
    _, number, steps, _, on_its_side, operate_on, *_ = row
    return bool(
        number == 2 * sweeps == on_its_side
        and operate_on == (number if operated_level else 0)
        # Some servers cut a long text short
        and steps.count(",") == number - 1
    )


def _contents(
    names: Sequence[str],
    listed: Mapping[str, Any],
    operated_level: Mapping[str, bool],
    table: npt.NDArray[Any],
    counts: IndexArray,
) -> list[SweepsContent | None]:
    import numpy as np

    packed, width = table.tobytes(), table.dtype.itemsize
    ends = np.cumsum(counts)
    # Indexes rise, so the last one says whether any is left out
    without_gaps = table["order"][ends - 1] == counts - 1
    found: list[SweepsContent | None] = []
    for name, end, count, whole in zip(
        names, ends.tolist(), counts.tolist(), without_gaps.tolist(), strict=True
    ):
        if not whole:
            found.append(None)
            continue
        _, _, steps, _, _, _, numbers, times = listed[name]
        indexes, ordinals, levels, sides = _columns_of_plain(
            count, operated_level[name]
        )
        found.append(
            SweepsContent(
                packed=packed[(end - count) * width : end * width],
                edges=(indexes, ordinals, numbers, levels, steps, times, sides),
            )
        )
    return found


@lru_cache(maxsize=1024)
def _columns_of_plain(sweeps: int, operated_level: bool) -> tuple[str, str, str, str]:
    """Return index, ordinal, level and side of the edges of a plain run, as texts."""
    on_off = "1,0" if operated_level else "0,1"
    return (
        ",".join(f"{index},{index}" for index in range(sweeps)),
        ",".join(["0,1"] * sweeps),
        ",".join([on_off] * sweeps),
        ",".join(["1,0"] * sweeps),
    )


def _pairs(lists: Sequence[str]) -> StepArray:
    import numpy as np

    return np.fromstring(",".join(lists), dtype=np.int64, sep=",").reshape(-1, 2)


def _places(table: npt.NDArray[Any]) -> IndexArray:
    import numpy as np

    places: IndexArray = 2 * table["order"][:, np.newaxis] + np.arange(2)
    return places


def _all_of_each(holds: BoolArray, counts: IndexArray) -> BoolArray:
    """Whether something holds for every sweep of each run."""
    import numpy as np

    if not counts.size:
        return np.zeros(0, dtype=np.bool_)
    return np.logical_and.reduceat(holds, np.cumsum(counts) - counts)
