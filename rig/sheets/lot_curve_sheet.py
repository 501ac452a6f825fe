"""The operating characteristic of a sampling plan as rows and sentences."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.lot_curve import LotCurve, OutgoingQuality
from rig.model.rounding import format_decimals, format_significant
from rig.sheets.lot_plan_rows import LotPlanWords, plan_words

_ROWS = 11
_DIGITS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCurveRow:
    """One point of the curve; all text.

    Attributes:
        share: Nonconforming in the lot, %.
        acceptance: Probability of acceptance, %.
        outgoing: Nonconforming that goes out on average, %; empty by variables.
    """

    share: str
    acceptance: str
    outgoing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCurveSheet:
    """The operating characteristic of a plan.

    Attributes:
        lot_id: Identity of the lot whose plan it is; empty for a plan without a lot.
        plan: The sampling plan in words.
        head: Heads of the columns; the last one is missing by variables.
        rows: Points of the curve.
        model: Model of the curve.
        words: Sentence on the shares that are accepted with 95, 50 and 10 %.
        outgoing: Sentence on the average outgoing quality; empty by variables.
    """

    lot_id: str
    plan: LotPlanWords
    head: tuple[str, ...]
    rows: tuple[LotCurveRow, ...]
    model: str
    words: str
    outgoing: str


def curve_sheet(curve: LotCurve) -> LotCurveSheet:
    """Put an operating characteristic into rows and sentences."""
    head: tuple[str, ...] = ("nonconforming, %", "accepted, %")
    if curve.outgoing is not None:
        head += ("outgoing on average, %",)
    return LotCurveSheet(
        lot_id=curve.lot_id,
        plan=plan_words(curve.plan),
        head=head,
        rows=_rows(curve),
        model=curve.model,
        words=_words(curve),
        outgoing="" if curve.outgoing is None else _outgoing_words(curve.outgoing),
    )


def _rows(curve: LotCurve) -> tuple[LotCurveRow, ...]:
    step = max(1, (len(curve.shares) - 1) // (_ROWS - 1))
    outgoing = curve.outgoing
    return tuple(
        LotCurveRow(
            share=format_decimals(100.0 * float(curve.shares[k]), 2),
            acceptance=format_decimals(100.0 * float(curve.acceptance[k]), 2),
            outgoing=(
                ""
                if outgoing is None
                else format_decimals(100.0 * float(outgoing.shares[k]), 3)
            ),
        )
        for k in range(0, len(curve.shares), step)
    )


def _words(curve: LotCurve) -> str:
    first, *others = (
        (_percent(curve.producer_share), "95 %"),
        (_percent(curve.indifference_share), "50 %"),
        (_percent(curve.consumer_share), "10 %"),
    )
    rest = ", ".join(f"{share} with {chance}" for share, chance in others)
    of_process = (
        ""
        if curve.named_model == curve.model
        else f"; these shares are those of the process behind it, {curve.named_model}"
    )
    return (
        f"The plan accepts a lot that is {first[0]} nonconforming with a probability of"
        f" {first[1]}, {rest}. Model of the curve: {curve.model}{of_process}."
    )


def _outgoing_words(found: OutgoingQuality) -> str:
    if found.limit_share == 0.0:
        return "The whole lot is inspected, so no nonconforming part goes out."
    return (
        "If lots that are not accepted are sorted and every nonconforming part found is"
        f" replaced, at most {_percent(found.limit_share)} nonconforming go out on"
        f" average (AOQL), at {_percent(found.at_share)} incoming."
    )


def _percent(share: float) -> str:
    return f"{format_significant(100.0 * share, _DIGITS)} %"
