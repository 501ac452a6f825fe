"""Reads the records back as the shared model. Never writes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    FromClause,
    RowMapping,
    Select,
    case,
    func,
    select,
)

from rig.errors import RunChanged
from rig.model.attempts import Attempt
from rig.model.figures import RunFigures
from rig.model.part_number import one_spelling
from rig.model.sweeps import Conditions, Edge, Run, RunHeader, Sweep
from rig.records import schema
from rig.records.attempt_book import AttemptBook
from rig.records.columns import is_part
from rig.records.datum_checks import datum_checks_in, datum_checks_of
from rig.records.decoding import decodes
from rig.records.entries import (
    Computation,
    ItemProgress,
    PlanEntry,
    PlanItem,
    PlanState,
    RunCheck,
    RunFilter,
    RunSummary,
)
from rig.records.failures import not_on_record
from rig.records.hand_readings import HandBook, HandReading
from rig.records.kept_figures import figures_of
from rig.records.mapping import (
    conditions_of,
    edge_of,
    header_of,
    sensor_of,
    speeds_of,
    sweep_of,
    target_of,
    time_of,
    time_text,
    timetable_of,
)
from rig.records.place_checks import (
    PlaceCheckBook,
    PlaceCheckEntry,
    PlaceReading,
)
from rig.records.run_check import chain_kept, checks_of_runs
from rig.records.store import Store

# Stays below the number of values that any SQLite takes in one statement (999)
_IDS_AT_ONCE = 500
EVERY_RUN = RunFilter()


class Reader:
    """Answers what is on record.

    Every method raises `RecordsError` when the records cannot be read, and when
    what was asked for by its identity is not there.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    @property
    def store(self) -> Store:
        """The records that are read."""
        return self._store

    def run(self, run_id: str) -> Run:
        """Return a run with all its sweeps and edges."""
        with self._store.reading() as connection:
            found = _load_runs(connection, [run_id])
        if not found:
            raise not_on_record("run", run_id, self._store.where)
        return found[0]

    def runs(self, wanted: RunFilter = EVERY_RUN) -> list[RunSummary]:
        """Return summaries of runs, oldest first, without loading any edge."""
        with self._store.reading() as connection:
            return _summaries(connection, wanted)

    def attempts(self, wanted: RunFilter = EVERY_RUN) -> list[Attempt]:
        """Return attempts to measure with their outcomes, oldest first."""
        return AttemptBook(self._store).attempts(wanted)

    def places_of_runs(self) -> dict[str, tuple[PlaceCheckEntry, PlaceReading]]:
        """Return what each run of a check of the screw gave to it, by the run."""
        return {
            reading.run_id: (entry, reading)
            for entry in PlaceCheckBook(self._store).every()
            for reading in entry.readings
        }

    def headers(self, run_ids: Sequence[str]) -> dict[str, RunHeader]:
        """Return what was known of these runs before their first sweep."""
        runs = schema.runs
        found: dict[str, RunHeader] = {}
        for start in range(0, len(run_ids), _IDS_AT_ONCE):
            query = select(runs).where(
                runs.c.run_id.in_(run_ids[start : start + _IDS_AT_ONCE])
            )
            with self._store.reading() as connection:
                for row in connection.execute(query).mappings():
                    found[row["run_id"]] = header_of(row)
        return found

    def later_conditions(
        self, run_ids: Sequence[str]
    ) -> dict[str, tuple[Conditions, ...]]:
        """Return what these runs were resumed under; those never resumed left out."""
        found: dict[str, tuple[Conditions, ...]] = {}
        for start in range(0, len(run_ids), _IDS_AT_ONCE):
            chunk = run_ids[start : start + _IDS_AT_ONCE]
            with self._store.reading() as connection:
                later = _load_later_conditions(connection, chunk)
            found |= {run_id: tuple(known) for run_id, known in later.items()}
        return found

    def iter_runs(
        self, wanted: RunFilter = EVERY_RUN, *, runs_at_once: int = 20
    ) -> Iterator[Run]:
        """Yield whole runs, oldest first, holding only a few at a time.

        Each handful is read in a transaction of its own, so that a long export
        holds no one up; a run begun in the meantime is not among them. In a snapshot
        of the records all are read in its one transaction.
        """
        with self._store.reading() as connection:
            run_ids = list(connection.scalars(_run_ids(wanted)).all())
        for start in range(0, len(run_ids), runs_at_once):
            with self._store.reading() as connection:
                found = _load_runs(connection, run_ids[start : start + runs_at_once])
            yield from found

    def verify(self, run_id: str) -> RunCheck:
        """Hold a run, with its latest figures, against what was written."""
        found = self.checks([run_id])
        if run_id not in found:
            raise not_on_record("run", run_id, self._store.where)
        return found[run_id]

    def checks(self, run_ids: Sequence[str]) -> dict[str, RunCheck]:
        """Hold those of these runs that are on record against what was written."""
        with self._store.reading() as connection:
            return checks_of_runs(connection, run_ids)

    def keeps_chain(self) -> bool:
        """Return whether a chain is kept, as it is in all but earlier records."""
        with self._store.reading() as connection:
            return chain_kept(connection)

    def refuse_changed(self, run_ids: Sequence[str]) -> None:
        """Let runs be used only if they are as they were written.

        Raises:
            RunChanged: One of them is not.
        """
        for check in self.checks(run_ids).values():
            if check.changes:
                raise RunChanged(check.sentence)

    def latest_figures(self, run_id: str) -> RunFigures | None:
        """Return the figures computed last for a run; None if there are none."""
        latest = self.latest_computations([run_id]).get(run_id)
        return latest.figures if latest else None

    def latest_computations(self, run_ids: Sequence[str]) -> dict[str, Computation]:
        """Return the latest computation of each of these runs that has one."""
        table = schema.computations
        found: dict[str, Computation] = {}
        for start in range(0, len(run_ids), _IDS_AT_ONCE):
            latest = (
                select(func.max(table.c.computation_id))
                .where(table.c.run_id.in_(run_ids[start : start + _IDS_AT_ONCE]))
                .group_by(table.c.run_id)
            )
            query = select(table).where(table.c.computation_id.in_(latest))
            with self._store.reading() as connection:
                found |= {c.run_id: c for c in _load_computations(connection, query)}
        return found

    def computations(self, run_id: str) -> list[Computation]:
        """Return every computation of a run's figures, oldest first."""
        table = schema.computations
        query = select(table).where(table.c.run_id == run_id)
        with self._store.reading() as connection:
            return _load_computations(connection, query)

    def hand_readings(self, wanted: RunFilter = EVERY_RUN) -> list[HandReading]:
        """Return readings by hand of what these runs measured, in order of entry.

        They are of the sensor, part and target of a run; without a filter all are
        returned.
        """
        readings = HandBook(self._store).every()
        if wanted == EVERY_RUN:
            return readings
        measured = {(run.sensor, run.part, run.target) for run in self.runs(wanted)}
        return [
            one for one in readings if (one.sensor, one.part, one.target) in measured
        ]

    def plans(self) -> list[PlanEntry]:
        """Return every plan, oldest first."""
        with self._store.reading() as connection:
            return _load_plans(connection, select(schema.plans))

    def plan(self, plan_id: str) -> PlanEntry:
        """Return a plan as it was when it began, and its present state."""
        query = select(schema.plans).where(schema.plans.c.plan_id == plan_id)
        with self._store.reading() as connection:
            found = _load_plans(connection, query)
        if not found:
            raise not_on_record("plan", plan_id, self._store.where)
        return found[0]

    def plan_progress(self, plan_id: str) -> list[ItemProgress]:
        """Return for each item of a plan the runs and attempts made for it so far."""
        plan = self.plan(plan_id)
        runs: defaultdict[int, list[RunSummary]] = defaultdict(list)
        for run in self.runs(RunFilter(plan_id=plan_id)):
            runs[run.plan_item].append(run)
        tried: defaultdict[int, list[Attempt]] = defaultdict(list)
        for one in self.attempts(RunFilter(plan_id=plan_id)):
            tried[one.plan_item].append(one)
        return [
            ItemProgress(
                item=item,
                runs=tuple(runs[item.index]),
                attempts=tuple(tried[item.index]),
            )
            for item in plan.items
        ]


