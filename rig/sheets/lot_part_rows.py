"""The parts of a lot's sample as rows of text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.inquiry.lot_verdict import REASON_MARK, RULE_MARK
from rig.records.lot_entries import LotPart
from rig.sheets.bench_words import utc
from rig.sheets.part_rows import value_words
from rig.sheets.signs import VERDICT_SIGNS

NO_VALUE = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPartRow:
    """One part of the sample; all text.

    Attributes:
        number: Place in the order of inspection, from 1.
        part: Number of the part.
        simulated: Whether it was simulated.
        value: Value that decided, rounded by its uncertainty; a dash without one.
        uncertainty: Expanded uncertainty with its sign; a dash without a value.
        text: Value and uncertainty with their unit, or that nothing was measured.
        decision: Decision in words.
        sign: Sign that goes before the decision.
        reasons: Why, one clause a figure, the gravest first.
        rule: Decision rule; empty where nothing was measured.
        run_id: Run behind it; empty if it was entered by hand.
        entered: When it was put on record.
        before: What earlier results of the part were, by their signs; empty without.
    """

    number: str
    part: str
    simulated: bool
    value: str
    uncertainty: str
    text: str
    decision: str
    sign: str
    reasons: tuple[str, ...]
    rule: str
    run_id: str
    entered: str
    before: str = ""

    @property
    def verdict(self) -> str:
        """Decision with its sign, and with what earlier results were."""
        before = f" ({self.before})" if self.before else ""
        return f"{self.sign} {self.decision}{before}"

    @property
    def reason(self) -> str:
        """All reasons in one line, without the rule."""
        return REASON_MARK.join(self.reasons)


def part_rows(
    parts: Sequence[LotPart], readings: Sequence[LotPart] = ()
) -> tuple[LotPartRow, ...]:
    """Lay out parts in the order inspected.

    Args:
        parts: Last reading of each part.
        readings: Every reading of every part, in order of entry.
    """
    return tuple(
        part_row(part, number, before=_before(part, readings))
        for number, part in enumerate(parts, start=1)
    )


def _before(part: LotPart, readings: Sequence[LotPart]) -> str:
    own = [one for one in readings if one.part == part.part]
    signs = " ".join(VERDICT_SIGNS[one.decision] for one in own[:-1])
    return f"{signs} before" if signs else ""


def part_row(part: LotPart, number: int, *, before: str = "") -> LotPartRow:
    """Lay out one part."""
    value, uncertainty, text = _value(part)
    reasons, _, rule = part.reason.partition(RULE_MARK)
    return LotPartRow(
        number=str(number),
        part=part.part,
        simulated=part.simulated,
        value=value,
        uncertainty=uncertainty,
        text=text,
        decision=part.decision,
        sign=VERDICT_SIGNS[part.decision],
        reasons=tuple(reasons.split(REASON_MARK)),
        rule=rule,
        run_id=part.run_id,
        entered=utc(part.entered_at),
        before=before,
    )


def _value(part: LotPart) -> tuple[str, str, str]:
    """Return value and uncertainty, and both together with their unit."""
    if part.value is None:
        return NO_VALUE, NO_VALUE, "not measured"
    shown, uncertainty = value_words(part.value, part.expanded_uncertainty, part.unit)
    if part.expanded_uncertainty is None:
        return shown, uncertainty, f"{shown} {part.unit}, no U"
    return shown, uncertainty, f"({shown} {uncertainty}) {part.unit}"
