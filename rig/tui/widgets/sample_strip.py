"""The parts of a sample as a row of signs: what each gave, and how many are to come."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from textual.content import Content

from rig.analysis.limits.verdict import Decision, counts_words
from rig.inquiry.lot import LotStanding
from rig.sheets.signs import VERDICT_SIGNS

_STYLES: Final = {
    Decision.CONFORMS: "$text-success",
    Decision.DOES_NOT_CONFORM: "bold $text-error",
    Decision.UNDECIDED: "$text-warning",
}
SIGNS: Final[Mapping[str, tuple[str, str]]] = {
    decision: (VERDICT_SIGNS[decision], style) for decision, style in _STYLES.items()
}
_TO_COME: Final = ("·", "$text-muted")


def sample_strip(standing: LotStanding, width: int) -> Content:
    """Return one line: signs if they fit, and in any case the counts in words."""
    tail = f"  {len(standing.parts)} of {standing.sample} parts"
    if standing.parts:
        found = (part.decision for part in standing.parts)
        tail += f": {counts_words(found, with_zeros=False)}"
    signs = [SIGNS[part.decision] for part in standing.parts]
    signs += [_TO_COME] * (standing.sample - len(signs))
    if len(signs) + len(tail) > width:
        return Content(tail.strip())
    return Content.assemble(*signs, tail)