def _filtered(query: Select[Any], wanted: RunFilter) -> Select[Any]:
    runs = schema.runs
    if wanted.run_ids is not None:
        query = query.where(runs.c.run_id.in_(wanted.run_ids))
    for column, value in (
        (runs.c.sensor_name, wanted.sensor),
        (runs.c.target_name, wanted.target),
        (runs.c.plan_id, wanted.plan_id),
        (runs.c.simulated, wanted.simulated),
    ):
        if value is not None:
            query = query.where(column == value)
    if wanted.part is not None:
        query = query.where(is_part(runs.c.part, wanted.part))
    if wanted.since is not None:
        query = query.where(runs.c.started_at >= time_text(wanted.since))
    if wanted.until is not None:
        query = query.where(runs.c.started_at < time_text(wanted.until))
    return query


def _run_ids(wanted: RunFilter) -> Select[Any]:
    runs = schema.runs
    query = _filtered(select(*_order(runs)), wanted)
    if wanted.newest is not None:
        query = query.order_by(*(column.desc() for column in _order(runs)))
        query = query.limit(wanted.newest)
    chosen = query.subquery()
    return select(chosen.c.run_id).order_by(*_order(chosen))


def _order(table: FromClause) -> tuple[ColumnElement[Any], ...]:
    """Columns that runs are in order by; earlier records have the clock alone."""
    return table.c.sequence, table.c.started_at, table.c.run_id


