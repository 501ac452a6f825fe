"""What the inspector's screens say of a lot, in a line or two each."""

from __future__ import annotations

from textual.content import Content

from rig.analysis.acceptance.sequential import Outlook
from rig.inquiry.lot_order import LotOrder
from rig.model.product import ProductVersion
from rig.sheets.bench_words import product_words
from rig.sheets.lot_outcome_sheet import LotDecisionSheet
from rig.sheets.lot_plan_rows import LotPlanWords
from rig.sheets.lot_sheet import LotHead
from rig.tui.state.local_time import with_local_times

_OUTLOOKS = {
    Outlook.OPEN: ("▸", ""),
    Outlook.WILL_BE_ACCEPTED: ("■", "bold $text-success"),
    Outlook.WILL_NOT_BE_ACCEPTED: ("■", "bold $text-error"),
}


def head_line(head: LotHead) -> Content:
    """Return what is inspected, and by which plan."""
    return Content.assemble((head.name, "bold"), f"  {head.size}, {head.plan.short}")


def outlook_line(head: LotHead) -> Content:
    """Return what may still become of the lot."""
    if head.outcome.decided:
        return Content(f"{head.progress}: {head.counts}. {head.turned}".rstrip())
    words = head.outcome.sentence
    if head.outlook is None:
        return Content(words)
    sign, style = _OUTLOOKS[head.outlook]
    return Content.assemble((f"{sign} {words[:1]}", style), words[1:])


def decision_lines(sheet: LotDecisionSheet) -> Content:
    """Return what goes on record of a decision, word for word."""
    outcome = sheet.outcome
    lines = [
        Content.assemble((f"{outcome.sign} {outcome.word}", "bold"), ""),
        *(Content(words) for words in (outcome.sentence, outcome.after) if words),
        *(Content(words) for words in sheet.statements),
    ]
    return Content("\n").join(lines)


def plan_lines(plan: LotPlanWords, switching: str) -> Content:
    """Return the sampling plan of a lot that is to come."""
    return Content.assemble(
        ("▸ ", "bold $primary"),
        (plan.order, "bold"),
        f"\n{plan.plan}\n",
        (f"Switching rules: {switching}", "$text-muted"),
        *(f"\n{words}" for words in plan.statements),
    )


def listed_line(head: LotHead) -> Content:
    """Return a lot in the list of those on record."""
    outcome = head.outcome
    sign, state = outcome.sign, outcome.word
    if not outcome.decided:
        sign, state = "◌", f"{head.progress} inspected"
    mark = " SIMULATED" if head.simulated else ""
    return Content.assemble(
        (f"{sign} {state}", "bold"),
        f"  {head.name}\n",
        (f"  {head.size}, begun {with_local_times(head.begun)}{mark}", "$text-muted"),
    )


def order_text(order: LotOrder, product: ProductVersion | None) -> Content:
    """Return all that will be on record of a lot, beside its sampling plan.

    Args:
        order: The lot as it is typed.
        product: Product on record that it is of; None for a name alone.
    """
    limits = [
        f"{name} limit {limit_mm:g} mm"
        for name, limit_mm in (("lower", order.lower), ("upper", order.upper))
        if limit_mm is not None
    ]
    usual = "those of the standard" if product is None else "those of the product"
    lines = [
        f"{order.size} parts of {order.product}.",
        f"Specification: {product_words(product)}.",
        f"Supplier {order.supplier or 'not named'}.",
        f"Inspector {order.operator or 'not named'}.",
        f"Limits: {', '.join(limits) or usual}.",
    ]
    return Content("\n".join(lines))
