"""The queries behind a page of runs; each is for the runs from first to last."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Select, and_, case, func, not_, select

from rig.records import schema


def runs_after(run_id: str, limit: int) -> Select[Any]:
    """So many runs behind one: identity and what is known of each."""
    runs = schema.runs
    return (
        select(
            runs.c.run_id,
            runs.c.conditions,
            runs.c.sensor,
            runs.c.void,
            runs.c.ended_at,
            runs.c.home_shift_steps,
            runs.c.timetable,
        )
        .where(runs.c.run_id > run_id)
        .order_by(runs.c.run_id)
        .limit(limit)
    )


def taken_up_again(first: str, last: str) -> Select[Any]:
    """Runs under more than one datum."""
    table = schema.run_conditions
    return select(table.c.run_id).where(table.c.run_id.between(first, last)).distinct()


def usable_counts(first: str, last: str) -> Select[Any]:
    """Number of usable sweeps of each run that has one, in order of the runs."""
    sweeps = schema.sweeps
    return (
        select(sweeps.c.run_id, func.count())
        .where(sweeps.c.run_id.between(first, last), _usable())
        .group_by(sweeps.c.run_id)
        .order_by(sweeps.c.run_id)
    )


def unused_sweeps(first: str, last: str) -> Select[Any]:
    """Run and reason of every sweep that is not usable, in order."""
    sweeps = schema.sweeps
    return (
        select(sweeps.c.run_id, sweeps.c.void)
        .where(sweeps.c.run_id.between(first, last), not_(_usable()))
        .order_by(sweeps.c.run_id, sweeps.c.sweep_index)
    )


def unused_edge_counts(first: str, last: str) -> Select[Any]:
    """Number of edges in sweeps that are not usable, of each run that has any."""
    sweeps, edges = schema.sweeps, schema.edges
    return (
        select(sweeps.c.run_id, func.count())
        .join(
            edges,
            (edges.c.run_id == sweeps.c.run_id)
            & (edges.c.sweep_index == sweeps.c.sweep_index),
        )
        .where(sweeps.c.run_id.between(first, last), not_(_usable()))
        .group_by(sweeps.c.run_id)
    )


def edge_count(first: str, last: str) -> Select[Any]:
    """Number of edges of all runs together."""
    edges = schema.edges
    return select(func.count()).where(edges.c.run_id.between(first, last))


def edge_counts(first: str, last: str) -> Select[Any]:
    """Number of edges of each run that has any; counting all together is quicker."""
    edges = schema.edges
    return (
        select(edges.c.run_id, func.count())
        .where(edges.c.run_id.between(first, last))
        .group_by(edges.c.run_id)
    )


def edges_taken(first: str, last: str) -> Select[Any]:
    """Speed, index and both step counts of every usable sweep, run by run.

    The last column is the level of the operate edge, 0 or 1, and 2 where the edges
    are not the first two of the sweep, one each way, to opposite levels.
    """
    sweeps = schema.sweeps
    operate, release = schema.edges.alias("operate"), schema.edges.alias("release")
    plain = and_(
        sweeps.c.operate_ordinal == 0,
        sweeps.c.release_ordinal == 1,
        operate.c.approaching,
        not_(release.c.approaching),
        operate.c.level != release.c.level,
    )
    query = select(
        sweeps.c.speed_mm_s,
        sweeps.c.sweep_index,
        operate.c.position_steps,
        release.c.position_steps,
        case((not_(plain), 2), (operate.c.level, 1), else_=0),
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
        .where(sweeps.c.run_id.between(first, last), _usable())
        .order_by(sweeps.c.run_id, sweeps.c.sweep_index)
    )


def last_usable_ends(first: str, last: str) -> Select[Any]:
    """End of the last usable sweep of each run that has one."""
    sweeps = schema.sweeps
    newest = (
        select(sweeps.c.run_id, func.max(sweeps.c.sweep_index).label("sweep_index"))
        .where(sweeps.c.run_id.between(first, last), _usable())
        .group_by(sweeps.c.run_id)
        .subquery()
    )
    return select(sweeps.c.run_id, sweeps.c.ended_at).join(
        newest,
        (newest.c.run_id == sweeps.c.run_id)
        & (newest.c.sweep_index == sweeps.c.sweep_index),
    )


def _usable() -> ColumnElement[bool]:
    sweeps = schema.sweeps
    return and_(
        sweeps.c.void == "",
        sweeps.c.operate_ordinal.is_not(None),
        sweeps.c.release_ordinal.is_not(None),
    )
