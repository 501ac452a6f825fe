"""A delivery inspected: begun, then part after part; all of it on record.

Knows the lot book and the rules; knows no screen and no command line. Whoever measures
a part does so elsewhere and brings the run.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from rig.analysis.acceptance.attributes import Severity
from rig.analysis.acceptance.sequential import Guidance, guidance
from rig.analysis.acceptance.switching_rules import SwitchingState, state_from_record
from rig.analysis.limits.verdict import Decision
from rig.errors import InputError, NoFigures
from rig.inquiry.lot_terms import (
    ATTRIBUTES,
    Judged,
    LotTerms,
    check_terms,
    judge_run,
    terms_of,
)
from rig.records import Reader, Store, make_run_id
from rig.records.lot_book import LotBook, LotEntry, LotPart, StoredDecision


@dataclass(frozen=True, slots=True, kw_only=True)
class LotOrder:
    """A delivery as it came, and how it is to be judged.

    Attributes:
        product: What it is of.
        size: Parts in it.
        aql_percent: Acceptance quality limit.
        supplier: Whom it comes from; may be empty.
        level: Inspection level, by attributes.
        method: "attributes" or "variables".
        sample: Parts to measure by variables; None by attributes.
        figure: Name of the figure that limits hold for.
        lower: Limit in the unit of the figure; None without one.
        upper: Likewise; with neither, parts are held against the standard.
        rule: Name of the decision rule.
        resubmitted: Whether it was inspected before.
        operator: Who answers for it; may be empty.
    """

    product: str
    size: int
    aql_percent: float
    supplier: str = ""
    level: str = "II"
    method: str = ATTRIBUTES
    sample: int | None = None
    figure: str = "operate"
    lower: float | None = None
    upper: float | None = None
    rule: str = "guarded"
    resubmitted: bool = False
    operator: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LotStanding:
    """Where the inspection of a lot stands.

    Attributes:
        lot: As it was begun.
        terms: What it is judged by.
        parts: The last reading of each part.
        guidance: What the parts settle; None by variables.
        decision: About the lot; None as long as there is none.
        state: Of the switching rules, now.
    """

    lot: LotEntry
    terms: LotTerms
    parts: tuple[LotPart, ...]
    guidance: Guidance | None
    decision: StoredDecision | None
    state: SwitchingState

    @property
    def sample(self) -> int:
        """Parts to inspect."""
        return sample_of(self.terms)

    @property
    def simulated(self) -> bool:
        """Whether a simulated part is behind it."""
        return any(part.simulated for part in self.parts)


def state_in_force(book: LotBook, product: str, supplier: str) -> SwitchingState:
    """Return the switching state of a product from a supplier."""
    record = book.switching_state(product, supplier)
    return SwitchingState() if record is None else state_from_record(record)


def terms_for(order: LotOrder, state: SwitchingState) -> LotTerms:
    """Return what a lot would be judged by; puts nothing on record.

    Raises:
        InputError: Inspection is discontinued, or it cannot be judged by what was said.
    """
    if not order.product.strip():
        raise InputError("the product is empty", hint="say what the lot is of")
    by_attributes = order.method == ATTRIBUTES
    if by_attributes and state.discontinued:
        raise InputError(
            f"inspection of {order.product} is discontinued: {state.reason}",
            hint="`gapsweep lot state --resume` once the supplier has acted",
        )
    severity = state.severity if by_attributes else Severity.NORMAL
    terms = LotTerms(
        method=order.method,
        size=order.size,
        level=order.level if by_attributes else "",
        severity=severity.value,
        aql_percent=order.aql_percent,
        sample=order.sample,
        figure=order.figure,
        lower=order.lower,
        upper=order.upper,
        rule=order.rule,
    )
    check_terms(terms)
    return terms


def begin_lot(book: LotBook, order: LotOrder, now: datetime) -> LotStanding:
    """Put a lot on record before its first part.

    Raises:
        RigError: It cannot be judged by what was said, or not be kept.
    """
    state = state_in_force(book, order.product, order.supplier)
    terms = terms_for(order, state)
    lot = LotEntry(
        lot_id=make_run_id(now, random.SystemRandom()),
        product=order.product,
        supplier=order.supplier,
        size=order.size,
        terms=asdict(terms),
        resubmitted=order.resubmitted,
        operator=order.operator,
        begun_at=now,
    )
    book.begin(lot)
    return standing_of(book, lot.lot_id)


def standing_of(book: LotBook, lot_id: str) -> LotStanding:
    """Return where a lot on record stands.

    Raises:
        RecordsError: It is not there.
    """
    lot, parts = book.lot(lot_id), book.parts(lot_id)
    terms = terms_of(lot.terms)
    return LotStanding(
        lot=lot,
        terms=terms,
        parts=tuple(parts),
        guidance=guidance_of(terms, parts),
        decision=book.decision(lot_id),
        state=state_in_force(book, lot.product, lot.supplier),
    )


def check_room(standing: LotStanding, part: str) -> None:
    """Refuse a part beyond the sample before anything is measured for it.

    Raises:
        InputError: The lot takes no such part.
    """
    lot_id = standing.lot.lot_id
    if not part.strip():
        raise InputError("the number of the part is empty")
    if standing.decision is not None:
        raise InputError(
            f"the lot {lot_id} is decided and takes no further part",
            hint="begin a new lot; a lot inspected again is --resubmitted",
        )
    known = {one.part for one in standing.parts}
    if part not in known and len(known) >= standing.sample:
        raise InputError(
            f"the sample of {standing.sample} parts is complete",
            hint=f"`gapsweep lot decide {lot_id}`; more parts would change the plan",
        )


def judge_recorded(
    store: Store, terms: LotTerms, part: str, run_id: str
) -> tuple[Judged, bool]:
    """Judge a part by a run on record; also say whether that run was simulated.

    Raises:
        InputError: The run is of another part, void, or has no figures.
        RecordsError: It is not there.
    """
    reader = Reader(store)
    run = reader.run(run_id)
    if run.header.part and run.header.part != part:
        raise InputError(f"run {run_id} is of part {run.header.part}, not of {part}")
    found = reader.latest_figures(run_id)
    if found is None:
        raise NoFigures(run_id)
    return judge_run(terms, run, found), run.header.conditions.simulated


def enter_part(
    book: LotBook,
    lot_id: str,
    part: str,
    judged: Judged,
    *,
    run_id: str,
    simulated: bool,
    now: datetime,
) -> LotPart:
    """Put a judged part on record; an earlier reading of the same part stays.

    Raises:
        RecordsError: It cannot be kept.
    """
    known = judged.figure
    entry = LotPart(
        part=part,
        decision=judged.decision.value,
        reason=judged.reason,
        value=known.value if known else None,
        expanded_uncertainty=known.expanded_uncertainty if known else None,
        unit=known.unit if known else "",
        run_id=run_id,
        simulated=simulated,
        entered_at=now,
    )
    book.add_part(lot_id, entry)
    return entry


def sample_of(terms: LotTerms) -> int:
    """Return how many parts the terms ask for."""
    if terms.method == ATTRIBUTES:
        return terms.attribute_plan().sample
    return terms.variables_plan().sample


def counts_of(parts: Sequence[LotPart]) -> dict[str, int]:
    """Return how many parts have each decision."""
    found = Counter(part.decision for part in parts)
    return {decision.value: found[decision.value] for decision in Decision}


def guidance_of(terms: LotTerms, parts: Sequence[LotPart]) -> Guidance | None:
    """Return what the parts so far settle; None by variables."""
    if terms.method != ATTRIBUTES:
        return None
    counts = counts_of(parts)
    return guidance(
        terms.attribute_plan(),
        measured=len(parts),
        nonconforming=counts[Decision.DOES_NOT_CONFORM.value],
        undecided=counts[Decision.UNDECIDED.value],
    )
