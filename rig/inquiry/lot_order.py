"""A lot begun: its terms settled under the switching rules, and both on record."""

from __future__ import annotations

import math
import random
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Final

from rig.analysis.acceptance.attributes import PlanKind, aqls_percent, levels
from rig.analysis.acceptance.switching_rules import (
    SwitchingState,
    severity_by_variables,
)
from rig.analysis.acceptance.zero_plan import verification_levels
from rig.analysis.standard.run_against_standard import LIMITED, limits_of_figure
from rig.errors import InputError
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.lot_state import state_in_force
from rig.inquiry.lot_terms import ATTRIBUTES, LotTerms, check_terms
from rig.inquiry.operators import answering_operator
from rig.inquiry.products import product_in_force
from rig.model.figure_kinds import figure_name
from rig.model.product import ProductVersion
from rig.records import Store, make_run_id
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotEntry
from rig.records.product_book import ProductBook

_USUAL_LEVEL: Final = "II"
_USUAL_FIGURE: Final = "operate"
# By field of an order and of a product's sampling
_SAMPLING_WORDS: Final = {
    "sampling": "the sampling",
    "method": "the method",
    "aql_percent": "an AQL (%) of",
    "level": "the level",
    "sample": "a sample of",
    "figure": "the figure",
}

# The oftener a part on its limit is measured, the likelier one result conforms
USUAL_REPEATS: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class LotOrder:
    """A lot as it came, and the terms that it is to be judged by.

    Attributes:
        product: Product that the lot is of: one on record, if any are.
        size: Number of parts in the lot.
        aql_percent: Acceptance quality limit; None for the product's.
        supplier: Supplier of the lot; may be empty.
        level: Inspection level; by variables it counts where no sample is said. None
            for the product's, II without one. Of zero acceptance the verification
            level, which has to be said.
        method: "attributes" or "variables"; None for the product's, attributes without
            one.
        sample: Number of parts to measure by variables; None for the product's, or
            where the table gives it.
        figure: Name of the figure that limits hold for; None for the product's, the
            operate point without one.
        lower: Limit in the unit of the figure; None without one.
        upper: Limit in the unit of the figure; with neither limit, parts are held
            against the standard.
        rule: Name of the decision rule.
        resubmitted: Whether the lot was inspected before.
        operator: Name of whoever answers for the inspection; may be empty.
        repeats: How often a part may be inspected again, at most.
        sampling: "single", "double" or "zero", by attributes; None for the product's,
            single without one.
    """

    product: str
    size: int
    aql_percent: float | None = None
    supplier: str = ""
    level: str | None = None
    method: str | None = None
    sample: int | None = None
    figure: str | None = None
    lower: float | None = None
    upper: float | None = None
    rule: str = "guarded"
    resubmitted: bool = False
    operator: str = ""
    repeats: int = USUAL_REPEATS
    sampling: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanChoices:
    """What the tables of attribute plans have to choose from.

    Attributes:
        samplings: How samples are taken: single, double, zero acceptance.
        levels: Inspection levels, S-1 to S-4 and I to III.
        verification_levels: Verification levels of zero acceptance, I to VII.
        aqls_percent: Acceptance quality limits, rising.
    """

    samplings: tuple[str, ...]
    levels: tuple[str, ...]
    verification_levels: tuple[str, ...]
    aqls_percent: tuple[float, ...]


def plan_choices() -> PlanChoices:
    """Return what the tables of attribute plans have to choose from."""
    return PlanChoices(
        samplings=tuple(one.value for one in PlanKind),
        levels=levels(),
        verification_levels=verification_levels(),
        aqls_percent=aqls_percent(),
    )


