"""Attempts to measure on record, and how they ended. Adds only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from sqlalchemy import Select, select

from rig.model.attempts import Attempt, AttemptEnd, Outcome
from rig.model.part_number import one_spelling
from rig.records.chain import insert_chained
from rig.records.columns import is_part
from rig.records.decoding import decodes
from rig.records.entries import RunFilter
from rig.records.mapping import (
    StoredRow,
    json_text,
    product_of,
    product_text,
    sensor_of,
    target_of,
    time_of,
    time_text,
)
from rig.records.schema import runs
from rig.records.schema_attempts import attempts, outcomes
from rig.records.sequence import next_sequence
from rig.records.store import Store
from rig.version import SOFTWARE_VERSION

EVERY_ATTEMPT = RunFilter()
# Stays below the number of values that any SQLite takes in one statement (999)
_IDS_AT_ONCE = 500


class AttemptBook:
    """Attempts on record.

    Every method raises `RecordsError` when the records cannot be read or written, and
    then has kept nothing.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def begin(self, attempt: Attempt) -> None:
        """Put an attempt on record before anything moves."""
        row = {
            "run_id": attempt.run_id,
            "attempt_index": attempt.index,
            "sensor_name": attempt.sensor.name,
            "target_name": attempt.target.name,
            "sensor": json_text(asdict(attempt.sensor)),
            "target": json_text(asdict(attempt.target)),
            "sweeps_wanted": attempt.sweeps_wanted,
            "simulated": attempt.simulated,
            "rig_id": attempt.rig_id,
            "plan_id": attempt.plan_id or None,
            "plan_item": attempt.plan_item,
            "part": one_spelling(attempt.part),
            "operator": attempt.operator,
            "note": attempt.note,
            "product": product_text(attempt.product),
            "started_at": time_text(attempt.started_at),
            "software_version": SOFTWARE_VERSION,
        }
        with self._store.writing() as connection:
            row["sequence"] = next_sequence(connection)
            insert_chained(connection, attempts, row)

    def end(self, attempt: Attempt, end: AttemptEnd) -> None:
        """Put on record how an attempt ended, once."""
        row = {
            "run_id": attempt.run_id,
            "attempt_index": attempt.index,
            "outcome": end.outcome.value,
            "sentence": end.sentence,
            "causes": end.causes,
            "ended_at": time_text(end.ended_at),
        }
        with self._store.writing() as connection:
            insert_chained(connection, outcomes, row)

    def of_runs(self, run_ids: Sequence[str]) -> dict[str, tuple[Attempt, ...]]:
        """Return the attempts of these runs, oldest first.

        A run of earlier records has none and is left out.
        """
        found: defaultdict[str, list[Attempt]] = defaultdict(list)
        for start in range(0, len(run_ids), _IDS_AT_ONCE):
            chunk = run_ids[start : start + _IDS_AT_ONCE]
            for one in self._read(_joined().where(attempts.c.run_id.in_(chunk))):
                found[one.run_id].append(one)
        return {run_id: tuple(own) for run_id, own in found.items()}

    def attempts(self, wanted: RunFilter = EVERY_ATTEMPT) -> list[Attempt]:
        """Return attempts, oldest first."""
        return self._read(_filtered(_joined(), wanted))

    def without_run(self, wanted: RunFilter = EVERY_ATTEMPT) -> list[Attempt]:
        """Return attempts that ended before there was a run, oldest first."""
        lone = _joined().outerjoin(runs, runs.c.run_id == attempts.c.run_id)
        query = _filtered(lone.where(runs.c.run_id.is_(None)), wanted)
        return self._read(query)

    def _read(self, query: Select[Any]) -> list[Attempt]:
        with self._store.reading() as connection:
            rows = connection.execute(query).mappings().all()
        return sorted(
            map(_attempt_of, rows),
            key=lambda one: (one.sequence, one.started_at, one.run_id),
        )


def _joined() -> Select[Any]:
    ended = outcomes.c
    return select(
        attempts, ended.outcome, ended.sentence, ended.causes, ended.ended_at
    ).outerjoin(
        outcomes,
        (ended.run_id == attempts.c.run_id)
        & (ended.attempt_index == attempts.c.attempt_index),
    )


def _filtered(query: Select[Any], wanted: RunFilter) -> Select[Any]:
    for column, value in (
        (attempts.c.sensor_name, wanted.sensor),
        (attempts.c.target_name, wanted.target),
        (attempts.c.plan_id, wanted.plan_id),
        (attempts.c.simulated, wanted.simulated),
    ):
        if value is not None:
            query = query.where(column == value)
    if wanted.run_ids is not None:
        query = query.where(attempts.c.run_id.in_(wanted.run_ids))
    if wanted.part is not None:
        query = query.where(is_part(attempts.c.part, wanted.part))
    if wanted.since is not None:
        query = query.where(attempts.c.started_at >= time_text(wanted.since))
    if wanted.until is not None:
        query = query.where(attempts.c.started_at < time_text(wanted.until))
    if wanted.newest is not None:
        order = attempts.c.sequence, attempts.c.started_at, attempts.c.run_id
        newest = (column.desc() for column in order)
        query = query.order_by(*newest).limit(wanted.newest)
    return query


@decodes("an attempt")
def _attempt_of(row: StoredRow) -> Attempt:
    end = None
    if row["outcome"] is not None:
        end = AttemptEnd(
            outcome=Outcome(row["outcome"]),
            sentence=row["sentence"],
            causes=row["causes"],
            ended_at=time_of(row["ended_at"]),
        )
    return Attempt(
        run_id=row["run_id"],
        index=row["attempt_index"],
        sensor=sensor_of(row["sensor"]),
        target=target_of(row["target"]),
        sweeps_wanted=row["sweeps_wanted"],
        simulated=row["simulated"],
        rig_id=row["rig_id"],
        started_at=time_of(row["started_at"]),
        plan_id=row["plan_id"] or "",
        plan_item=row["plan_item"],
        part=one_spelling(row["part"]),
        operator=row["operator"],
        note=row["note"],
        product=product_of(row["product"]),
        end=end,
        sequence=row["sequence"] or 0,
    )
