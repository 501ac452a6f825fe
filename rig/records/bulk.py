"""Reads the edges of very many runs as plain arrays. Never writes.

For figures of all that is on record at once: one object an edge would cost more time
than the figures. A page of runs is held at a time, however many there are.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import starmap
from typing import TYPE_CHECKING, Any, cast

from sqlalchemy import Connection, Select, func, select

from rig.records import schema
from rig.records.store import Store

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

_RUNS_AT_ONCE = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeBlock:
    """A page of runs, each with its usable sweeps one after the other.

    Attributes:
        run_ids: Runs of the page that have ended, are not void, were taken under one
            set of conditions and have a usable sweep; r of them.
        sweeps: Number of usable sweeps of each, shape (r,).
        speed_mm_s: Of every usable sweep, all runs in a row, shape (s,).
        operate_steps: Step count of the edge taken, shape (s,).
        release_steps: Likewise.
        steps_per_mm: Of each run, shape (r,), as the following ones.
        axis_mm: Standard uncertainty of the axis.
        datum_steps: Datum.
        datum_mm: Its standard uncertainty.
        datum_dof: Its degrees of freedom.
        probe_mm: Standard uncertainty of the touch probe.
        backlash_mm: Backlash.
        backlash_uncertainty_mm: Its standard uncertainty.
        backlash_dof: Its degrees of freedom.
        switching_frequency_hz: From the data sheet; NaN where it is unknown.
        taken_up_again: Runs of the page under more than one datum; read those whole.
    """

    run_ids: tuple[str, ...]
    sweeps: npt.NDArray[np.intp]
    speed_mm_s: FloatArray
    operate_steps: FloatArray
    release_steps: FloatArray
    steps_per_mm: FloatArray
    axis_mm: FloatArray
    datum_steps: FloatArray
    datum_mm: FloatArray
    datum_dof: FloatArray
    probe_mm: FloatArray
    backlash_mm: FloatArray
    backlash_uncertainty_mm: FloatArray
    backlash_dof: FloatArray
    switching_frequency_hz: FloatArray
    taken_up_again: tuple[str, ...]


_COLUMNS = (
    "steps_per_mm",
    "axis_mm",
    "datum_steps",
    "datum_mm",
    "datum_dof",
    "probe_mm",
    "backlash_mm",
    "backlash_uncertainty_mm",
    "backlash_dof",
    "switching_frequency_hz",
)


def edge_blocks(
    store: Store, *, runs_at_once: int = _RUNS_AT_ONCE
) -> Iterator[EdgeBlock]:
    """Yield the edges of every run that can have figures, page by page.

    Each page is read in a transaction of its own.

    Args:
        store: Open records.
        runs_at_once: Length of a page.

    Raises:
        RecordsError: The records cannot be read.
    """
    last = ""
    while True:
        with store.reading() as connection:
            # The plain cursor of the driver: a row object each costs more than a row
            page = _fetch(connection, _page(last, runs_at_once))
            if not page:
                return
            first, last = page[0][0], page[-1][0]
            block = _block(connection, page, first, last)
        yield block


def _page(after: str, limit: int) -> Select[Any]:
    runs = schema.runs
    return (
        select(
            runs.c.run_id,
            runs.c.conditions,
            runs.c.sensor,
            runs.c.void,
            runs.c.ended_at,
        )
        .where(runs.c.run_id > after)
        .order_by(runs.c.run_id)
        .limit(limit)
    )


def _block(connection: Connection, page: list[Any], first: str, last: str) -> EdgeBlock:
    import numpy as np

    repeated = {row[0] for row in _fetch(connection, _taken_up_again(first, last))}
    counts = dict(_fetch(connection, _counts(first, last)))
    ended = [row for row in page if not row[3] and row[4] is not None]
    plain = [row for row in ended if row[0] in counts and row[0] not in repeated]
    known = np.array(
        list(starmap(_numbers, ((row[1], row[2]) for row in plain))), dtype=np.float64
    ).reshape(len(plain), len(_COLUMNS))
    result = connection.execute(_edges(first, last))
    table = np.fromiter(
        cast("Any", result).cursor,
        dtype=[("speed", "f8"), ("operate", "f8"), ("release", "f8")],
    )
    result.close()
    wanted = {row[0] for row in plain}
    # Runs of the page that are left out have rows too, in the same order
    every = np.fromiter(counts.values(), dtype=np.intp, count=len(counts))
    taken = np.fromiter((name in wanted for name in counts), bool, count=len(counts))
    if not taken.all():
        table = table[np.repeat(taken, every)]
    return EdgeBlock(
        run_ids=tuple(row[0] for row in plain),
        sweeps=every[taken],
        speed_mm_s=np.ascontiguousarray(table["speed"]),
        operate_steps=np.ascontiguousarray(table["operate"]),
        release_steps=np.ascontiguousarray(table["release"]),
        **{name: known[:, i].copy() for i, name in enumerate(_COLUMNS)},
        taken_up_again=tuple(row[0] for row in ended if row[0] in repeated),
    )


def _fetch(connection: Connection, query: Select[Any]) -> list[Any]:
    result = connection.execute(query)
    rows: list[Any] = cast("Any", result).cursor.fetchall()
    result.close()
    return rows


def _taken_up_again(first: str, last: str) -> Select[Any]:
    table = schema.run_conditions
    return select(table.c.run_id).where(table.c.run_id.between(first, last)).distinct()


def _counts(first: str, last: str) -> Select[Any]:
    sweeps = schema.sweeps
    return (
        select(sweeps.c.run_id, func.count())
        .where(*_usable(first, last))
        .group_by(sweeps.c.run_id)
        .order_by(sweeps.c.run_id)
    )


def _usable(first: str, last: str) -> tuple[Any, ...]:
    sweeps = schema.sweeps
    return (
        sweeps.c.run_id.between(first, last),
        sweeps.c.void == "",
        sweeps.c.operate_ordinal.is_not(None),
        sweeps.c.release_ordinal.is_not(None),
    )


def _edges(first: str, last: str) -> Select[Any]:
    """Speed and both step counts of every usable sweep, run by run."""
    sweeps = schema.sweeps
    operate, release = schema.edges.alias("operate"), schema.edges.alias("release")
    query = select(
        sweeps.c.speed_mm_s, operate.c.position_steps, release.c.position_steps
    )
    for edge, ordinal in (
        (operate, sweeps.c.operate_ordinal),
        (release, sweeps.c.release_ordinal),
    ):
        query = query.join(
            edge,
            (edge.c.run_id == sweeps.c.run_id)
            & (edge.c.sweep_index == sweeps.c.sweep_index)
            & (edge.c.ordinal == ordinal),
        )
    return (
        query.select_from(sweeps)
        .where(*_usable(first, last))
        .order_by(sweeps.c.run_id, sweeps.c.sweep_index)
    )


def _numbers(conditions: str, sensor: str) -> tuple[float, ...]:
    known = json.loads(conditions)
    axis, datum, backlash = known["axis"], known["datum"], known["backlash"]
    return (
        axis["steps_per_mm"],
        axis["standard_uncertainty_mm"],
        datum["position_steps"],
        datum["standard_uncertainty_mm"],
        float(datum["degrees_of_freedom"]),
        datum["probe_uncertainty_mm"],
        backlash["value_mm"],
        backlash["standard_uncertainty_mm"],
        float(backlash["degrees_of_freedom"]),
        _frequency_hz(sensor),
    )


@lru_cache(maxsize=256)
def _frequency_hz(sensor: str) -> float:
    frequency = json.loads(sensor)["switching_frequency_hz"]
    return float("nan") if frequency is None else float(frequency)
