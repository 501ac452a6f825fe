"""An attempt that came to no run as its JSON document."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rig.inquiry.tried import Tried
from rig.model.attempts import Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedDocument:
    """What came of an attempt, or of the run that it came to.

    Attributes:
        simulated: Whether a simulated rig made it.
        run_id: Identity that the run has, or would have had.
        sensor: Name of the sensor.
        target: Name of the target.
        part: Serial or sample number; null if nobody gave it.
        operator: Name of whoever answers for it; null if nobody gave it.
        plan_id: The plan that it belongs to; null for none.
        started_at: When it was tried first, UTC.
        ended_at: When it ended, UTC; null if it was cut short or is still going on.
        outcome: How it ended.
        result: Outcome in a word or two, such as "not detected".
        sentence: What was seen; empty for figures.
        causes: Likely causes or what to do; empty for figures.
        decision: What the outcome alone decides about the part; null for nothing.
        has_run: Whether there is a run of that identity.
    """

    simulated: bool
    run_id: str
    sensor: str
    target: str
    part: str | None
    operator: str | None
    plan_id: str | None
    started_at: datetime
    ended_at: datetime | None
    outcome: Outcome
    result: str
    sentence: str
    causes: str
    decision: str | None
    has_run: bool


def tried_document(one: Tried) -> TriedDocument:
    """Return what came of an attempt as it is printed."""
    return TriedDocument(
        simulated=one.simulated,
        run_id=one.run_id,
        sensor=one.sensor.name,
        target=one.target.name,
        part=one.part or None,
        operator=one.operator or None,
        plan_id=one.plan_id or None,
        started_at=one.started_at,
        ended_at=one.ended_at,
        outcome=one.outcome,
        result=one.words,
        sentence=one.sentence,
        causes=one.causes,
        decision=None if one.decision is None else one.decision.value,
        has_run=one.run is not None,
    )
