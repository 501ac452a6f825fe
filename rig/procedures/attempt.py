"""An attempt to measure, on record from before anything moves until its outcome."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from rig.errors import (
    BenchError,
    HomeFault,
    HostUnheard,
    InputError,
    LinkLost,
    NotARig,
    NoticesLost,
    ProbeContact,
    RecordsError,
    ReplyTimeout,
    RigError,
    RigRestarted,
    RigTaken,
    StepsMissed,
    Stopped,
    SupplyGone,
)
from rig.model.attempts import Attempt, AttemptEnd, Outcome
from rig.model.sweeps import Run
from rig.procedures.events import Remarked
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.procedures.unmeasured import Unmeasured
from rig.records.entries import make_run_id

# The first that fits names the outcome
_OUTCOMES: tuple[tuple[type[RigError], Outcome], ...] = (
    (Stopped, Outcome.STOPPED),
    (SupplyGone, Outcome.SUPPLY_GONE),
    (HomeFault, Outcome.NOT_HOMED),
    (StepsMissed, Outcome.STEPS_LOST),
    (ProbeContact, Outcome.DATUM_MOVED),
    (HostUnheard, Outcome.LINK_LOST),
    (NoticesLost, Outcome.LINK_LOST),
    (ReplyTimeout, Outcome.LINK_LOST),
    (LinkLost, Outcome.LINK_LOST),
    (NotARig, Outcome.LINK_LOST),
    (RigRestarted, Outcome.LINK_LOST),
    (RigTaken, Outcome.LINK_LOST),
    (BenchError, Outcome.NOT_MEASURABLE),
    (InputError, Outcome.NOT_MEASURABLE),
    (RigError, Outcome.RIG_FAULT),
)


@dataclass(kw_only=True)
class Trying:
    """An attempt that goes on.

    Attributes:
        run_id: Identity for its run.
        outcome: What it is recorded as if it ends without an error.
        sentence: What there is to say of it then; may be empty.
    """

    run_id: str
    outcome: Outcome = Outcome.FIGURES
    sentence: str = ""


@contextmanager
def attempt(
    order: RunOrder, context: RunContext, *, unfinished: Run | None = None
) -> Iterator[Trying]:
    """Put an attempt on record before anything moves, and its outcome when it ends.

    Args:
        order: What is to be measured.
        context: What it is carried out with.
        unfinished: The run that is resumed; None for a new one.

    Raises:
        RecordsError: The records cannot be written.
    """
    begun = _begun(order, context, unfinished)
    context.attempts.begin(begun)
    trying = Trying(run_id=begun.run_id)
    try:
        yield trying
    except RecordsError:
        # What cannot be written needs no second complaint: it counts as interrupted
        raise
    except RigError as exc:
        _end(begun, context, outcome_of(exc), str(exc), exc.hint)
        raise
    except KeyboardInterrupt:
        _end(begun, context, Outcome.STOPPED, "stopped on request", "")
        raise
    except Exception as exc:
        _end(begun, context, Outcome.INTERRUPTED, f"the program failed: {exc!r}", "")
        raise
    else:
        context.attempts.end(begun, _ended(context, trying.outcome, trying.sentence))


def outcome_of(error: RigError) -> Outcome:
    """Return what an attempt that ended in an error is recorded as."""
    if isinstance(error, Unmeasured):
        return error.outcome
    return next(outcome for kind, outcome in _OUTCOMES if isinstance(error, kind))


def _begun(order: RunOrder, context: RunContext, unfinished: Run | None) -> Attempt:
    started_at = context.now()
    traits = context.mover.traits
    if unfinished is None:
        run_id, index = make_run_id(started_at, context.chance), 0
    else:
        run_id = unfinished.header.run_id
        # A run of earlier records has no attempts yet, but was tried
        before = context.attempts.of_runs([run_id]).get(run_id)
        index = before[-1].index + 1 if before else len(unfinished.conditions)
    return Attempt(
        run_id=run_id,
        index=index,
        sensor=order.sensor,
        target=order.target,
        sweeps_wanted=order.sweeps,
        simulated=traits.simulated,
        rig_id=traits.rig_id,
        started_at=started_at,
        plan_id=order.plan_id,
        plan_item=order.plan_item,
        part=order.part,
        operator=order.operator,
        note=order.note,
        product=order.product,
    )


def _ended(
    context: RunContext, outcome: Outcome, sentence: str = "", causes: str = ""
) -> AttemptEnd:
    return AttemptEnd(
        outcome=outcome, sentence=sentence, causes=causes, ended_at=context.now()
    )


def _end(
    begun: Attempt, context: RunContext, outcome: Outcome, sentence: str, causes: str
) -> None:
    """Record the outcome of an attempt whose error is raised further."""
    try:
        context.attempts.end(begun, _ended(context, outcome, sentence, causes))
    except RecordsError as exc:
        sentence = f"How the attempt ended is not on record: {exc}."
        context.tell(Remarked(sentence=sentence))
