"""The runs on record with their main figures and verdicts, oldest first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from rig.analysis.limits.verdict import GUARDED, Decision
from rig.analysis.run.home_shift import home_finding
from rig.analysis.standard.run_against_standard import verdicts_of_figures
from rig.errors import InputError
from rig.model.figure_kinds import applicable
from rig.model.figures import Figure
from rig.model.sweeps import RunHeader
from rig.records import Computation, Reader, RunFilter, RunSummary, Store


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRow:
    """One run of the list; figures are None if none were worked out.

    Attributes:
        verdicts: Decision by symbol; empty where there can be none.
    """

    run_id: str
    simulated: bool
    sensor: str
    part: str | None
    target: str
    started_at: datetime
    ended_at: datetime | None
    sweeps_wanted: int
    good_sweeps: int
    void_sweeps: int
    void: str | None
    plan_id: str | None
    operate_mm: Figure | None
    release_mm: Figure | None
    differential_travel_mm: Figure | None
    verdicts: Mapping[str, Decision]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunList:
    """Runs on record, oldest first."""

    runs: tuple[RunRow, ...]


def run_list(store: Store, wanted: RunFilter) -> RunList:
    """List runs.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        reader = Reader(moment)
        runs = reader.runs(wanted)
        run_ids = [run.run_id for run in runs]
        latest = reader.latest_computations(run_ids)
        headers = reader.headers(run_ids)
    rows = [_row(run, headers[run.run_id], latest.get(run.run_id)) for run in runs]
    return RunList(runs=tuple(rows))


def _row(run: RunSummary, header: RunHeader, found: Computation | None) -> RunRow:
    figures = None
    if found is not None:
        figures = applicable(found.figures, header.timetable)
    decisions: dict[str, Decision] = {}
    finding = home_finding(
        run.home_shift_steps,
        run.home_repeatability_mm,
        header.conditions.axis.steps_per_mm,
    )
    if figures is not None and not run.void and not finding:
        try:
            verdicts = verdicts_of_figures(header, figures, GUARDED)
        except InputError:
            # A limit that is not possible is said where the run is shown
            verdicts = {}
        decisions = {symbol: one.decision for symbol, one in verdicts.items()}
    return RunRow(
        run_id=run.run_id,
        simulated=run.simulated,
        sensor=run.sensor,
        part=run.part or None,
        target=run.target,
        started_at=run.started_at,
        ended_at=run.ended_at,
        sweeps_wanted=run.sweeps_wanted,
        good_sweeps=run.good_sweeps,
        void_sweeps=run.void_sweeps,
        void=run.void or None,
        plan_id=run.plan_id or None,
        operate_mm=None if figures is None else figures.operate,
        release_mm=None if figures is None else figures.release,
        differential_travel_mm=None if figures is None else figures.differential_travel,
        verdicts=decisions,
    )
