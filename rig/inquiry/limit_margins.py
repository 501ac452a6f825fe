"""How far the operate point of every run lies from the nearer of its limits."""

from __future__ import annotations

from collections.abc import Sequence

from rig.analysis.standard.product_match import (
    limited_target_differences,
    surroundings_differences,
)
from rig.inquiry.effective_range import (
    effective_limits,
    effective_range,
)
from rig.records import Reader, Store
from rig.records.run_index import figure_values
from rig.records.run_kinds import RunKind, run_kinds

_OPERATE = "operate"


def limit_margins(store: Store) -> dict[str, float]:
    """Return the margin of each run to the nearer limit of its operate point.

    It is a share of the tolerance, the distance between both limits: 0.5 in the middle,
    0 on a limit, less outside. Runs for which `effective_range` finds no limits are
    left out. Runs of one kind have their limits looked up once.

    Args:
        store: Open records; a snapshot where they may be written meanwhile.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        operate_mm = figure_values(connection, _OPERATE)
    margins: dict[str, float] = {}
    singly: list[str] = []
    for kind in run_kinds(store):
        measured = [run_id for run_id in kind.ambient_c if run_id in operate_mm]
        ends = _ends_of(kind)
        if ends is None:
            continue
        product = kind.product
        specified = None if product is None else product.specification
        of_the_supply = specified is not None and specified.supply_v is not None
        fits = {
            ambient_c: not surroundings_differences(ambient_c, None, specified)
            for ambient_c in set(kind.ambient_c.values())
            if not of_the_supply
        }
        for run_id in measured:
            if of_the_supply or run_id in kind.resumed:
                singly.append(run_id)
            elif fits[kind.ambient_c[run_id]]:
                margins[run_id] = _margin(operate_mm[run_id], *ends)
    margins |= _looked_up(store, singly)
    return margins


def _margin(value: float, lower: float, upper: float) -> float:
    return min(value - lower, upper - value) / (upper - lower)


def _ends_of(kind: RunKind) -> tuple[float, float] | None:
    product = kind.product
    specified = None if product is None else product.specification
    if limited_target_differences(kind.sensor, kind.target, specified):
        return None
    return effective_limits(kind.sensor if specified is None else specified.sensor)


def _looked_up(store: Store, run_ids: Sequence[str]) -> dict[str, float]:
    """Return margins of runs whose conditions have to be read to know the limits."""
    reader, margins = Reader(store), {}
    computed = reader.latest_computations(run_ids)
    headers, later = reader.headers(run_ids), reader.later_conditions(run_ids)
    for run_id, one in computed.items():
        found = effective_range(headers[run_id], one.figures, later.get(run_id, ()))
        if found is not None:
            ends = found.lower_mm, found.upper_mm
            margins[run_id] = _margin(one.figures.operate.value, *ends)
    return margins
