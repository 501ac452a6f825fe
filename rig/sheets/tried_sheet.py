"""Outcomes without figures in words, once for all surfaces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.limits.verdict import Decision
from rig.inquiry.tried import Tried, outcome_words
from rig.model.attempts import Attempt, Outcome
from rig.sheets.bench_words import NOT_RECORDED, utc

NO_VERDICT = "no verdict"
_CUT_SHORT = "no end is on record: it was cut short, or it is still going on"


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedSheet:
    """An attempt that came to no run.

    Attributes:
        run_id: Identity that its run would have had.
        name: Sensor, part and target.
        simulated: Whether a simulated rig made it.
        started: When it began.
        operator: Who answers for it, in words.
        outcome: How it ended, in a word or two.
        sentence: What was seen, as a whole sentence.
        causes: Likely causes or what to do; may be empty.
        decision: What the outcome decides about the part, in words.
    """

    run_id: str
    name: str
    simulated: bool
    started: str
    operator: str
    outcome: str
    sentence: str
    causes: str
    decision: str


def tried_sheet(one: Tried) -> TriedSheet:
    """Lay out an attempt that came to no run."""
    part = f" part {one.part}" if one.part else ""
    return TriedSheet(
        run_id=one.run_id,
        name=f"sensor {one.sensor.name}{part}, target {one.target.name}",
        simulated=one.simulated,
        started=utc(one.started_at),
        operator=one.operator or NOT_RECORDED,
        outcome=one.words,
        sentence=as_sentence(one.sentence),
        causes=one.causes,
        decision=verdict_word(one.decision),
    )


def verdict_word(decision: Decision | None) -> str:
    """Return a decision as it is read, none being no verdict."""
    return NO_VERDICT if decision is None else decision.value


def attempt_sentences(attempts: Sequence[Attempt]) -> tuple[str, ...]:
    """Return a sentence for each attempt; of those that went as they should why."""
    as_wanted = (Outcome.FIGURES, Outcome.ROUND_TAKEN)
    if all(one.end is not None and one.end.outcome in as_wanted for one in attempts):
        ends = [one.end.sentence for one in attempts if one.end is not None]
        return tuple(as_sentence(sentence) for sentence in ends if sentence)
    return tuple(
        f"Attempt {number}, {utc(one.started_at)}: {_end_words(one)}"
        for number, one in enumerate(attempts, start=1)
    )


def as_sentence(words: str) -> str:
    """Return words with a full stop; nothing stays nothing.

    They may begin with a name, so their first letter stays as it is.
    """
    return words if not words or words.endswith(".") else f"{words}."


def _end_words(one: Attempt) -> str:
    end = one.end
    if end is None:
        return f"{_CUT_SHORT}."
    words = outcome_words(end.outcome, one.sensor, one.target, one.product)
    causes = f" ({end.causes})" if end.causes else ""
    return f"{words}. {as_sentence(end.sentence)}{causes}".strip()
