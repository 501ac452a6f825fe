"""What came of everything that was tried: runs with figures, and attempts without."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from rig.analysis.limits.verdict import Decision
from rig.analysis.standard.product_match import limited_target_differences
from rig.model.attempts import Attempt, AttemptEnd, Outcome
from rig.model.mounted import Sensor, Target
from rig.model.product import ProductVersion
from rig.model.sweeps import RunHeader
from rig.records import Reader, RunFilter, RunSummary, Store
from rig.records.attempt_book import AttemptBook

NOT_DETECTED = "not detected"
_UNFINISHED = "it was cut short, or it is still going on"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """How a run ended.

    Attributes:
        outcome: Outcome by its name.
        sentence: What was seen; for figures only why the run ended as it did.
        causes: Likely causes or what to do; empty for figures.
    """

    outcome: Outcome
    sentence: str
    causes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What came of one run, or of an attempt that came to none.

    Attributes:
        run_id: Identity that the run has, or would have had.
        sensor: What was to be measured.
        target: Against what.
        part: Serial or sample number; empty if nobody gave it.
        operator: Name of whoever answers for it; empty if nobody gave it.
        plan_id: The plan that it belongs to; empty for none.
        plan_item: Index in the plan; -1 for none.
        sweeps_wanted: Number of good sweeps asked for.
        simulated: Whether a simulated rig made it.
        started_at: When it was tried first, UTC.
        tried_at: When it was tried last, UTC.
        ended_at: When the last attempt ended, UTC; None if it has no end.
        outcome: How the last attempt ended.
        sentence: What was seen; for figures only why the run ended as it did.
        causes: Likely causes or what to do; empty for figures.
        run: The run as the records sum it up; None if it never came to one.
        product: Product that it was made for; None if nobody named one.
        sequence: Place of its beginning in the order in which runs and attempts were
            put on record; 0 in earlier records that are only read.
        tried_sequence: Place of the last attempt in that order.
    """

    run_id: str
    sensor: Sensor
    target: Target
    part: str
    operator: str
    plan_id: str
    plan_item: int
    sweeps_wanted: int
    simulated: bool
    started_at: datetime
    tried_at: datetime
    ended_at: datetime | None
    outcome: Outcome
    sentence: str
    causes: str
    run: RunSummary | None
    product: ProductVersion | None
    sequence: int = 0
    tried_sequence: int = 0

    @property
    def last_tried(self) -> tuple[int, datetime, str]:
        """What those that were tried are in order by, the one tried last at the end."""
        return self.tried_sequence, self.tried_at, self.run_id

    @property
    def words(self) -> str:
        """The outcome in a word or two: a target that is not seen is a result."""
        return outcome_words(self.outcome, self.sensor, self.target, self.product)

    @property
    def decision(self) -> Decision | None:
        """What the outcome alone decides about the part; None for nothing."""
        return decision_of_outcome(self.outcome, self.sensor, self.target, self.product)


def outcome_words(
    outcome: Outcome,
    sensor: Sensor,
    target: Target,
    product: ProductVersion | None = None,
) -> str:
    """Return an outcome in words, "not detected" for a target that is not seen.

    On the standard target, or that of its product, a sensor that never switches is at
    fault; another target may be one that it cannot see.
    """
    if outcome is Outcome.NEVER_SWITCHES and _elsewhere(sensor, target, product):
        return NOT_DETECTED
    return outcome.value


def decision_of_outcome(
    outcome: Outcome,
    sensor: Sensor,
    target: Target,
    product: ProductVersion | None = None,
) -> Decision | None:
    """Return what an outcome alone decides about a part; None for nothing."""
    if outcome.fails and not _elsewhere(sensor, target, product):
        return Decision.DOES_NOT_CONFORM
    return None


def _elsewhere(sensor: Sensor, target: Target, product: ProductVersion | None) -> bool:
    """Whether sensor or target are not those that the limits are for."""
    specified = None if product is None else product.specification
    return bool(limited_target_differences(sensor, target, specified))


def lone_attempt(store: Store, run_id: str) -> Tried | None:
    """Return an attempt that came to no run; None if there is none of that identity.

    Raises:
        RecordsError: The records cannot be read.
    """
    found = AttemptBook(store).without_run(RunFilter(run_ids=(run_id,)))
    return _of_attempt(found[0]) if found else None


