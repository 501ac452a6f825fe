"""Touches of the face after sweeps: to rows and back. Opens nothing."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Select, select

from rig.model.sweeps import DatumCheck
from rig.records.decoding import decodes
from rig.records.mapping import Row, StoredRow, time_of, time_text
from rig.records.schema_datum import datum_checks


def datum_check_row(run_id: str, index: int, check: DatumCheck) -> Row:
    """Return the row of `datum_checks`."""
    dof = check.degrees_of_freedom
    return {
        "run_id": run_id,
        "check_index": index,
        "conditions_index": check.conditions_index,
        "sweeps_before": check.sweeps_before,
        "position_steps": check.position_steps,
        "standard_uncertainty_mm": check.standard_uncertainty_mm,
        "degrees_of_freedom": None if math.isinf(dof) else dof,
        "n": check.n,
        "touched_at": time_text(check.touched_at),
        "scale_steps": check.scale_steps,
    }


@decodes("a check of the datum")
def _datum_check_of(row: StoredRow) -> DatumCheck:
    """Return the touch kept in a row of `datum_checks`."""
    dof = row["degrees_of_freedom"]
    return DatumCheck(
        sweeps_before=row["sweeps_before"],
        position_steps=row["position_steps"],
        standard_uncertainty_mm=row["standard_uncertainty_mm"],
        degrees_of_freedom=math.inf if dof is None else dof,
        n=row["n"],
        touched_at=time_of(row["touched_at"]),
        conditions_index=row["conditions_index"],
        scale_steps=row["scale_steps"],
    )


def datum_checks_between(first: str, last: str) -> Select[Any]:
    """Return the query for the checks of all runs from the first to the last."""
    table = datum_checks
    return (
        select(table)
        .where(table.c.run_id.between(first, last))
        .order_by(table.c.run_id, table.c.check_index)
    )


def datum_checks_of(run_ids: Sequence[str]) -> Select[Any]:
    """Return the query for the checks of these runs."""
    table = datum_checks
    return (
        select(table)
        .where(table.c.run_id.in_(run_ids))
        .order_by(table.c.run_id, table.c.check_index)
    )


def datum_checks_in(
    connection: Connection, query: Select[Any]
) -> defaultdict[str, list[DatumCheck]]:
    """Return the checks that a query finds, by run, in order.

    Args:
        connection: Connection of a transaction under way.
        query: Query for rows of `datum_checks`, in order.
    """
    found: defaultdict[str, list[DatumCheck]] = defaultdict(list)
    for row in connection.execute(query).mappings():
        found[row["run_id"]].append(_datum_check_of(row))
    return found
