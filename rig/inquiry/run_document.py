"""A run as the JSON document that `show` and `sweep` print."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any, Protocol

import numpy as np

from rig.analysis.edges.datum_closing import DatumClosing
from rig.analysis.edges.run_arrays import closings_of_run
from rig.analysis.limits.verdict import Decision, Verdict
from rig.analysis.numbers.one_way import OneWay
from rig.analysis.run.repeat_accuracy import EightHourTest
from rig.analysis.standard.iec_60947_5_2 import UsableDistance
from rig.inquiry.other_runs import ReductionFactor
from rig.inquiry.recorded_run import RecordedRun
from rig.inquiry.run_calibration import RunCalibration
from rig.model.attempts import Attempt, Outcome
from rig.model.bench_items import NOT_INCLUDED
from rig.model.figure_kinds import FIGURE_KINDS, figures_with_budget
from rig.model.figures import Contribution, Figure, RunFigures
from rig.model.phases import PhaseTime
from rig.records.notes import RunNote

NO_FIGURES = "No figures have been worked out for this run."


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepDocument:
    """One sweep: gaps at the latch (mm) with the delay in them, speed, why void."""

    operate_mm: float | None
    release_mm: float | None
    speed_mm_s: float
    void: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine(Contribution):
    """One contribution, with the field of the figure that it stands in."""

    figure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimetableDocument:
    """What a timetable gave besides its figures; see `EightHourTest`."""

    complete: bool
    kind: str
    hours: float
    means_mm: np.ndarray
    between_times: OneWay | None
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictUnder(Verdict):
    """A verdict, with the condition that decides it."""

    under: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UsableDocument:
    """s_u at its two ends and s_a; see `UsableDistance`."""

    s_u_smallest: VerdictUnder
    s_u_largest: VerdictUnder
    s_a: Verdict
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownTruth:
    """What a simulated rig knows of itself (mm); None where it never switches."""

    threshold_operate_mm: float | None
    threshold_release_mm: float | None
    observed_operate_mm: float | None
    observed_release_mm: float | None


class Truth(Protocol):
    """Whatever knows the truth of a simulated rig."""

    @property
    def threshold_operate_mm(self) -> float | None: ...  # noqa: D102 - see KnownTruth
    @property
    def threshold_release_mm(self) -> float | None: ...  # noqa: D102
    @property
    def observed_operate_mm(self) -> float | None: ...  # noqa: D102
    @property
    def observed_release_mm(self) -> float | None: ...  # noqa: D102


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosingDocument:
    """What touching the face again says of a datum (mm); see `DatumClosing`.

    Attributes:
        bound_mm: Size of the difference beyond which the run is void.
    """

    difference_mm: float
    standard_uncertainty_mm: float
    bound_mm: float
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AttemptDocument:
    """One attempt at a run.

    Attributes:
        started_at: When it began, UTC.
        ended_at: When it ended; null if it was cut short or is still going on.
        outcome: How it ended; null likewise.
        sentence: What was seen; for figures only why the run ended as it did.
        causes: Likely causes or what to do; empty for figures.
    """

    started_at: datetime
    ended_at: datetime | None
    outcome: Outcome | None
    sentence: str
    causes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunDocument:
    """A run with its figures, verdicts, sweeps and the check of its edges.

    Figures are null where they do not apply to the run or were not worked out.

    Attributes:
        operator: Name of whoever answers for it; null if nobody gave it.
        temperature_c: Ambient temperature as given, °C; null if nobody gave it.
        measured_temperature_c: What the rig's own thermometer showed as it began, °C;
            null without one.
        calibration: What the positions rest on.
        verdict: The gravest of all decisions; null for no verdict.
        outcome: How the last attempt ended.
        result: Outcome in a word or two, such as "not detected".
        outcome_sentence: What was seen; null if there is nothing to say of figures.
        outcome_causes: Likely causes or what to do; null where none are known.
        attempts: Every attempt at the run, oldest first.
        budget: Contributions of every figure, one figure after the other.
        not_included: What no budget includes.
        warnings: Sentences that go with the figures.
        verdicts: Verdicts by symbol.
        switching_delay: Verdict on both switching delays together; null without one.
        eight_hour_test: What its timetable gave; null without one.
        datum_closings: The face touched again, for each set of conditions; null where
            it was not.
        home_shift_steps: Steps by which the home switch moved; null if unchecked.
        home_repeatability_mm: Standard deviation of the place at which that switch
            closes; null if nobody repeated it.
        edges_checksum: SHA-256 stored at the end of the run; null before it ended.
        intact: Whether the run is as it was written; null if it has not ended.
        changes: What is not as it was written.
        phases: How long each part of the job took by the rig's clock; empty for a run
            that was not measured just now.
        truth: What a simulated rig knows of itself; null unless asked for.
    """

    simulated: bool
    run_id: str
    sensor: str
    product: str | None
    product_version: int | None
    part: str | None
    target: str
    operator: str | None
    started_at: datetime
    ended_at: datetime | None
    temperature_c: float | None
    measured_temperature_c: float | None
    calibration: RunCalibration
    verdict: Decision | None
    void: str | None
    outcome: Outcome
    result: str
    outcome_sentence: str | None
    outcome_causes: str | None
    attempts: tuple[AttemptDocument, ...]
    sweeps: tuple[SweepDocument, ...]
    operate_mm: Figure | None
    release_mm: Figure | None
    differential_travel_mm: Figure | None
    differential_travel_percent: Figure | None
    repeat_accuracy_short_term_mm: Figure | None
    repeat_accuracy_8_h_mm: Figure | None
    repeat_accuracy_8_h_percent: Figure | None
    repeat_accuracy_timetable_mm: Figure | None
    repeat_accuracy_timetable_percent: Figure | None
    operate_drift_mm_per_h: Figure | None
    first_passage_bias_operate_mm: Figure | None
    first_passage_bias_release_mm: Figure | None
    threshold_operate_mm: Figure | None
    threshold_release_mm: Figure | None
    response_time_operate_ms: Figure | None
    response_time_release_ms: Figure | None
    response_time_both_ms: Figure | None
    budget: tuple[BudgetLine, ...]
    not_included: tuple[str, ...]
    warnings: tuple[str, ...]
    verdicts: Mapping[str, Verdict]
    verdict_statements: tuple[str, ...]
    switching_delay: Verdict | None
    eight_hour_test: TimetableDocument | None
    reduction_factor: ReductionFactor | None
    usable_distance: UsableDocument | None
    notes: tuple[RunNote, ...]
    datum_closings: tuple[ClosingDocument | None, ...]
    home_shift_steps: int | None
    home_repeatability_mm: float | None
    edges_checksum: str | None
    intact: bool | None
    changes: tuple[str, ...]
    phases: tuple[PhaseTime, ...]
    truth: KnownTruth | None
    analysis_version: str | None
    software_version: str


def run_document(
    one: RecordedRun,
    *,
    remarks: tuple[str, ...] = (),
    phases: tuple[PhaseTime, ...] = (),
    truth: Truth | None = None,
) -> RunDocument:
    """Return a run as its document.

    Args:
        one: The run.
        remarks: Sentences said while it was measured, which join the warnings.
        phases: Times of the parts of the job, if it was measured just now.
        truth: What the simulated rig knows, if that was asked for.
    """
    header, figures, standard = one.run.header, one.figures, one.standard
    warnings = (NO_FIGURES,) if figures is None else figures.warnings
    return RunDocument(
        simulated=header.conditions.simulated,
        run_id=header.run_id,
        sensor=header.sensor.name,
        product=None if header.product is None else header.product.name,
        product_version=None if header.product is None else header.product.version,
        part=header.part or None,
        target=header.target.name,
        operator=header.conditions.operator or None,
        started_at=header.started_at,
        ended_at=one.run.ended_at,
        temperature_c=header.conditions.temperature_c,
        measured_temperature_c=header.conditions.measured_temperature_c,
        calibration=one.calibration,
        verdict=one.verdict,
        void=one.run.void or None,
        outcome=one.ending.outcome,
        result=one.result,
        outcome_sentence=one.ending.sentence or None,
        outcome_causes=one.ending.causes or None,
        attempts=tuple(map(_attempt, one.attempts)),
        sweeps=_sweeps(one),
        **_figures(figures),
        budget=() if figures is None else _budget(figures),
        not_included=() if figures is None else NOT_INCLUDED,
        warnings=(*warnings, *remarks),
        verdicts={} if standard is None else standard.verdicts,
        verdict_statements=() if standard is None else standard.statements,
        switching_delay=None if standard is None else standard.delay,
        eight_hour_test=None if standard is None else _test(standard.eight_hours),
        reduction_factor=one.factor,
        usable_distance=_usable(one.usable),
        notes=one.notes,
        datum_closings=tuple(_closing(each) for each in closings_of_run(one.run)),
        home_shift_steps=one.run.home_shift_steps,
        home_repeatability_mm=one.run.home_repeatability_mm,
        edges_checksum=None if one.check is None else one.check.stored or None,
        intact=None if one.check is None else one.check.intact,
        changes=() if one.check is None else one.check.changes,
        phases=phases,
        truth=None if truth is None else _truth(truth),
        analysis_version=None if figures is None else figures.analysis_version,
        software_version=header.software_version,
    )


def _attempt(one: Attempt) -> AttemptDocument:
    end = one.end
    return AttemptDocument(
        started_at=one.started_at,
        ended_at=None if end is None else end.ended_at,
        outcome=None if end is None else end.outcome,
        sentence="" if end is None else end.sentence,
        causes="" if end is None else end.causes,
    )


def _sweeps(one: RecordedRun) -> tuple[SweepDocument, ...]:
    return tuple(
        SweepDocument(
            operate_mm=reading.operate_delayed_mm,
            release_mm=reading.release_delayed_mm,
            speed_mm_s=reading.speed_mm_s,
            void=sweep.void or None,
        )
        for reading, sweep in zip(one.readings, one.run.sweeps, strict=True)
    )


def _figures(figures: RunFigures | None) -> dict[str, Any]:
    return {kind.key: getattr(figures, kind.field, None) for kind in FIGURE_KINDS}


def _budget(figures: RunFigures) -> tuple[BudgetLine, ...]:
    return tuple(
        BudgetLine(figure=kind.field, **_fields_of(line))
        for kind, figure in figures_with_budget(figures)
        for line in figure.budget
    )


def _test(test: EightHourTest | None) -> TimetableDocument | None:
    if test is None:
        return None
    return TimetableDocument(
        complete=test.complete,
        kind=test.repeat_accuracy.kind.value,
        hours=test.hours,
        means_mm=test.means_mm,
        between_times=test.between_times,
        statements=test.repeat_accuracy.statements,
    )


def _closing(found: DatumClosing | None) -> ClosingDocument | None:
    if found is None:
        return None
    names = [field.name for field in fields(ClosingDocument)]
    return ClosingDocument(**{name: getattr(found, name) for name in names})


def _usable(found: UsableDistance | None) -> UsableDocument | None:
    if found is None:
        return None
    ends = [
        VerdictUnder(under=under, **_fields_of(verdict))
        for under, verdict in (found.smallest, found.largest)
    ]
    return UsableDocument(
        s_u_smallest=ends[0],
        s_u_largest=ends[1],
        s_a=found.assured,
        statements=found.statements,
    )


def _truth(truth: Truth) -> KnownTruth:
    names = [field.name for field in fields(KnownTruth)]
    return KnownTruth(**{name: getattr(truth, name) for name in names})


def _fields_of(one: Contribution | Verdict) -> dict[str, Any]:
    return {field.name: getattr(one, field.name) for field in fields(one)}