def ending_of_run(
    ended_at: datetime | None, void: str, end: AttemptEnd | None
) -> Ending:
    """Say how a run ended, by the word of its last attempt or by itself.

    Args:
        ended_at: When the run ended; None if it has not.
        void: Why the whole run is void; empty if it is not.
        end: How its last attempt ended; None if that is not on record: a power cut, or
            a run from before attempts were kept.
    """
    if ended_at is not None and not void:
        said = (
            end.sentence if end is not None and end.outcome is Outcome.FIGURES else ""
        )
        return Ending(outcome=Outcome.FIGURES, sentence=said, causes="")
    if end is not None:
        return Ending(outcome=end.outcome, sentence=end.sentence, causes=end.causes)
    if not void:
        return Ending(outcome=Outcome.INTERRUPTED, sentence=_UNFINISHED, causes="")
    lost = "steps were lost" in void
    return Ending(
        outcome=Outcome.STEPS_LOST if lost else Outcome.DATUM_MOVED,
        sentence=f"the run is void: {void}",
        causes="",
    )


def tried_on_record(store: Store, wanted: RunFilter) -> tuple[Tried, ...]:
    """Return all that was tried, in the order of when it was begun.

    Args:
        store: Open records; a snapshot where they may be written meanwhile.
        wanted: What to look for; its newest counts runs and attempts together.

    Raises:
        RecordsError: The records cannot be read.
    """
    reader, book = Reader(store), AttemptBook(store)
    runs = reader.runs(wanted)
    attempts = book.of_runs([run.run_id for run in runs])
    bare = [run.run_id for run in runs if run.run_id not in attempts]
    headers = reader.headers(bare)
    found = [
        _of_run(run, attempts[run.run_id])
        if run.run_id in attempts
        else _of_earlier_run(run, headers[run.run_id])
        for run in runs
    ]
    found += [_of_attempt(one) for one in book.without_run(wanted)]
    found.sort(key=lambda one: (one.sequence, one.started_at, one.run_id))
    return tuple(found if wanted.newest is None else found[-wanted.newest :])


def _of_attempt(attempt: Attempt) -> Tried:
    end = attempt.end
    return Tried(
        run_id=attempt.run_id,
        sensor=attempt.sensor,
        target=attempt.target,
        part=attempt.part,
        operator=attempt.operator,
        plan_id=attempt.plan_id,
        plan_item=attempt.plan_item,
        sweeps_wanted=attempt.sweeps_wanted,
        simulated=attempt.simulated,
        sequence=attempt.sequence,
        tried_sequence=attempt.sequence,
        started_at=attempt.started_at,
        tried_at=attempt.started_at,
        ended_at=None if end is None else end.ended_at,
        outcome=Outcome.INTERRUPTED if end is None else end.outcome,
        sentence=_UNFINISHED if end is None else end.sentence,
        causes="" if end is None else end.causes,
        run=None,
        product=attempt.product,
    )


def _of_run(run: RunSummary, attempts: Sequence[Attempt]) -> Tried:
    last = attempts[-1]
    return _with_run(run, last, last.operator, last)


def _of_earlier_run(run: RunSummary, header: RunHeader) -> Tried:
    """Say what became of a run from before attempts were kept."""
    return _with_run(run, header, header.conditions.operator, None)


def _with_run(
    run: RunSummary,
    measured: Attempt | RunHeader,
    operator: str,
    last: Attempt | None,
) -> Tried:
    end = None if last is None else last.end
    ending = ending_of_run(run.ended_at, run.void, end)
    return Tried(
        run_id=run.run_id,
        sensor=measured.sensor,
        target=measured.target,
        part=run.part,
        operator=operator,
        plan_id=run.plan_id,
        plan_item=run.plan_item,
        sweeps_wanted=run.sweeps_wanted,
        simulated=run.simulated,
        sequence=run.sequence,
        tried_sequence=run.sequence if last is None else last.sequence,
        started_at=run.started_at,
        tried_at=run.started_at if last is None else last.started_at,
        ended_at=run.ended_at if end is None else end.ended_at,
        outcome=ending.outcome,
        sentence=ending.sentence,
        causes=ending.causes,
        run=run,
        product=measured.product,
    )
