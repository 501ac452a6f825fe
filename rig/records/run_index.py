"""Finds runs by words and in an order, a page at a time, inside the database.

Attempts that came to no run stand among the runs. What a page does not show is not
read: no edges, no sweeps, and of the figures only the number that sorts.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    String,
    Subquery,
    and_,
    case,
    cast,
    func,
    literal,
    or_,
    select,
    union_all,
)

from rig.model.attempts import Outcome
from rig.records.decoding import decodes
from rig.records.kept_figures import place_of_value
from rig.records.list_wanted import ListWanted
from rig.records.schema import computations, figures, runs, sweeps
from rig.records.schema_attempts import attempts, outcomes
from rig.records.schema_figures import figure_forms, figure_numbers
from rig.records.schema_notes import run_notes
from rig.records.store import Store

_BYTES = 8  # of a number
_OF_THE_SENSOR = tuple(one.value for one in Outcome if one.of_the_sensor)


class RunState(StrEnum):
    """What a run came to, by its row alone."""

    ENDED = "ended"
    UNFINISHED = "unfinished"
    VOID = "void"
    NO_FIGURES = "no figures"


class RunsBy(StrEnum):
    """What runs are sorted by."""

    STARTED = "started"
    STATE = "state"
    SENSOR = "sensor"
    TARGET = "target"
    PART = "part"
    RIG = "rig"
    SWEEPS = "good sweeps"
    NOTES = "notes"
    OPERATE = "operate"
    TRAVEL = "differential_travel"
    MARGIN = "margin to the limit"


_FIGURES: Final = (RunsBy.OPERATE, RunsBy.TRAVEL)
_NUMBERS: Final = (*_FIGURES, RunsBy.MARGIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunsWanted(ListWanted):
    """Which runs, in which order.

    Their words are looked for in identity, sensor, target, material, part, state,
    outcome, date and what voided them; also "simulated", "real" and "note".

    Attributes:
        by: What they are sorted by; those that have no such number come last.
        only_runs: Whether attempts that came to no run are left out.
    """

    by: RunsBy = RunsBy.STARTED
    only_runs: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RunsFound:
    """A page of runs.

    Attributes:
        run_ids: Identities of the runs and attempts, in the order asked for.
        matching: How many have all words.
        on_record: How many there are at all.
    """

    run_ids: tuple[str, ...]
    matching: int
    on_record: int


def find_runs(
    store: Store, wanted: RunsWanted, margins: Mapping[str, float] | None = None
) -> RunsFound:
    """Find runs by words, in an order.

    Args:
        store: Open records.
        wanted: Words and order that are asked for, and the page.
        margins: Margin of each run to its nearer limit, for `RunsBy.MARGIN`.

    Raises:
        RecordsError: The records cannot be read.
    """
    bare = tried_rows(only_runs=wanted.only_runs, ended=False)
    # To look up how each ended takes longer than all else
    ended = bool(wanted.words) or wanted.by is RunsBy.STATE
    rows = tried_rows(only_runs=wanted.only_runs, ended=True) if ended else bare
    fitting = select(rows)
    for word in wanted.words:
        fitting = fitting.where(
            words_of_run(rows).contains(word.lower(), autoescape=True)
        )
    with store.reading() as connection:
        on_record = connection.scalar(select(func.count()).select_from(bare)) or 0
        if wanted.by in _NUMBERS:
            value_of = margins or {}
            if wanted.by in _FIGURES:
                value_of = figure_values(connection, wanted.by.value)
            found = _by_number(connection, rows, fitting, wanted, value_of)
        elif wanted.words:
            # Counted by finding them all: the words are looked for once
            whole = replace(wanted, first=0, limit=None)
            found = _by_column(connection, rows, fitting, whole)
        else:
            page = _by_column(connection, rows, fitting, wanted)
            return RunsFound(
                run_ids=tuple(page), matching=on_record, on_record=on_record
            )
    last = None if wanted.limit is None else wanted.first + wanted.limit
    return RunsFound(
        run_ids=tuple(found[wanted.first : last]),
        matching=len(found),
        on_record=on_record,
    )


def computed_runs(store: Store) -> frozenset[str]:
    """Return the runs that have figures.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        return frozenset(connection.scalars(select(computations.c.run_id).distinct()))


