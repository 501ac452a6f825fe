"""A lot begun: its terms settled under the switching rules, and both on record."""

from __future__ import annotations

import random
from dataclasses import asdict, dataclass
from datetime import datetime

from rig.analysis.acceptance.attributes import aqls_percent, levels
from rig.analysis.acceptance.switching_rules import (
    SwitchingState,
    severity_by_variables,
)
from rig.errors import InputError
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.lot_state import state_in_force
from rig.inquiry.lot_terms import ATTRIBUTES, LotTerms, check_terms
from rig.inquiry.operators import answering_operator
from rig.records import make_run_id
from rig.records.lot_book import LotBook, LotEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class LotOrder:
    """A lot as it came, and the terms that it is to be judged by.

    Attributes:
        product: Product that the lot is of.
        size: Number of parts in the lot.
        aql_percent: Acceptance quality limit.
        supplier: Supplier of the lot; may be empty.
        level: Inspection level; by variables it counts where no sample is said.
        method: "attributes" or "variables".
        sample: Number of parts to measure by variables; None where the table gives it.
        figure: Name of the figure that limits hold for.
        lower: Limit in the unit of the figure; None without one.
        upper: Limit in the unit of the figure; with neither limit, parts are held
            against the standard.
        rule: Name of the decision rule.
        resubmitted: Whether the lot was inspected before.
        operator: Name of whoever answers for the inspection; may be empty.
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
class PlanChoices:
    """What the tables of attribute plans have to choose from.

    Attributes:
        levels: Inspection levels, S-1 to S-4 and I to III.
        aqls_percent: Acceptance quality limits, rising.
    """

    levels: tuple[str, ...]
    aqls_percent: tuple[float, ...]


def plan_choices() -> PlanChoices:
    """Return what the tables of attribute plans have to choose from."""
    return PlanChoices(levels=levels(), aqls_percent=aqls_percent())


def terms_for(order: LotOrder, state: SwitchingState) -> LotTerms:
    """Return what a lot would be judged by; puts nothing on record.

    Raises:
        InputError: Inspection is discontinued, or it cannot be judged by what was said.
    """
    if not order.product.strip():
        raise InputError("the product is empty", hint="say what the lot is of")
    by_attributes = order.method == ATTRIBUTES
    if state.discontinued:
        raise InputError(
            f"inspection of {order.product} is discontinued: {state.reason}",
            hint="`gapsweep lot state --resume` once the supplier has acted",
        )
    severity = state.severity if by_attributes else severity_by_variables(state)
    terms = LotTerms(
        method=order.method,
        size=order.size,
        level=order.level if order.sample is None else "",
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
        operator=answering_operator(book.store, order.operator),
        begun_at=now,
    )
    book.begin(lot)
    return standing_of(book, lot.lot_id)
