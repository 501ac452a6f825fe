"""The operating characteristic of a sampling plan as rows and sentences."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.lot_curve import (
    AcceptableChance,
    AverageSample,
    CurveAsInspected,
    LotCurve,
    OutgoingQuality,
)
from rig.inquiry.lot_repeats import RepeatsRisk
from rig.model.rounding import format_decimals, format_significant
from rig.sheets.lot_plan_rows import LotPlanWords, plan_words, whole_sentence

_DIGITS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCurveRow:
    """One point of the curve; all text.

    Attributes:
        share: Nonconforming in the lot, %.
        acceptance: Probability of acceptance, %.
        as_inspected: Probability of acceptance as parts are really measured and judged,
            simulated, %.
        outgoing: Nonconforming that goes out on average, %; empty by variables.
    """

    share: str
    acceptance: str
    as_inspected: str
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
        average_sample: Sentence on the parts inspected on average; empty but for double
            sampling.
        as_inspected: Sentences on acceptance as parts are really measured and judged.
    """

    lot_id: str
    plan: LotPlanWords
    head: tuple[str, ...]
    rows: tuple[LotCurveRow, ...]
    model: str
    words: str
    outgoing: str
    average_sample: str
    as_inspected: tuple[str, ...]


def curve_sheet(curve: LotCurve) -> LotCurveSheet:
    """Put an operating characteristic into rows and sentences."""
    head: tuple[str, ...] = (
        "nonconforming, %",
        "accepted, %",
        "as inspected, %",
    )
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
        average_sample=_average_words(curve.average_sample),
        as_inspected=_as_inspected_words(curve.as_inspected),
    )


def _rows(curve: LotCurve) -> tuple[LotCurveRow, ...]:
    outgoing, points = curve.outgoing, curve.as_inspected.points
    return tuple(
        LotCurveRow(
            share=format_decimals(100.0 * float(curve.shares[k]), 2),
            acceptance=format_decimals(100.0 * float(curve.acceptance[k]), 2),
            as_inspected=format_decimals(100.0 * float(points.accepted[row]), 1),
            outgoing=(
                ""
                if outgoing is None
                else format_decimals(100.0 * float(outgoing.shares[k]), 3)
            ),
        )
        for row, k in enumerate(curve.as_inspected.rows)
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


def _average_words(found: AverageSample | None) -> str:
    if found is None:
        return ""
    return (
        f"On average {format_decimals(found.at_acceptable, 1)} parts are inspected of a"
        f" lot that is {_percent(found.acceptable_share)} nonconforming, and"
        f" {format_decimals(found.largest, 1)} at the most; by single sampling"
        f" {found.single}."
    )


def _as_inspected_words(found: CurveAsInspected) -> tuple[str, ...]:
    named, points, real = found.named, found.points, found.inspection.real
    quality, risky = (
        f"of lots that are {_percent(float(named.shares[k]))} nonconforming"
        f" {_whole(named.accepted[k])} are accepted, nominally"
        f" {_whole(found.nominal[k])}"
        for k in (0, 1)
    )
    open_words = " and ".join(_whole(named.left_open[k]) for k in (0, 1))
    error = float(max(points.counting_error.max(), named.counting_error.max()))
    said = [
        f"as inspected, by simulation: {quality}; {risky}",
        f"what is undecided counts against the lot, which is decisive for {open_words}"
        " of these lots",
        f"U is {real.relative_uncertainty:.3g} of the way from the mean of the process"
        f" to its limit at {_percent(found.inspection.acceptable_share)} nonconforming"
        f" ({found.inspection.uncertainty_source}); {real.common_share:.3g} of its"
        " variance is common to the parts of a lot"
        f" ({found.inspection.common_source}); normal parts, one limit;"
        f" {real.rule.name}",
        f"{points.lots} lots are drawn for each share, seed {points.seed}; the counting"
        f" error is {_percent_of(error)} at most (standard error)",
    ]
    if found.repeats is not None:
        said.insert(2, repeats_risk_words(found.repeats))
    return tuple(map(whole_sentence, said))


def chance_sentences(found: AcceptableChance) -> tuple[str, ...]:
    """Say how likely a good lot is accepted, and what repeats cost with a bad one."""
    inspection, risk = found.inspection, found.repeats
    said = [
        f"Accepted of lots {_percent(inspection.acceptable_share)} nonconforming:"
        f" {_whole(found.nominal)} nominally, {_whole(found.as_inspected)} as inspected"
        f" (simulated, U {inspection.real.relative_uncertainty:.3g} of the way to the"
        f" limit, {inspection.uncertainty_source})."
    ]
    if risk is not None:
        said.append(
            f"Of lots {_percent(risk.consumer_share)} nonconforming: 10 % nominally,"
            f" {_whole(risk.risk_once)} with each part measured once,"
            f" {_whole(risk.risk)} with up to {risk.failing_again} repeats of a part."
        )
    return tuple(said)


def repeats_risk_words(risk: RepeatsRisk) -> str:
    """Say what a bound on repeated measurements costs and gains."""
    bounds = " and ".join(
        f"{name} parts again, at most {_times(count)},"
        for name, count in (
            ("failing", risk.failing_again),
            ("undecided", risk.undecided_again),
        )
        if count
    )
    return (
        f"measuring {bounds} takes the risk of accepting a lot that is"
        f" {_percent(risk.consumer_share)} nonconforming from"
        f" {_whole(risk.risk_once)} to {_whole(risk.risk)} (nominally 10 %), and the"
        f" chance of one that is {_percent(risk.acceptable_share)} nonconforming from"
        f" {_whole(risk.acceptance_once)} to {_whole(risk.acceptance)}; counting error"
        f" {_percent_of(risk.counting_error)}"
    )


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _whole(share: float) -> str:
    return f"{format_decimals(100.0 * float(share), 1)} %"


def _percent_of(error: float) -> str:
    return f"{format_decimals(100.0 * error, 1)} %"