def tried_rows(*, only_runs: bool, ended: bool) -> Subquery:
    """Return runs, and attempts that came to none, in columns that both have.

    Args:
        only_runs: Whether those attempts are left out.
        ended: Whether it is looked up how the last attempt at each run ended.
    """
    columns = (
        runs.c.run_id,
        func.coalesce(runs.c.sequence, 0).label("sequence"),
        runs.c.started_at,
        runs.c.sensor_name,
        runs.c.target_name,
        runs.c.target_material,
        runs.c.part,
        runs.c.simulated,
        runs.c.void,
        runs.c.ended_at,
    )
    of_runs = select(*columns, literal("").label("outcome"))
    if ended:
        last = _last_outcomes()
        outcome = func.coalesce(last.c.outcome, "").label("outcome")
        of_runs = select(*columns, outcome).outerjoin(
            last, last.c.run_id == runs.c.run_id
        )
    if only_runs:
        return of_runs.subquery()
    lone = (
        select(
            attempts.c.run_id,
            func.coalesce(attempts.c.sequence, 0),
            attempts.c.started_at,
            attempts.c.sensor_name,
            attempts.c.target_name,
            literal(""),
            attempts.c.part,
            attempts.c.simulated,
            literal(""),
            literal(None, String()),
            func.coalesce(outcomes.c.outcome, ""),
        )
        .outerjoin(runs, runs.c.run_id == attempts.c.run_id)
        .outerjoin(
            outcomes,
            and_(
                outcomes.c.run_id == attempts.c.run_id,
                outcomes.c.attempt_index == attempts.c.attempt_index,
            ),
        )
        .where(runs.c.run_id.is_(None))
    )
    return union_all(of_runs, lone).subquery()


def _last_outcomes() -> Subquery:
    """Return how the last attempt at each run ended."""
    last = (
        select(attempts.c.run_id, func.max(attempts.c.attempt_index).label("place"))
        .group_by(attempts.c.run_id)
        .subquery()
    )
    return (
        select(outcomes.c.run_id, outcomes.c.outcome)
        .join(
            last,
            and_(
                last.c.run_id == outcomes.c.run_id,
                last.c.place == outcomes.c.attempt_index,
            ),
        )
        .subquery()
    )


def state_of_run(rows: Subquery) -> ColumnElement[str]:
    """Return what each of the rows came to."""
    return case(
        (rows.c.void != "", RunState.VOID.value),
        (
            and_(rows.c.ended_at.is_(None), rows.c.outcome.in_(_OF_THE_SENSOR)),
            RunState.NO_FIGURES.value,
        ),
        (rows.c.ended_at.is_(None), RunState.UNFINISHED.value),
        else_=RunState.ENDED.value,
    )


def words_of_run(rows: Subquery) -> ColumnElement[str]:
    """Return all that a word may be looked for in, in small letters."""
    made = case((rows.c.simulated, "simulated"), else_="real")
    noted = rows.c.run_id.in_(_noted())
    unmeasured = or_(rows.c.ended_at.is_(None), rows.c.void != "")
    parts = (
        *(rows.c.run_id, rows.c.sensor_name, rows.c.target_name),
        *(rows.c.target_material, rows.c.part, rows.c.void, made, state_of_run(rows)),
        func.substr(rows.c.started_at, 1, 10),
        case((noted, "note"), else_=""),
        case((unmeasured, rows.c.outcome), else_=""),
        # A target that a sensor never switches for is one that it does not see
        case(
            (rows.c.outcome == Outcome.NEVER_SWITCHES.value, "not detected"), else_=""
        ),
    )
    text: ColumnElement[str] = cast(parts[0], String)
    for part in parts[1:]:
        text = text + " " + part
    return func.lower(text)


def _noted() -> Select[Any]:
    """Return the runs with notes that stand."""
    standing = func.count() - 2 * func.count(run_notes.c.withdraws)
    return select(run_notes.c.run_id).group_by(run_notes.c.run_id).having(standing > 0)