def _summaries(connection: Connection, wanted: RunFilter) -> list[RunSummary]:
    runs, sweeps = schema.runs, schema.sweeps
    chosen = _run_ids(wanted).subquery()
    good = func.coalesce(func.sum(case((sweeps.c.void == "", 1), else_=0)), 0)
    every = func.count(sweeps.c.sweep_index)
    columns = (
        runs.c.run_id,
        runs.c.sensor_name,
        runs.c.target_name,
        runs.c.target_material,
        runs.c.simulated,
        runs.c.sequence,
        runs.c.started_at,
        runs.c.ended_at,
        runs.c.sweeps_wanted,
        runs.c.void,
        runs.c.home_shift_steps,
        runs.c.home_repeatability_mm,
        runs.c.plan_id,
        runs.c.plan_item,
        runs.c.part,
    )
    query = (
        select(*columns, good.label("good"), every.label("every"))
        .join(chosen, chosen.c.run_id == runs.c.run_id)
        .outerjoin(sweeps, sweeps.c.run_id == runs.c.run_id)
        .group_by(*columns)
        .order_by(*_order(runs))
    )
    return [_summary(row) for row in connection.execute(query).mappings()]


@decodes("a run")
def _summary(row: RowMapping) -> RunSummary:
    return RunSummary(
        run_id=row["run_id"],
        sensor=row["sensor_name"],
        target=row["target_name"],
        material=row["target_material"],
        simulated=row["simulated"],
        sequence=row["sequence"] or 0,
        started_at=time_of(row["started_at"]),
        ended_at=time_of(row["ended_at"]) if row["ended_at"] else None,
        sweeps_wanted=row["sweeps_wanted"],
        good_sweeps=int(row["good"]),
        void_sweeps=row["every"] - int(row["good"]),
        void=row["void"],
        plan_id=row["plan_id"] or "",
        plan_item=row["plan_item"],
        part=one_spelling(row["part"]),
        home_shift_steps=row["home_shift_steps"],
        home_repeatability_mm=row["home_repeatability_mm"],
    )