def terms_to_come(store: Store, order: LotOrder) -> tuple[LotTerms, SwitchingState]:
    """Return what a lot would be judged by, and the state that the switching is in.

    Puts nothing on record. Where products are on record, the lot is of one of them: its
    newest approved version gives limits and sampling.

    Raises:
        InputError: Inspection is discontinued, the product is not on record or not
            approved, what was said is not what it says, or no lot can be judged so.
        RecordsError: The records cannot be read.
    """
    if not order.product.strip():
        raise InputError("the product is empty", hint="say what the lot is of")
    product = _product_on_record(store, order.product)
    if product is not None:
        order = _as_specified(order, product)
    sampling = order.sampling or PlanKind.SINGLE.value
    zero = sampling == PlanKind.ZERO.value
    if zero and order.level is None:
        raise InputError(
            "zero acceptance needs a verification level",
            hint=f"say --level, one of {', '.join(verification_levels())}",
        )
    if order.aql_percent is None and not zero:
        raise InputError("the AQL is missing", hint="say --aql, such as 1.0")
    state = state_in_force(LotBook(store), order.product, order.supplier)
    method = order.method or ATTRIBUTES
    if state.discontinued:
        raise InputError(
            f"inspection of {order.product} is discontinued: {state.reason}",
            hint="`gapsweep lot state --resume` once the supplier has acted",
        )
    by_attributes = method == ATTRIBUTES
    severity = state.severity if by_attributes else severity_by_variables(state)
    terms = LotTerms(
        method=method,
        size=order.size,
        level=(order.level or _USUAL_LEVEL) if order.sample is None else "",
        severity=severity.value,
        aql_percent=order.aql_percent,
        sample=order.sample,
        figure=order.figure or _USUAL_FIGURE,
        lower=order.lower,
        upper=order.upper,
        rule=order.rule,
        product=product,
        repeats=order.repeats,
        sampling=sampling,
    )
    check_terms(terms)
    return terms, state


def begin_lot(store: Store, order: LotOrder, now: datetime) -> LotStanding:
    """Put a lot on record before its first part.

    Raises:
        RigError: It cannot be judged by what was said, or not be kept.
    """
    terms, _ = terms_to_come(store, order)
    book = LotBook(store)
    lot = LotEntry(
        lot_id=make_run_id(now, random.SystemRandom()),
        product=order.product if terms.product is None else terms.product.name,
        supplier=order.supplier,
        size=order.size,
        terms=asdict(terms),
        resubmitted=order.resubmitted,
        operator=answering_operator(store, order.operator),
        begun_at=now,
    )
    book.begin(lot)
    return standing_of(book, lot.lot_id)


def _product_on_record(store: Store, name: str) -> ProductVersion | None:
    """Return the product of that name; None as long as no product is on record."""
    book = ProductBook(store)
    return product_in_force(book, name) if book.versions() else None


def _as_specified(order: LotOrder, product: ProductVersion) -> LotOrder:
    """Return the order with what the product says of limits and sampling.

    Raises:
        InputError: The order says otherwise, or nothing limits the figure.
    """
    if order.lower is not None or order.upper is not None:
        raise InputError(
            f"{product.title} has its limits, so the lot has none of its own",
            hint="leave the limits out, or enter them as a new version of the product",
        )
    order = replace(order, product=product.name)
    found = product.specification.sampling
    if found is not None:
        said = {name: getattr(order, name) for name in _SAMPLING_WORDS}
        wanted = {**asdict(found), "sampling": found.plan_kind}
        for name, words in _SAMPLING_WORDS.items():
            right = wanted[name] or None
            if said[name] is not None and said[name] != right:
                raise InputError(
                    f"{product.title} is sampled with {words}"
                    f" {'none' if right is None else right}, not {said[name]}",
                    hint="leave it out, or enter a new version of the product",
                )
            said[name] = right
        order = replace(order, **said)
    if (order.method or ATTRIBUTES) == ATTRIBUTES:
        return order
    figure = order.figure or _USUAL_FIGURE
    if figure not in LIMITED:
        raise InputError(
            f"{product.title} has no limits for the {figure_name(figure)}",
            hint=f"by variables a lot is judged by one of: {', '.join(LIMITED)}",
        )
    limits = limits_of_figure(figure, product.specification.sensor)
    lower, upper = (
        None if math.isinf(end) else end for end in (limits.lower, limits.upper)
    )
    return replace(order, lower=lower, upper=upper)
