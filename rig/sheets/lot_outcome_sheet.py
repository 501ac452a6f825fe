"""What became of a lot, and what follows for the next one, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from rig.analysis.acceptance.switching_rules import SwitchingState
from rig.inquiry.lot import LotStanding
from rig.inquiry.lot_decision import LotDecided
from rig.records.lot_entries import Signature, Withdrawal
from rig.sheets.bench_words import utc
from rig.sheets.lot_plan_rows import whole_sentence
from rig.sheets.lot_state_sheet import next_lot_words
from rig.sheets.signs import VERDICT_SIGNS


@dataclass(frozen=True, slots=True, kw_only=True)
class LotOutcome:
    """What became of a lot.

    Attributes:
        word: Decision in one word or two.
        sign: Sign that goes before the word.
        kind: Kind of the outcome: accepted, refused, withdrawn or open.
        sentence: Why.
        decided: When it was decided, as a sentence; empty as long as it is not.
        after: What follows for the next lot; empty if nothing does.
    """

    word: str
    sign: str
    kind: str
    sentence: str
    decided: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotDecisionSheet:
    """What was decided about a lot just now.

    Attributes:
        simulated: Whether a simulated part is behind it.
        outcome: Decision, and what follows for the next lot.
        statements: Sentences that go with the decision.
    """

    simulated: bool
    outcome: LotOutcome
    statements: tuple[str, ...]


def outcome_of_lot(standing: LotStanding) -> LotOutcome:
    """Say what became of a lot on record, or what its parts settle so far."""
    if standing.withdrawal is not None:
        return _withdrawn(standing.withdrawal)
    decision = standing.decision
    if decision is not None:
        return _decided(
            decision.accepted,
            decision.sentence,
            decision.decided_at,
            standing.state_after,
        )
    guide = standing.guidance
    open_words = "by variables nothing is certain before the last part"
    if len(standing.parts) >= standing.sample:
        open_words = "the sample is complete and the lot not decided about"
    return LotOutcome(
        word="not decided",
        sign=VERDICT_SIGNS["undecided"],
        kind="open",
        sentence=whole_sentence(guide.sentence if guide else open_words),
        decided="",
        after="",
    )


def turned_words(parts: Sequence[str]) -> str:
    """Say which parts did not conform at first; empty for none."""
    if not parts:
        return ""
    noun = "part" if len(parts) == 1 else "parts"
    return (
        f"{noun.capitalize()} {', '.join(parts)} did not conform at first and"
        f" {'was' if len(parts) == 1 else 'were'} inspected again."
    )


def signature_words(signatures: Sequence[Signature]) -> tuple[str, ...]:
    """Say who signed a lot, when, in what meaning and where it stands in the trail."""
    return tuple(
        f"Signed by {one.person}, {utc(one.at)}, as {one.meaning}: {one.statement}"
        f" (entry {one.entry} of the trail, hash {one.hash})."
        for one in signatures
    )


def _withdrawn(found: Withdrawal) -> LotOutcome:
    by = f" by {found.person}" if found.person else ""
    under = f", authorised by {found.authority}" if found.authority else ""
    return LotOutcome(
        word="withdrawn",
        sign=VERDICT_SIGNS["not tested"],
        kind="withdrawn",
        sentence=whole_sentence(found.reason),
        decided=f"Withdrawn {utc(found.at)}{by}{under}.",
        after="Nothing is decided about this lot, and it counts in no switching rules.",
    )


def decision_sheet(found: LotDecided) -> LotDecisionSheet:
    """Say what was decided about a lot just now."""
    return LotDecisionSheet(
        simulated=found.simulated,
        outcome=_decided(
            found.accepted, found.sentence, found.decided_at, found.switching_state
        ),
        statements=(
            *map(whole_sentence, found.statements),
            *([turned_words(found.turned)] if found.turned else []),
        ),
    )


def _decided(
    accepted: bool, sentence: str, at: datetime, after: SwitchingState | None
) -> LotOutcome:
    return LotOutcome(
        word="accepted" if accepted else "not accepted",
        sign=VERDICT_SIGNS["conforms" if accepted else "does not conform"],
        kind="accepted" if accepted else "refused",
        sentence=whole_sentence(sentence),
        decided=f"Decided {utc(at)}.",
        after=next_lot_words(after),
    )
