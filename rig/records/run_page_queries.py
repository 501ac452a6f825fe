"""The queries behind a page of runs; each is for the runs from first to last."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Select, String, and_, case, cast, func, select

from rig.records import schema


def every_run_id() -> Select[Any]:
    """Identity of every run, in order."""
    return select(schema.runs.c.run_id).order_by(schema.runs.c.run_id)


def runs_of_page(first: str, last: str) -> Select[Any]:
    """Identity of each run, in order, and what is known of it."""
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
        .where(runs.c.run_id.between(first, last))
        .order_by(runs.c.run_id)
    )


def taken_up_again(first: str, last: str) -> Select[Any]:
    """Runs under more than one datum."""
    table = schema.run_conditions
    return select(table.c.run_id).where(table.c.run_id.between(first, last)).distinct()


def sweep_counts(first: str, last: str) -> Select[Any]:
    """Number of sweeps of each run that has any, and of usable ones, in order."""
    sweeps = schema.sweeps
    return (
        select(sweeps.c.run_id, func.count(), _number_of(_usable()))
        .where(sweeps.c.run_id.between(first, last))
        .group_by(sweeps.c.run_id)
        .order_by(sweeps.c.run_id)
    )


def void_sweeps(first: str, last: str) -> Select[Any]:
    """Run and reason of every void sweep, in order."""
    sweeps = schema.sweeps
    return (
        select(sweeps.c.run_id, sweeps.c.void)
        .where(sweeps.c.run_id.between(first, last), sweeps.c.void != "")
        .order_by(sweeps.c.run_id, sweeps.c.sweep_index)
    )


def usable_sweeps(first: str, last: str) -> Select[Any]:
    """Speed and index of every usable sweep, in order, and its two ordinals."""
    sweeps = schema.sweeps
    return (
        select(
            sweeps.c.speed_mm_s,
            sweeps.c.sweep_index,
            sweeps.c.operate_ordinal,
            sweeps.c.release_ordinal,
        )
        .where(sweeps.c.run_id.between(first, last), _usable())
        .order_by(sweeps.c.run_id, sweeps.c.sweep_index)
    )


def edges_of_runs(first: str, last: str, *, some_unusable: bool) -> Select[Any]:
    """Edges of the usable sweeps of each run, one row a run.

    The columns are the run, the number of edges, their step counts and their places,
    both as numbers with commas between, and how many of them are on the side of a plain
    sweep and how many have an operate edge's level "on". The place of an edge is twice
    the index of its sweep, plus its ordinal.
    """
    sweeps, edges = schema.sweeps, schema.edges
    place = 2 * edges.c.sweep_index + edges.c.ordinal
    query = select(
        edges.c.run_id,
        func.count(),
        _listed(edges.c.position_steps),
        _listed(place),
        _number_of(edges.c.approaching == (edges.c.ordinal == 0)),
        _number_of(edges.c.level == (edges.c.ordinal == 0)),
    )
    if some_unusable:
        query = query.join(
            sweeps,
            (edges.c.run_id == sweeps.c.run_id)
            & (edges.c.sweep_index == sweeps.c.sweep_index),
        ).where(_usable())
    return query.where(edges.c.run_id.between(first, last)).group_by(edges.c.run_id)


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


def _number_of(condition: ColumnElement[bool]) -> ColumnElement[int]:
    return func.sum(case((condition, 1), else_=0))


def _listed(column: ColumnElement[int]) -> ColumnElement[str]:
    return func.aggregate_strings(cast(column, String), ",")