def _load_runs(connection: Connection, run_ids: Sequence[str]) -> list[Run]:
    runs = schema.runs
    sweeps_of = _load_sweeps(connection, run_ids)
    later_of = _load_later_conditions(connection, run_ids)
    checks_of = datum_checks_in(connection, datum_checks_of(run_ids))
    query = select(runs).where(runs.c.run_id.in_(run_ids)).order_by(*_order(runs))
    return [
        Run(
            header=header_of(row),
            sweeps=tuple(sweeps_of[row["run_id"]]),
            void=row["void"],
            ended_at=time_of(row["ended_at"]) if row["ended_at"] else None,
            home_shift_steps=row["home_shift_steps"],
            later_conditions=tuple(later_of[row["run_id"]]),
            datum_checks=tuple(checks_of[row["run_id"]]),
            home_repeatability_mm=row["home_repeatability_mm"],
        )
        for row in connection.execute(query).mappings()
    ]


def _load_sweeps(
    connection: Connection, run_ids: Sequence[str]
) -> defaultdict[str, list[Sweep]]:
    """Return the sweeps of each run with their edges, in order."""
    sweeps, edges = schema.sweeps, schema.edges
    edges_of: defaultdict[tuple[str, int], list[Edge]] = defaultdict(list)
    edge_query = (
        select(edges)
        .where(edges.c.run_id.in_(run_ids))
        .order_by(edges.c.run_id, edges.c.sweep_index, edges.c.ordinal)
    )
    for row in connection.execute(edge_query).mappings():
        edges_of[row["run_id"], row["sweep_index"]].append(edge_of(row))
    sweep_query = (
        select(sweeps)
        .where(sweeps.c.run_id.in_(run_ids))
        .order_by(sweeps.c.run_id, sweeps.c.sweep_index)
    )
    found: defaultdict[str, list[Sweep]] = defaultdict(list)
    for row in connection.execute(sweep_query).mappings():
        own = tuple(edges_of[row["run_id"], row["sweep_index"]])
        found[row["run_id"]].append(sweep_of(row, own))
    return found


def _load_later_conditions(
    connection: Connection, run_ids: Sequence[str]
) -> defaultdict[str, list[Conditions]]:
    """Return the conditions under which each run was gone on with, in order."""
    later = schema.run_conditions
    query = (
        select(later)
        .where(later.c.run_id.in_(run_ids))
        .order_by(later.c.run_id, later.c.conditions_index)
    )
    found: defaultdict[str, list[Conditions]] = defaultdict(list)
    for row in connection.execute(query).mappings():
        found[row["run_id"]].append(conditions_of(row["conditions"]))
    return found


def _load_computations(connection: Connection, query: Select[Any]) -> list[Computation]:
    table = schema.computations
    heads = connection.execute(query.order_by(table.c.computation_id)).mappings().all()
    figures = figures_of(connection, heads)
    return [
        Computation(
            run_id=head["run_id"],
            figures=figures[head["computation_id"]],
            software_version=head["software_version"],
            computed_at=time_of(head["computed_at"]),
        )
        for head in heads
    ]


@decodes("a plan")
def _load_plans(connection: Connection, query: Select[Any]) -> list[PlanEntry]:
    plans, items = schema.plans, schema.plan_items
    order = (plans.c.created_at, plans.c.plan_id)
    found = []
    for row in connection.execute(query.order_by(*order)).mappings().all():
        own = connection.execute(
            select(items)
            .where(items.c.plan_id == row["plan_id"])
            .order_by(items.c.item_index)
        ).mappings()
        found.append(
            PlanEntry(
                plan_id=row["plan_id"],
                title=row["title"],
                toml_text=row["toml_text"],
                created_at=time_of(row["created_at"]),
                simulated=row["simulated"],
                items=tuple(
                    PlanItem(
                        index=item["item_index"],
                        sensor=sensor_of(item["sensor"]),
                        target=target_of(item["target"]),
                        sweeps_wanted=item["sweeps_wanted"],
                        speeds_mm_s=speeds_of(item["speeds_mm_s"]),
                        part=one_spelling(item["part"]),
                        timetable=timetable_of(item["timetable"]),
                    )
                    for item in own
                ),
                state=PlanState(row["state"]),
                for_verdict=bool(row["for_verdict"]),
            )
        )
    return found
