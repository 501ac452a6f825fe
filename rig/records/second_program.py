"""Tells two programs that measure for one run, as when both resume one plan."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Column, Connection, select

from rig.errors import RecordsError
from rig.records import schema


def refuse_second_program(
    connection: Connection, run_id: str, place: Column[Any], index: int
) -> None:
    """Let a program go on with a run only if no other one has gone on with it.

    Args:
        connection: A transaction that writes.
        run_id: Identity of the run.
        place: Column that counts what is added: sweeps, or the times it was resumed.
        index: Where it is to stand.

    Raises:
        RecordsError: Something stands there already, or the run has ended.
    """
    runs, table = schema.runs, place.table
    ended = connection.scalar(
        select(runs.c.run_id).where(
            runs.c.run_id == run_id, runs.c.ended_at.is_not(None)
        )
    )
    taken = connection.scalar(
        select(place).where(table.c.run_id == run_id, place == index)
    )
    if ended is None and taken is None:
        return
    state = "the run has ended" if ended is not None else "it goes on there"
    raise RecordsError(
        f"another program has gone on with run {run_id} meanwhile ({state}): two at "
        "once cannot measure for one run or resume one plan",
        hint="let one program carry it out; what both have put on record is kept",
    )
