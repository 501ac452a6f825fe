"""The queries behind a page of runs; each is for the runs from first to last."""

from __future__ import annotations

from typing import Any, Final

from sqlalchemy import ColumnElement, Select, String, and_, case, cast, func, select

from rig.records import schema
from rig.records.chain import RUN_ENDED
from rig.records.row_text import row_text_of
from rig.records.schema_chain import chain
from rig.records.schema_datum import datum_checks

RUN_COLUMNS: Final = row_text_of(schema.runs).columns


def every_run_id() -> Select[Any]:
    """Identity of every run, in order."""
    return select(schema.runs.c.run_id).order_by(schema.runs.c.run_id)


def runs_of_page(first: str, last: str) -> Select[Any]:
    """All that is known of each run, in the order of `RUN_COLUMNS`."""
    runs = schema.runs
    return (
        select(*(runs.c[name] for name in RUN_COLUMNS))
        .where(runs.c.run_id.between(first, last))
        .order_by(runs.c.run_id)
    )


def taken_up_again(first: str, last: str) -> Select[Any]:
    """Runs under more than one datum."""
    table = schema.run_conditions
    return select(table.c.run_id).where(table.c.run_id.between(first, last)).distinct()


def sweep_counts(first: str, last: str) -> Select[Any]:
    """Number of sweeps of each run that has any, and of usable ones, in order.

    The last column has when they ended, with commas between.
    """
    sweeps = schema.sweeps
    ends = func.aggregate_strings(sweeps.c.ended_at, ",")
    return (
        select(sweeps.c.run_id, func.count(), _number_of(_usable()), ends)
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
    """Index, conditions, speed and the two ordinals of every usable sweep, in order."""
    sweeps = schema.sweeps
    return (
        select(
            sweeps.c.sweep_index,
            sweeps.c.conditions_index,
            sweeps.c.speed_mm_s,
            sweeps.c.operate_ordinal,
            sweeps.c.release_ordinal,
        )
        .where(sweeps.c.run_id.between(first, last), _usable())
        .order_by(sweeps.c.run_id, sweeps.c.sweep_index)
    )


def edges_of_runs(first: str, last: str, *, some_unusable: bool) -> Select[Any]:
    """Edges of the usable sweeps of each run, one row a run.

    The columns are the run, the number of edges, their step counts and their places,
    both as numbers with commas between, how many of them are on the side of a plain
    sweep and how many have an operate edge's level "on", and their numbers and times,
    likewise with commas. The place of an edge is twice the index of its sweep, plus its
    ordinal.
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
        _listed(edges.c.number),
        _listed(edges.c.time_us),
    )
    if some_unusable:
        query = query.join(
            sweeps,
            (edges.c.run_id == sweeps.c.run_id)
            & (edges.c.sweep_index == sweeps.c.sweep_index),
        ).where(_usable())
    return query.where(edges.c.run_id.between(first, last)).group_by(edges.c.run_id)


def ended_links(first: str, last: str) -> Select[Any]:
    """Digest of each run that has ended, as the chain has it."""
    return select(chain.c.subject, chain.c.digest).where(
        chain.c.kind == RUN_ENDED, chain.c.subject.between(first, last)
    )


def datum_check_rows(first: str, last: str) -> Select[Any]:
    """Rows of `datum_checks`, in order."""
    table = datum_checks
    return (
        select(*(table.c[name] for name in row_text_of(table).columns))
        .where(table.c.run_id.between(first, last))
        .order_by(table.c.run_id, table.c.check_index)
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


def _number_of(condition: ColumnElement[bool]) -> ColumnElement[int]:
    return func.sum(case((condition, 1), else_=0))


def _listed(column: ColumnElement[int]) -> ColumnElement[str]:
    return func.aggregate_strings(cast(column, String), ",")
