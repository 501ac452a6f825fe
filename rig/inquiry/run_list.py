"""The runs on record with outcome, main figures and verdicts, oldest first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from rig.analysis.limits.verdict import GUARDED, Decision, gravest
from rig.analysis.run.home_shift import home_finding
from rig.analysis.standard.figure_decisions import (
    decision_about_delay,
    decisions_of_figures,
)
from rig.errors import InputError
from rig.inquiry.part_verdict import DELAY
from rig.inquiry.run_calibration import RunCalibration, run_calibration
from rig.inquiry.tried import Tried, tried_on_record
from rig.model.attempts import Outcome
from rig.model.figure_kinds import applicable
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Conditions, RunHeader
from rig.records import Computation, Reader, RunFilter, RunSummary, Store

_ROWS_AT_ONCE = 500
# Runs of a list that are held against the chain; it costs as much as listing them
MOST_LOOKED_AT: Final = 2000
_NOT_IN_THE_CHAIN: Final = "its name is not in the chain of the records"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRow:
    """One run of the list, or an attempt that came to none.

    Figures are None if none were worked out.

    Attributes:
        operator: Name of whoever answers for it; null if nobody gave it.
        temperature_c: Ambient temperature as given, else as the rig measured it, °C;
            null where it is not known.
        calibration: What the positions rest on; null where it came to no run.
        verdict: The gravest of all decisions; null for no verdict.
        verdicts: Decision by symbol or name; empty where there can be none.
        outcome: How the last attempt ended.
        result: Outcome in a word or two, such as "not detected".
        outcome_sentence: What was seen; None for figures.
        outcome_causes: Likely causes or what to do; None where none are known.
        changes: What is not as it was written; None in a long list, where nobody looks.
    """

    run_id: str
    simulated: bool
    sensor: str
    product: str | None
    product_version: int | None
    part: str | None
    target: str
    operator: str | None
    started_at: datetime
    ended_at: datetime | None
    temperature_c: float | None
    calibration: RunCalibration | None
    sweeps_wanted: int
    good_sweeps: int
    void_sweeps: int
    void: str | None
    plan_id: str | None
    operate_mm: Figure | None
    release_mm: Figure | None
    differential_travel_mm: Figure | None
    verdict: Decision | None
    verdicts: Mapping[str, Decision]
    outcome: Outcome
    result: str
    outcome_sentence: str | None
    outcome_causes: str | None
    changes: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunList:
    """Runs on record, oldest first."""

    runs: tuple[RunRow, ...]


def run_list(store: Store, wanted: RunFilter) -> RunList:
    """List runs.

    Raises:
        RecordsError: The records cannot be read.
    """
    return RunList(runs=tuple(run_rows(store, wanted)))


def run_rows(store: Store, wanted: RunFilter) -> Iterator[RunRow]:
    """Yield runs one after another, all as they are at one moment.

    The figures of a few hundred runs are held at a time, however many are listed.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        reader = Reader(moment)
        tried = tried_on_record(moment, wanted)
        for start in range(0, len(tried), _ROWS_AT_ONCE):
            some = tried[start : start + _ROWS_AT_ONCE]
            run_ids = [one.run_id for one in some if one.run is not None]
            latest = reader.latest_computations(run_ids)
            headers = reader.headers(run_ids)
            later = reader.later_conditions(run_ids)
            looked = len(tried) <= MOST_LOOKED_AT
            every = [one.run_id for one in some]
            checks = reader.checks(every) if looked else {}
            chained = looked and reader.keeps_chain()
            for one in some:
                run_id = one.run_id
                found, known = latest.get(run_id), later.get(run_id, ())
                row = _row(one, headers.get(run_id), found, known)
                if run_id in checks:
                    row = replace(row, changes=checks[run_id].changes)
                elif chained:
                    row = replace(row, changes=(_NOT_IN_THE_CHAIN,))
                yield row


def _row(
    one: Tried,
    header: RunHeader | None,
    found: Computation | None,
    later: tuple[Conditions, ...],
) -> RunRow:
    run, figures = one.run, None
    if header is not None and found is not None:
        figures = applicable(found.figures, header.timetable)
    verdicts = {}
    if run is not None and header is not None and figures is not None:
        verdicts = decisions_of_run(run, header, figures, later)
    by_outcome = [] if one.decision is None else [one.decision]
    ended_at = one.ended_at if run is None else run.ended_at
    known = None if header is None else header.conditions
    return RunRow(
        run_id=one.run_id,
        simulated=one.simulated,
        sensor=one.sensor.name,
        product=None if one.product is None else one.product.name,
        product_version=None if one.product is None else one.product.version,
        part=one.part or None,
        target=one.target.name,
        operator=one.operator or None,
        started_at=one.started_at,
        ended_at=ended_at,
        temperature_c=None if known is None else known.ambient_c,
        calibration=None
        if known is None
        else run_calibration(known, (ended_at or one.started_at).date()),
        sweeps_wanted=one.sweeps_wanted,
        good_sweeps=0 if run is None else run.good_sweeps,
        void_sweeps=0 if run is None else run.void_sweeps,
        void=(run.void or None) if run is not None else None,
        plan_id=one.plan_id or None,
        operate_mm=None if figures is None else figures.operate,
        release_mm=None if figures is None else figures.release,
        differential_travel_mm=None if figures is None else figures.differential_travel,
        verdict=gravest([*verdicts.values(), *by_outcome]),
        verdicts=verdicts,
        outcome=one.outcome,
        result=one.words,
        outcome_sentence=one.sentence or None,
        outcome_causes=one.causes or None,
    )


def decisions_of_run(
    run: RunSummary,
    header: RunHeader,
    figures: RunFigures,
    later: tuple[Conditions, ...],
) -> dict[str, Decision]:
    """Decide about a run by each of its limits.

    Args:
        run: The run.
        header: What was measured.
        figures: Figures that apply to the run.
        later: Conditions that it was resumed under.

    Returns:
        Decisions by symbol or name; empty where there can be none.
    """
    if run.void:
        return {}
    if home_finding(
        run.home_shift_steps,
        run.home_repeatability_mm,
        header.conditions.axis.steps_per_mm,
    ):
        return {}
    try:
        decisions = decisions_of_figures(header, figures, GUARDED, later=later)
        delay = decision_about_delay(header, figures, GUARDED, later=later)
    except InputError:
        # A limit that is not possible is said where the run is shown
        return {}
    if delay is not None:
        decisions[DELAY] = delay
    return decisions
