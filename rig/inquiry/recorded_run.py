"""One run on record: figures, verdicts, check of its edges, comparison with others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from rig.analysis.limits.verdict import GUARDED, Decision, Rule, gravest
from rig.analysis.standard.iec_60947_5_2 import UsableDistance
from rig.analysis.standard.run_against_standard import RunStandard, standard_of_run
from rig.errors import NoFigures
from rig.inquiry.change_told import change_told
from rig.inquiry.other_runs import ReductionFactor, reduction_factor, usable_of_runs
from rig.inquiry.run_calibration import RunCalibration, run_calibration
from rig.inquiry.sweep_readings import SweepReading, sweep_readings
from rig.inquiry.tried import (
    Ending,
    decision_of_outcome,
    ending_of_run,
    outcome_words,
)
from rig.model.attempts import Attempt, Outcome
from rig.model.figure_kinds import applicable
from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.records import Reader, RunCheck, Store
from rig.records.attempt_book import AttemptBook
from rig.records.notes import NoteBook, RunNote


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOptions:
    """How a run is looked at.

    Attributes:
        rule: Decision rule of the verdicts.
        reference_id: Run on the standard target, for the reduction factor; None
            without one.
        under: Runs under other conditions, by the name of the condition, for s_u
            and s_a.
    """

    rule: Rule = GUARDED
    reference_id: str | None = None
    under: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedRun:
    """A run with all that is said of it.

    Attributes:
        run: The run with its edges.
        figures: Latest figures that apply to it; None if none were worked out.
        readings: Points of every sweep, void ones too.
        standard: What the standard makes of it; None without figures.
        check: Check of its edges; None if nobody checked.
        notes: Notes to the run, withdrawn ones too.
        factor: Reduction factor; None if no reference was named.
        usable: s_u and s_a; None if no other conditions were named.
        attempts: Attempts at the run, oldest first; none for one from before they were
            kept.
    """

    run: Run
    figures: RunFigures | None
    readings: tuple[SweepReading, ...]
    standard: RunStandard | None
    check: RunCheck | None = None
    notes: tuple[RunNote, ...] = ()
    factor: ReductionFactor | None = None
    usable: UsableDistance | None = None
    attempts: tuple[Attempt, ...] = ()

    @property
    def ending(self) -> Ending:
        """How the run ended."""
        end = self.attempts[-1].end if self.attempts else None
        return ending_of_run(self.run.ended_at, self.run.void, end)

    @property
    def result(self) -> str:
        """The outcome in a word or two, "not detected" among them."""
        header = self.run.header
        return outcome_words(
            self.ending.outcome, header.sensor, header.target, header.product
        )

    @property
    def calibration(self) -> RunCalibration:
        """The calibration under the first sweep, as it stood when the run ended."""
        header = self.run.header
        ended_at = self.run.ended_at or header.started_at
        return run_calibration(header.conditions, ended_at.date())

    @property
    def verdict(self) -> Decision | None:
        """The gravest of all decisions about the run; None for no verdict."""
        return gravest(self.decisions)

    @property
    def decisions(self) -> tuple[Decision, ...]:
        """Every decision about the run."""
        found = self.standard
        verdicts = [] if found is None else [*found.verdicts.values(), found.delay]
        if self.usable is not None:
            verdicts += [self.usable.smallest[1], self.usable.largest[1]]
            verdicts.append(self.usable.assured)
        decided = [one.decision for one in verdicts if one is not None]
        by_outcome = self.decision_of_ending
        return (*decided, by_outcome) if by_outcome else tuple(decided)

    @property
    def decision_of_ending(self) -> Decision | None:
        """What its outcome alone decides about the part; None for nothing."""
        header = self.run.header
        return decision_of_outcome(
            self.ending.outcome, header.sensor, header.target, header.product
        )


def recorded_run(
    store: Store, run_id: str, options: RunOptions | None = None
) -> RecordedRun:
    """Read a run, hold it against its limits and compare it with others.

    Args:
        store: Open records.
        run_id: Identity of the run.
        options: How it is looked at; None for the run alone under the usual rule.

    Raises:
        InputError: Runs do not go together, or a limit of the data sheet is not
            possible.
        RecordsError: A run is not on record.
    """
    asked = options or RunOptions()
    with store.snapshot() as moment:
        reader = Reader(moment)
        check = reader.verify(run_id)
        with change_told(check):
            return _recorded(moment, run_id, asked, check)


def _recorded(
    moment: Store, run_id: str, asked: RunOptions, check: RunCheck
) -> RecordedRun:
    """Read a run that is on record, and look at it as is asked."""
    reader = Reader(moment)
    run, figures = reader.run(run_id), reader.latest_figures(run_id)
    own = (run, figures)
    reference = asked.reference_id
    return evaluated_run(
        run,
        figures,
        rule=asked.rule,
        check=check,
        notes=tuple(NoteBook(moment).notes(run_id)),
        factor=(
            None
            if reference is None
            else reduction_factor(own, _with_figures(reader, reference))
        ),
        usable=(
            usable_of_runs(
                own,
                {name: _with_figures(reader, i) for name, i in asked.under.items()},
                asked.rule,
            )
            if asked.under
            else None
        ),
        attempts=AttemptBook(moment).of_runs([run_id]).get(run_id, ()),
    )


def recorded_runs(
    store: Store, run_ids: Sequence[str], rule: Rule = GUARDED
) -> tuple[RecordedRun, ...]:
    """Read several runs as they are at one moment, in the order given.

    Raises:
        InputError: A limit of a data sheet is not possible.
        RecordsError: A run is not on record.
    """
    options = RunOptions(rule=rule)
    with store.snapshot() as moment:
        return tuple(recorded_run(moment, run_id, options) for run_id in run_ids)


def runs_with_figures(
    store: Store, run_ids: Sequence[str], rule: Rule = GUARDED
) -> tuple[RecordedRun, ...]:
    """Read several runs, as `recorded_runs` does, that all have to have figures.

    Raises:
        InputError: A run has no figures, or a limit of a data sheet is not possible.
        RecordsError: A run is not on record.
    """
    found = recorded_runs(store, run_ids, rule)
    for one in found:
        if one.figures is None:
            raise NoFigures(one.run.header.run_id)
    return found


def runs_to_report(
    store: Store, run_ids: Sequence[str], rule: Rule = GUARDED
) -> tuple[RecordedRun, ...]:
    """Read several runs, as `recorded_runs` does, that have figures or say why not.

    Raises:
        InputError: The figures of a run that ended well were never worked out, or a
            limit of a data sheet is not possible.
        RecordsError: A run is not on record.
    """
    found = recorded_runs(store, run_ids, rule)
    for one in found:
        if one.figures is None and one.ending.outcome is Outcome.FIGURES:
            raise NoFigures(one.run.header.run_id)
    return found


def evaluated_run(
    run: Run,
    figures: RunFigures | None,
    *,
    rule: Rule = GUARDED,
    check: RunCheck | None = None,
    notes: tuple[RunNote, ...] = (),
    factor: ReductionFactor | None = None,
    usable: UsableDistance | None = None,
    attempts: tuple[Attempt, ...] = (),
) -> RecordedRun:
    """Hold a run against its limits, and put it beside what else is known of it.

    Raises:
        InputError: A limit of the data sheet is not possible.
    """
    if figures is not None:
        figures = applicable(figures, run.header.timetable)
    return RecordedRun(
        run=run,
        figures=figures,
        readings=sweep_readings(run, figures),
        standard=None if figures is None else standard_of_run(run, figures, rule),
        check=check,
        notes=notes,
        factor=factor,
        usable=usable,
        attempts=attempts,
    )


def _with_figures(reader: Reader, run_id: str) -> tuple[Run, RunFigures | None]:
    return reader.run(run_id), reader.latest_figures(run_id)
