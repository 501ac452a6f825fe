"""What the inspector's place says of a lot, in a line or two each."""

from __future__ import annotations

from textual.content import Content

from rig.analysis.acceptance.sequential import Outlook
from rig.analysis.limits.verdict import counts_words
from rig.inquiry.lot import LotStanding
from rig.inquiry.lot_terms import ATTRIBUTES


def head_text(standing: LotStanding) -> Content:
    """Return what is inspected, and by which plan."""
    lot, terms = standing.lot, standing.terms
    supplier = f" from {lot.supplier}" if lot.supplier else ""
    parts: list[str | tuple[str, str]] = [
        (f"{lot.product}{supplier}", "bold"),
        f"  {lot.size} parts",
    ]
    if terms.method == ATTRIBUTES:
        plan = terms.attribute_plan()
        parts.append(
            f", AQL {plan.aql_percent:g} %, {plan.level}, {plan.severity.value}:"
            f" n {plan.sample}, Ac {plan.accept}, Re {plan.reject}"
        )
    else:
        s_plan = terms.variables_plan()
        parts.append(f": measure {s_plan.sample}, s method, k {s_plan.k:g}")
    return Content.assemble(*parts)


def outlook_text(standing: LotStanding) -> Content:
    """Return what may still become of the lot."""
    found = standing.guidance
    if standing.decision is not None:
        words = counts_words(part.decision for part in standing.parts)
        return Content(f"{len(standing.parts)} parts: {words}.")
    if found is None:
        return Content("By variables nothing is certain before the last part.")
    sign, style = _OUTLOOKS[found.outlook]
    return Content.assemble((f"{sign} {found.sentence[:1].upper()}", style)) + Content(
        f"{found.sentence[1:]}."
    )


_OUTLOOKS = {
    Outlook.OPEN: ("▸", ""),
    Outlook.WILL_BE_ACCEPTED: ("■", "bold $text-success"),
    Outlook.WILL_NOT_BE_ACCEPTED: ("■", "bold $text-error"),
}
