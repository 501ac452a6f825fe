"""Where a lot stands: its terms, its parts, what they settle, the decision."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from rig.analysis.acceptance.attributes import PlanKind, Severity
from rig.analysis.acceptance.double_sampling import double_guidance
from rig.analysis.acceptance.sequential import Guidance, Outlook, bound_words, guidance
from rig.analysis.acceptance.switching_rules import (
    LARGEST_STEP,
    REDUCED_SCORE,
    SwitchingState,
    state_from_record,
)
from rig.analysis.limits.verdict import PART_DECISIONS, Decision
from rig.inquiry.lot_state import state_in_force
from rig.inquiry.lot_terms import (
    ATTRIBUTES,
    LotTerms,
    terms_of,
)
from rig.model.part_number import one_spelling
from rig.records import Store
from rig.records.lot_book import LotBook
from rig.records.lot_entries import (
    LotEntry,
    LotPart,
    Signature,
    StoredDecision,
    Withdrawal,
    newest_readings,
)

_DOES_NOT_CONFORM: Final = Decision.DOES_NOT_CONFORM.value


@dataclass(frozen=True, slots=True, kw_only=True)
class LotStanding:
    """Where the inspection of a lot stands.

    Attributes:
        lot: The lot as it was begun.
        terms: Terms that the lot is judged by.
        parts: Last reading of each part.
        guidance: What the parts settle; None by variables.
        decision: Decision about the lot; None as long as there is none.
        state: State of the switching rules now.
        readings: Every reading of every part, in order of entry.
        withdrawal: Who withdrew the lot, when and why; None if it stands.
        signatures: Signatures under the lot, in the order signed.
    """

    lot: LotEntry
    terms: LotTerms
    parts: tuple[LotPart, ...]
    guidance: Guidance | None
    decision: StoredDecision | None
    state: SwitchingState
    readings: tuple[LotPart, ...] = ()
    withdrawal: Withdrawal | None = None
    signatures: tuple[Signature, ...] = ()

    def readings_of(self, part: str) -> tuple[LotPart, ...]:
        """Return every reading of a part, in order of entry."""
        wanted = one_spelling(part)
        return tuple(one for one in self.readings if one.part == wanted)

    def may_repeat(self, part: str) -> bool:
        """Return whether the lot allows that a part is inspected once more."""
        bound = self.terms.repeats
        return bound is None or len(self.readings_of(part)) <= bound

    @property
    def closed(self) -> bool:
        """Whether the lot takes no further part: it is decided about or withdrawn."""
        return self.decision is not None or self.withdrawal is not None

    @property
    def turned(self) -> tuple[str, ...]:
        """Parts that did not conform at first and do not fail any more."""
        failed = {
            one.part for one in self.readings if one.decision == _DOES_NOT_CONFORM
        }
        return tuple(
            one.part
            for one in self.parts
            if one.part in failed and one.decision != _DOES_NOT_CONFORM
        )

    @property
    def sample(self) -> int:
        """Number of parts to inspect; grows where a second sample follows."""
        guide = self.guidance
        return self.terms.plan.sample if guide is None else guide.to_inspect

    @property
    def simulated(self) -> bool:
        """Whether a simulated part is behind it."""
        return any(part.simulated for part in self.parts)

    @property
    def near_reduced(self) -> bool:
        """Whether this lot may lead to reduced inspection, or out of it."""
        if self.terms.method != ATTRIBUTES:
            return False
        state = self.state
        score = state.score + LARGEST_STEP
        return state.severity is Severity.REDUCED or score >= REDUCED_SCORE

    @property
    def state_after(self) -> SwitchingState | None:
        """State of the switching rules that the decision led to; None without one."""
        decision = self.decision
        record = None if decision is None else decision.document.get("switching_state")
        return None if record is None else state_from_record(record)


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedLot:
    """A lot in the list of all lots.

    Attributes:
        lot_id: Identity of the lot.
        product: Product that the lot is of.
        supplier: Supplier of the lot; may be empty.
        size: Number of parts in the lot.
        begun_at: When it was begun, UTC.
        simulated: Whether a simulated part is behind it.
        sample: Number of parts to inspect.
        inspected: Number of parts inspected so far.
        decision: Decision about the lot; None as long as there is none.
        withdrawal: Who withdrew the lot, when and why; None if it stands.
    """

    lot_id: str
    product: str
    supplier: str
    size: int
    begun_at: datetime
    simulated: bool
    sample: int
    inspected: int
    decision: StoredDecision | None
    withdrawal: Withdrawal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LotsList:
    """Every lot on record.

    Attributes:
        lots: Lots, oldest first.
    """

    lots: tuple[ListedLot, ...]


def standing_of(book: LotBook, lot_id: str) -> LotStanding:
    """Return where a lot on record stands.

    Raises:
        RecordsError: It is not there.
    """
    lot, readings = book.lot(lot_id), book.readings(lot_id)
    parts = newest_readings(readings)
    terms = terms_of(lot.terms)
    state = state_in_force(book, lot.product, lot.supplier)
    return LotStanding(
        lot=lot,
        terms=terms,
        parts=tuple(parts),
        guidance=_guidance_of(
            terms, parts, readings, None if lot.resubmitted else state
        ),
        decision=book.decision(lot_id),
        state=state,
        readings=tuple(readings),
        withdrawal=book.withdrawal(lot_id),
        signatures=tuple(book.signatures(lot_id)),
    )


def every_standing(store: Store) -> tuple[LotStanding, ...]:
    """Return where every lot on record stands, oldest first.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as records:
        book = LotBook(records)
        return tuple(standing_of(book, lot.lot_id) for lot in book.all_lots())


