"""How severe the next inspection of a product from a supplier is, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rig.analysis.acceptance.attributes import Severity
from rig.analysis.acceptance.switching_rules import (
    SwitchingState,
    resume,
    state_from_record,
)
from rig.inquiry.operators import answering_operator
from rig.model.grounds import Grounds
from rig.records.lot_book import LotBook


@dataclass(frozen=True, slots=True, kw_only=True)
class LotState:
    """The switching state in force for the lots of one product from one supplier.

    Attributes:
        product: Product that the lots are of.
        supplier: Supplier of the lots; may be empty.
        state: State of the switching rules before the next lot.
    """

    product: str
    supplier: str
    state: SwitchingState


@dataclass(frozen=True, slots=True, kw_only=True)
class LotStateDocument:
    """The switching state in force as its JSON document.

    Attributes:
        product: Product that the lots are of.
        supplier: Supplier of the lots; may be empty.
        severity: Severity of the next inspection.
        recent: Whether each of the last lots was accepted, oldest first, at most 5,
            since the last switch.
        score: Switching score towards reduced inspection, 0 to 30.
        failed_on_tightened: Lots not accepted since tightened inspection began.
        discontinued: Whether inspection stops until the supplier has acted.
        lots: Number of lots counted so far.
        reason: Why the severity is what it is.
    """

    product: str
    supplier: str
    severity: Severity
    recent: tuple[bool, ...]
    score: int
    failed_on_tightened: int
    discontinued: bool
    lots: int
    reason: str


def state_in_force(book: LotBook, product: str, supplier: str) -> SwitchingState:
    """Return the switching state of a product from a supplier.

    Raises:
        RecordsError: The records cannot be read.
        InputError: The state on record is not readable.
    """
    record = book.switching_state(product, supplier)
    return SwitchingState() if record is None else state_from_record(record)


def lot_state(book: LotBook, product: str, supplier: str) -> LotState:
    """Return how severe the next inspection is.

    Raises:
        RecordsError: The records cannot be read.
        InputError: The state on record is not readable.
    """
    state = state_in_force(book, product, supplier)
    return LotState(product=product, supplier=supplier, state=state)


def resume_inspection(
    book: LotBook,
    product: str,
    supplier: str,
    action: str,
    *,
    now: datetime,
    person: str = "",
) -> LotState:
    """Resume discontinued inspection and put the new state on record.

    Args:
        book: Lots on record.
        product: Product that the lots are of.
        supplier: Supplier of the lots; may be empty.
        action: What the supplier did.
        now: The time, UTC.
        person: Name of whoever resumes it; may be empty while nobody is named.

    Raises:
        InputError: Inspection is not discontinued, or no action is named, or nobody is
            chosen who answers for it.
        RecordsError: The state cannot be kept.
    """
    state = resume(state_in_force(book, product, supplier), action)
    answering = answering_operator(book.store, person)
    grounds = Grounds(person=answering, reason=action)
    book.add_state(product, supplier, state.as_record(), now, grounds=grounds)
    return LotState(product=product, supplier=supplier, state=state)


def lot_state_document(found: LotState) -> LotStateDocument:
    """Return the JSON document of a switching state."""
    state = found.state
    return LotStateDocument(
        product=found.product,
        supplier=found.supplier,
        severity=state.severity,
        recent=state.recent,
        score=state.score,
        failed_on_tightened=state.failed_on_tightened,
        discontinued=state.discontinued,
        lots=state.lots,
        reason=state.reason,
    )
