"""The parts of a sample as a row of signs: what each gave, and how many are to come."""

from __future__ import annotations

from typing import Final

from textual.content import Content

from rig.analysis.limits.verdict import Decision
from rig.sheets.lot_sheet import LotHead
from rig.sheets.signs import VERDICT_SIGNS

_STYLES: Final = {
    VERDICT_SIGNS[Decision.CONFORMS]: "$text-success",
    VERDICT_SIGNS[Decision.DOES_NOT_CONFORM]: "bold $text-error",
    VERDICT_SIGNS[Decision.UNDECIDED]: "$text-warning",
}
_TO_COME: Final = ("·", "$text-muted")


def sample_strip(head: LotHead, width: int) -> Content:
    """Return one line: signs if they fit, and in any case the counts in words."""
    tail = f"  {head.progress}"
    if head.parts:
        tail += f": {head.counts_found}"
    signs = [(row.sign, _STYLES[row.sign]) for row in head.parts]
    signs += [_TO_COME] * head.to_come
    if len(signs) + len(tail) > width:
        return Content(tail.strip())
    return Content.assemble(*signs, tail)
