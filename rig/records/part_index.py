"""Finds parts by words and in an order, a page at a time, inside the database.

A part is on record where something was tried with it, where a lot or a study has it,
or where somebody read it by hand. One number is one part, however it was spelled.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    Subquery,
    case,
    func,
    literal,
    select,
    union_all,
)

from rig.model.attempts import Outcome
from rig.model.part_number import one_spelling
from rig.records.columns import same_part
from rig.records.list_wanted import ListWanted
from rig.records.mapping import time_of
from rig.records.plain_rows import plain_rows
from rig.records.run_index import tried_rows, words_of_run
from rig.records.schema_attempts import attempts
from rig.records.schema_decisions import (
    hand_readings,
    lot_parts,
    lots,
    studies,
    study_readings,
    study_rows,
)
from rig.records.store import Store

_TELLING = frozenset(
    one.value for one in Outcome if one.of_the_sensor or one is Outcome.FIGURES
)


class PartsBy(StrEnum):
    """What parts are sorted by."""

    PART = "part"
    LAST = "last on record"
    TRIED = "times tried"
    MARGIN = "margin to the limit"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsWanted(ListWanted):
    """Which parts, in which order.

    A word is looked for in all that is on record of a part: its number, sensors,
    targets, outcomes, lots and studies.

    Attributes:
        by: What they are sorted by; those that have no margin come last.
        only_runs: Whether attempts that came to no run are left out of what was tried
            of each part.
    """

    by: PartsBy = PartsBy.LAST
    only_runs: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFound:
    """A part of a page.

    Attributes:
        number: Serial or sample number in its one spelling.
        tried: How many runs and attempts that came to none are of it.
        last_at: When something was put on record of it last, UTC.
        run_ids: Those runs and attempts.
    """

    number: str
    tried: int
    last_at: datetime
    run_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsFound:
    """A page of parts.

    Attributes:
        parts: Parts in the order asked for.
        matching: How many have all words.
        on_record: How many there are at all.
    """

    parts: tuple[PartFound, ...]
    matching: int
    on_record: int


def find_parts(
    store: Store, wanted: PartsWanted, margins: Mapping[str, float] | None = None
) -> PartsFound:
    """Find parts by words, in an order.

    Args:
        store: Open records.
        wanted: Words and order that are asked for, and the page.
        margins: Margin of each run to its nearer limit, for `PartsBy.MARGIN`.

    Raises:
        RecordsError: The records cannot be read.
    """
    events = _events()
    grouped = (
        select(
            events.c.key,
            func.max(events.c.part).label("part"),
            func.sum(events.c.tried).label("tried"),
            func.max(events.c.at).label("last_at"),
        )
        .where(events.c.key != "")
        .group_by(events.c.key)
    )
    fitting = grouped
    if wanted.words:
        fitting = fitting.where(events.c.key.in_(_having_all(wanted.words)))
    with store.reading() as connection:
        on_record = _count(connection, grouped)
        matching = _count(connection, fitting) if wanted.words else on_record
        if wanted.by is PartsBy.MARGIN:
            rows = _by_margin(connection, fitting, wanted, margins or {})
        else:
            rows = _by_column(connection, fitting, wanted)
        runs_of = _runs_of(
            connection, [row[0] for row in rows], only_runs=wanted.only_runs
        )
    return PartsFound(
        parts=tuple(
            PartFound(
                number=one_spelling(part),
                tried=tried,
                last_at=time_of(last_at),
                run_ids=tuple(runs_of[key]),
            )
            for key, part, tried, last_at in rows
        ),
        matching=matching,
        on_record=on_record,
    )


def _events() -> Subquery:
    """Return all that was put on record of parts."""
    rows = tried_rows(only_runs=False, ended=False)
    return union_all(
        select(
            same_part(rows.c.part).label("key"),
            rows.c.part,
            rows.c.started_at.label("at"),
            literal(1).label("tried"),
        ),
        _others(lot_parts.c.part, lot_parts.c.entered_at),
        _others(hand_readings.c.part, hand_readings.c.entered_at),
        _others(study_rows.c.part, studies.c.begun_at).join(
            studies, studies.c.study_id == study_rows.c.study_id
        ),
        _others(study_rows.c.part, study_readings.c.entered_at).join(
            study_readings,
            (study_readings.c.study_id == study_rows.c.study_id)
            & (study_readings.c.row_order == study_rows.c.row_order),
        ),
    ).subquery()


def _others(
    part: ColumnElement[str], at: ColumnElement[str]
) -> Select[str, str, str, int]:
    return select(same_part(part), part, at, literal(0))


def _having_all(words: Sequence[str]) -> Select[Any]:
    """Return parts that have each of the words somewhere, in one pass over all."""
    worded = _worded()
    found = [worded.c.words.contains(one.lower(), autoescape=True) for one in words]
    return (
        select(worded.c.key)
        .group_by(worded.c.key)
        .having(*(func.max(case((one, 1), else_=0)) == 1 for one in found))
    )


def _worded() -> Subquery:
    """Return the words of all that was put on record of parts."""
    rows = tried_rows(only_runs=False, ended=True)

    def worded(part: ColumnElement[str], *texts: ColumnElement[str]) -> Select[Any]:
        words: ColumnElement[str] = part
        for text in texts:
            words = words + " " + text
        return select(same_part(part), func.lower(words))

    of_runs = select(
        same_part(rows.c.part).label("key"), words_of_run(rows).label("words")
    )
    of_lots = worded(
        lot_parts.c.part, lots.c.product, lots.c.supplier, lot_parts.c.decision
    ).join(lots, lots.c.lot_id == lot_parts.c.lot_id)
    by_hand = worded(
        hand_readings.c.part,
        hand_readings.c.sensor,
        hand_readings.c.target,
        literal("by hand"),
    )
    of_studies = worded(study_rows.c.part, studies.c.title, literal("study")).join(
        studies, studies.c.study_id == study_rows.c.study_id
    )
    return union_all(of_runs, of_lots, by_hand, of_studies).subquery()


def _count(connection: Connection, query: Select[Any]) -> int:
    return connection.scalar(select(func.count()).select_from(query.subquery())) or 0


def _by_column(
    connection: Connection, fitting: Select[Any], wanted: PartsWanted
) -> Sequence[Any]:
    found = fitting.subquery()
    key = {
        PartsBy.PART: found.c.key,
        PartsBy.LAST: found.c.last_at,
        PartsBy.TRIED: found.c.tried,
    }[wanted.by]
    order = key.desc() if wanted.falling else key.asc()
    query = select(found).order_by(order, found.c.key).offset(wanted.first)
    if wanted.limit is not None:
        query = query.limit(wanted.limit)
    return plain_rows(connection, query)


def _by_margin(
    connection: Connection,
    fitting: Select[Any],
    wanted: PartsWanted,
    margins: Mapping[str, float],
) -> Sequence[Any]:
    margin_of = _margins_of_parts(connection, margins)
    rows = plain_rows(connection, fitting.order_by("key"))
    there = [row for row in rows if row[0] in margin_of]
    there.sort(key=lambda row: margin_of[row[0]], reverse=wanted.falling)
    every = [*there, *(row for row in rows if row[0] not in margin_of)]
    last = None if wanted.limit is None else wanted.first + wanted.limit
    return every[wanted.first : last]


def _margins_of_parts(
    connection: Connection, margins: Mapping[str, float]
) -> dict[str, float]:
    """Return the margin of the newest run of each part that counts and has one.

    Against each target the newest counts that tells of the part: figures, or what it
    died of.
    """
    rows = tried_rows(only_runs=False, ended=True)
    query = select(
        same_part(rows.c.part),
        rows.c.sensor_name,
        rows.c.target_name,
        rows.c.run_id,
        rows.c.ended_at,
        rows.c.void,
        rows.c.outcome,
        rows.c.sequence,
        rows.c.started_at,
    ).where(same_part(rows.c.part) != "")
    last_tried = dict(
        plain_rows(
            connection,
            select(attempts.c.run_id, func.max(attempts.c.sequence)).group_by(
                attempts.c.run_id
            ),
        )
    )
    telling = [
        (last_tried.get(run_id) or sequence, started_at, run_id, key, measured)
        for key, *measured, run_id, ended_at, void, outcome, sequence, started_at in (
            plain_rows(connection, query)
        )
        if (ended_at and not void) or outcome in _TELLING
    ]
    telling.sort(reverse=True)
    counted: set[tuple[str, ...]] = set()
    found: dict[str, float] = {}
    for _, _, run_id, key, measured in telling:
        what = (key, *measured)
        if what in counted:
            continue
        counted.add(what)
        if key not in found and run_id in margins:
            found[key] = margins[run_id]
    return found


def _runs_of(
    connection: Connection, keys: Collection[str], *, only_runs: bool
) -> defaultdict[str, list[str]]:
    """Return runs of parts, and attempts where they are wanted too."""
    rows = tried_rows(only_runs=only_runs, ended=False)
    key = same_part(rows.c.part)
    found: defaultdict[str, list[str]] = defaultdict(list)
    if keys:
        wanted = set(keys)
        for one, run_id in plain_rows(connection, select(key, rows.c.run_id)):
            if one in wanted:
                found[one].append(run_id)
    return found
