"""Writes what was measured. Every call is one transaction, on disk when it returns.

A crash or a power cut therefore leaves whole sweeps only: the last one either is
on record with all its edges or is not there at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime

from sqlalchemy import update

from rig.model.bench_declaration import BenchDeclaration
from rig.model.calibration import AxisCalibration
from rig.model.figure_forms import FigureBlock, block_of_run
from rig.model.figures import RunFigures
from rig.model.part_number import one_spelling
from rig.model.sweeps import Conditions, DatumCheck, RunHeader, Sweep
from rig.records import schema
from rig.records.benches import bench_on_record, declaration_in_force
from rig.records.calibrations import in_force
from rig.records.chain import append_links, insert_chained
from rig.records.checksum import checksum_of_lines
from rig.records.datum_checks import datum_check_row
from rig.records.edge_lines import stored_edge_lines
from rig.records.entries import PlanEntry, PlanState
from rig.records.failures import not_on_record
from rig.records.kept_figures import add_figures_of_runs
from rig.records.mapping import (
    calibration_of,
    conditions_row,
    edge_rows,
    header_row,
    json_text,
    sweep_row,
    time_text,
    timetable_text,
)
from rig.records.run_content import ended_link
from rig.records.schema_datum import datum_checks
from rig.records.second_program import refuse_second_program
from rig.records.sequence import next_sequence
from rig.records.store import Store
from rig.records.sweep_text import edge_text, sweep_link
from rig.version import SOFTWARE_VERSION


class Writer:
    """Adds to the records; alters nothing that was measured.

    Every method raises `RecordsError` when the records cannot be written, and
    then has kept nothing of what it was given.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def begin_plan(self, plan: PlanEntry) -> None:
        """Put a plan and its items on record before its first run."""
        with self._store.writing() as connection:
            insert_chained(
                connection,
                schema.plans,
                {
                    "plan_id": plan.plan_id,
                    "title": plan.title,
                    "toml_text": plan.toml_text,
                    "created_at": time_text(plan.created_at),
                    "simulated": plan.simulated,
                    "state": plan.state.value,
                    "for_verdict": plan.for_verdict or None,
                },
            )
            items = [
                {
                    "plan_id": plan.plan_id,
                    "item_index": item.index,
                    "sensor": json_text(asdict(item.sensor)),
                    "target": json_text(asdict(item.target)),
                    "sweeps_wanted": item.sweeps_wanted,
                    "speeds_mm_s": json_text(item.speeds_mm_s),
                    "part": one_spelling(item.part),
                    "timetable": timetable_text(item.timetable),
                }
                for item in plan.items
            ]
            insert_chained(connection, schema.plan_items, *items)

    def set_plan_state(self, plan_id: str, state: PlanState) -> None:
        """Say how far a plan has come."""
        plans = schema.plans
        with self._store.writing() as connection:
            changed = connection.execute(
                update(plans)
                .where(plans.c.plan_id == plan_id)
                .values(state=state.value)
            )
            if changed.rowcount == 0:
                raise not_on_record("plan", plan_id, self._store.where)

    def calibration_in_force(self, rig_id: str) -> AxisCalibration | None:
        """Return what a run that begins now is to rest on; None if there is none.

        It stands here so that nothing that begins a run can leave it out.
        """
        with self._store.reading() as connection:
            text = connection.scalar(in_force(rig_id))
        return None if text is None else calibration_of(text)

    def bench_in_force(self, rig_id: str) -> BenchDeclaration:
        """Return what is declared of the bench that a run now begins on."""
        with self._store.reading() as connection:
            return declaration_in_force(connection, rig_id)

    def bench_on_record(self, rig_id: str) -> bool:
        """Return whether somebody declared the bench of a rig, or put it off."""
        with self._store.reading() as connection:
            return bench_on_record(connection, rig_id)

    def begin_run(self, header: RunHeader) -> None:
        """Put a run on record before its first sweep."""
        with self._store.writing() as connection:
            row = header_row(header) | {"sequence": next_sequence(connection)}
            insert_chained(connection, schema.runs, row)

    def add_conditions(self, run_id: str, index: int, conditions: Conditions) -> None:
        """Put on record that a run was taken up again, and under what."""
        with self._store.writing() as connection:
            refuse_second_program(
                connection, run_id, schema.run_conditions.c.conditions_index, index
            )
            row = conditions_row(run_id, index, conditions)
            insert_chained(connection, schema.run_conditions, row)

    def add_sweep(self, run_id: str, sweep: Sweep) -> None:
        """Put a sweep with all its edges on disk, whole or not at all.

        A sweep with an index that is there already, or for a run that has ended,
        is refused.
        """
        row = sweep_row(run_id, sweep)
        rows = edge_rows(run_id, sweep)
        with self._store.writing() as connection:
            refuse_second_program(
                connection, run_id, schema.sweeps.c.sweep_index, sweep.index
            )
            connection.execute(schema.sweeps.insert(), row)
            if rows:
                connection.execute(schema.edges.insert(), rows)
            link = sweep_link(row, map(edge_text, rows))
            append_links(connection, [link])

    def add_datum_check(self, run_id: str, index: int, check: DatumCheck) -> None:
        """Put on record that the face was touched again, before the next sweep.

        One for a run that has ended is refused.
        """
        with self._store.writing() as connection:
            row = datum_check_row(run_id, index, check)
            insert_chained(connection, datum_checks, row)

    def end_run(
        self,
        run_id: str,
        *,
        ended_at: datetime,
        void: str = "",
        home_shift_steps: int | None = None,
        home_repeatability_mm: float | None = None,
    ) -> str:
        """Close a run for further sweeps.

        Args:
            run_id: Identity of the run.
            ended_at: When; aware.
            void: Why the whole run is not to be used; empty for a good one.
            home_shift_steps: Steps by which the home switch moved; None if unchecked.
            home_repeatability_mm: Standard deviation of the place at which that switch
                closes; None if nobody repeated it.

        Returns:
            The checksum of all its edges, which is stored with it.
        """
        runs = schema.runs
        with self._store.writing() as connection:
            checksum = checksum_of_lines(stored_edge_lines(connection, run_id))
            changed = connection.execute(
                update(runs)
                .where(runs.c.run_id == run_id)
                .values(
                    ended_at=time_text(ended_at),
                    void=void,
                    home_shift_steps=home_shift_steps,
                    home_repeatability_mm=home_repeatability_mm,
                    edges_checksum=checksum,
                )
            )
            if changed.rowcount == 0:
                raise not_on_record("run", run_id, self._store.where)
            append_links(connection, [ended_link(connection, run_id)])
        return checksum

    def add_figures(
        self,
        run_id: str,
        figures: RunFigures,
        *,
        computed_at: datetime,
        software_version: str = SOFTWARE_VERSION,
    ) -> None:
        """Add one computation of a run's figures; earlier ones stay."""
        with self._store.writing() as connection:
            add_figures_of_runs(
                connection,
                [block_of_run(run_id, figures)],
                computed_at=computed_at,
                software_version=software_version,
            )

    def add_figures_of_runs(
        self,
        blocks: Sequence[FigureBlock],
        *,
        computed_at: datetime,
        software_version: str = SOFTWARE_VERSION,
    ) -> None:
        """Add a computation for every run of some blocks, all or none.

        Args:
            blocks: No run in more than one of them.
            computed_at: When; aware.
            software_version: Version of the software that made them.
        """
        with self._store.writing() as connection:
            add_figures_of_runs(
                connection,
                blocks,
                computed_at=computed_at,
                software_version=software_version,
            )