def lots_list(standings: Iterable[LotStanding]) -> LotsList:
    """Return the JSON document of lots."""
    return LotsList(lots=tuple(map(_listed, standings)))


def _listed(standing: LotStanding) -> ListedLot:
    lot = standing.lot
    return ListedLot(
        lot_id=lot.lot_id,
        product=lot.product,
        supplier=lot.supplier,
        size=lot.size,
        begun_at=lot.begun_at,
        simulated=standing.simulated,
        sample=standing.sample,
        inspected=len(standing.parts),
        decision=standing.decision,
        withdrawal=standing.withdrawal,
    )


def counts_of(parts: Sequence[LotPart]) -> dict[str, int]:
    """Return how many parts have each decision."""
    found = Counter(part.decision for part in parts)
    return {decision.value: found[decision.value] for decision in PART_DECISIONS}


def decisions_of(parts: Sequence[LotPart]) -> tuple[Decision, ...]:
    """Return the decision about each part, in the order in which they were drawn."""
    return tuple(Decision(part.decision) for part in parts)


def _guidance_of(
    terms: LotTerms,
    parts: Sequence[LotPart],
    readings: Sequence[LotPart],
    state: SwitchingState | None,
) -> Guidance | None:
    """Return what the parts so far settle; None by variables."""
    if terms.method != ATTRIBUTES:
        return None
    plan, counts = terms.attribute_plan(), counts_of(parts)
    if plan.sampling is PlanKind.DOUBLE:
        found = double_guidance(plan, decisions_of(parts), state=state)
    else:
        found = guidance(
            plan,
            measured=len(parts),
            nonconforming=counts[Decision.DOES_NOT_CONFORM.value],
            undecided=counts[Decision.UNDECIDED.value],
            state=state,
        )
    spent = _spent(terms, parts, readings)
    if found.outlook is not Outlook.OPEN or found.remaining or not spent:
        return found
    words = (
        f"all {found.measured} parts measured,"
        f" {counts[Decision.UNDECIDED.value]} undecided:"
        f" {bound_words(found.may_still_fail)}; {spent} of the undecided may not be"
        " measured again: count what is undecided as nonconforming where that was"
        " agreed"
    )
    return replace(found, sentence=words)


def _spent(
    terms: LotTerms, parts: Sequence[LotPart], readings: Sequence[LotPart]
) -> int:
    """Return how many undecided parts were measured as often as the lot allows."""
    if terms.repeats is None:
        return 0
    times = Counter(one.part for one in readings)
    return sum(
        part.decision == Decision.UNDECIDED and times[part.part] > terms.repeats
        for part in parts
    )