def _by_column(
    connection: Connection, rows: Subquery, fitting: Select[Any], wanted: RunsWanted
) -> list[str]:
    keys = {
        RunsBy.STARTED: (rows.c.sequence, rows.c.started_at, rows.c.run_id),
        RunsBy.STATE: (state_of_run(rows),),
        RunsBy.SENSOR: (func.lower(rows.c.sensor_name),),
        RunsBy.TARGET: (func.lower(rows.c.target_name),),
        RunsBy.PART: (func.lower(rows.c.part),),
        RunsBy.RIG: (rows.c.simulated,),
    }
    if wanted.by in (RunsBy.SWEEPS, RunsBy.NOTES):
        counts = _good_sweeps() if wanted.by is RunsBy.SWEEPS else _note_counts()
        fitting = fitting.outerjoin(counts, counts.c.run_id == rows.c.run_id)
        key: Sequence[ColumnElement[Any]] = (func.coalesce(counts.c.count, 0),)
    else:
        key = keys[wanted.by]
    order = [one.desc() if wanted.falling else one.asc() for one in key]
    # Of those that are alike, the latest first
    order += [rows.c.sequence.desc(), rows.c.started_at.desc()]
    query = fitting.with_only_columns(rows.c.run_id).order_by(*order)
    query = query.offset(wanted.first)
    if wanted.limit is not None:
        query = query.limit(wanted.limit)
    return list(connection.scalars(query))


def _good_sweeps() -> Subquery:
    return (
        select(sweeps.c.run_id, func.count().label("count"))
        .where(sweeps.c.void == "")
        .group_by(sweeps.c.run_id)
        .subquery()
    )


def _note_counts() -> Subquery:
    standing = func.count() - 2 * func.count(run_notes.c.withdraws)
    return (
        select(run_notes.c.run_id, standing.label("count"))
        .group_by(run_notes.c.run_id)
        .subquery()
    )


def _by_number(
    connection: Connection,
    rows: Subquery,
    fitting: Select[Any],
    wanted: RunsWanted,
    value_of: Mapping[str, float],
) -> list[str]:
    newest_first = fitting.with_only_columns(rows.c.run_id).order_by(
        rows.c.sequence.desc(), rows.c.started_at.desc()
    )
    found = list(connection.scalars(newest_first))
    there = [run_id for run_id in found if run_id in value_of]
    rest = [run_id for run_id in found if run_id not in value_of]
    there.sort(key=value_of.__getitem__, reverse=wanted.falling)
    return [*there, *rest]


@decodes("a figure")
def figure_values(connection: Connection, name: str) -> dict[str, float]:
    """Return the value of a figure by run, of the latest computation of each.

    Args:
        connection: Connection of a transaction under way.
        name: Field of `RunFigures`.
    """
    latest = (
        select(func.max(computations.c.computation_id))
        .group_by(computations.c.run_id)
        .scalar_subquery()
    )
    of_run = select(computations.c.run_id)
    earlier = (
        of_run.add_columns(figures.c.value)
        .join(figures, figures.c.computation_id == computations.c.computation_id)
        .where(
            computations.c.computation_id.in_(latest),
            figures.c.name == name,
            figures.c.value.is_not(None),
        )
    )
    found = {row.run_id: row.value for row in connection.execute(earlier)}
    forms = connection.execute(select(figure_forms.c.form_id, figure_forms.c.form))
    for form_id, form in forms.all():
        place = place_of_value(form, name)
        if place is None:
            continue
        number = func.substr(figure_numbers.c.numbers, _BYTES * place + 1, _BYTES)
        query = (
            of_run.add_columns(number)
            .join(
                figure_numbers,
                figure_numbers.c.computation_id == computations.c.computation_id,
            )
            .where(
                figure_numbers.c.form_id == form_id,
                computations.c.computation_id.in_(latest),
            )
        )
        for run_id, packed in connection.execute(query):
            (found[run_id],) = struct.unpack("<d", packed)
    return found
