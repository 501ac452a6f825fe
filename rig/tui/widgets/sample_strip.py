"""The parts of a sample as a row of signs: what each gave, and how many are to come."""

from __future__ import annotations

from typing import Final

from textual.content import Content

from rig.analysis.verdict import Decision
from rig.procedures.lots import LotStanding, counts_of

SIGNS: Final = {
    Decision.CONFORMS.value: ("✓", "$text-success"),
    Decision.DOES_NOT_CONFORM.value: ("✗", "bold $text-error"),
    Decision.UNDECIDED.value: ("?", "$text-warning"),
}
_TO_COME: Final = ("·", "$text-muted")


def sample_strip(standing: LotStanding, width: int) -> Content:
    """Return one line: signs if they fit, and in any case the counts in words."""
    counts = counts_of(standing.parts)
    found = ", ".join(f"{count} {word}" for word, count in counts.items() if count)
    words = f"{len(standing.parts)} of {standing.sample} parts"
    tail = f"  {words}{': ' if found else ''}{found}"
    signs = [SIGNS[part.decision] for part in standing.parts]
    signs += [_TO_COME] * (standing.sample - len(signs))
    if len(signs) + len(tail) > width:
        return Content(tail.strip())
    return Content.assemble(*signs, tail)
