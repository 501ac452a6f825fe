"""A delivery as the text that a page shows of it; decides words, not looks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from rig.analysis.acceptance.attributes import AttributePlan
from rig.analysis.acceptance.operating_curve import OperatingCurve
from rig.analysis.acceptance.variables import VariablesPlan
from rig.analysis.batch.batch_summary import BatchSummary
from rig.analysis.limits.verdict import Limits, counts_words
from rig.inquiry.runs_behind import RunBehind
from rig.model.figure_kinds import figure_name
from rig.model.rounding import format_significant
from rig.records.lot_book import LotEntry, LotPart, StoredDecision
from rig.report.curve_plot import curve_plot, curve_words
from rig.report.part_points import PartPoint, normal_drawing, parts_plot
from rig.sheets.bench_words import NOT_RECORDED, Pairs, utc
from rig.sheets.interval_rows import IntervalRow
from rig.sheets.part_rows import value_words
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.summary_rows import normality_words, summary_rows
from rig.sheets.verdict_rows import limits_words

_DIGITS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class LotMatter:
    """All that the report of a delivery is made from.

    Attributes:
        lot: As it was begun.
        plan: What its sample is taken by.
        curve: Operating characteristic of that plan.
        figure: Which figure of each part limits hold for.
        limits: Of that figure; None where only the eye judged.
        rule: Decision rule for each part.
        readings: Every reading of every part, in order of entry.
        parts: The last reading of each part.
        summary: Of the parts that have a value; None below 2 of them.
        guidance: What the parts settle so far; empty by variables.
        decision: About the lot; None as long as there is none.
        runs: Behind the parts.
    """

    lot: LotEntry
    plan: AttributePlan | VariablesPlan
    curve: OperatingCurve
    figure: str
    limits: Limits | None
    rule: str
    readings: tuple[LotPart, ...]
    parts: tuple[LotPart, ...]
    summary: BatchSummary | None
    guidance: str
    decision: StoredDecision | None
    runs: tuple[RunBehind, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of the delivery.

    Attributes:
        word: In large.
        sign: Before the word.
        kind: accepted, refused or open.
        sentence: Why.
        after: What follows for the next lot; empty if nothing does.
    """

    word: str
    sign: str
    kind: str
    sentence: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLine:
    """One part in the table; all text."""

    number: str
    part: str
    simulated: bool
    value: str
    uncertainty: str
    decision: str
    sign: str
    reason: str
    run_id: str
    entered: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotView:
    """All that the page shows of a delivery.

    Attributes:
        name: Product and supplier.
        lead: What it is, in one sentence.
        simulated: How many parts a simulated rig made.
        outcome: What became of it.
        job: Delivery and sampling plan.
        terms: Limits with their source, and the rule.
        counts: How many parts have each decision.
        statements: Sentences that go with the plan and the parts.
        unit: Of the figure.
        figures: Of the parts that have a value; empty without.
        parts_drawing: Parts against limits; None without values.
        normal: Normal plot with its words; None without.
        curve: Operating characteristic, with its words.
        lines: Every part.
        earlier: Readings that a later one of the same part replaced, in words.
        runs: Behind the parts; None where there are none.
    """

    name: str
    lead: str
    simulated: int
    outcome: Outcome
    job: Pairs
    terms: Pairs
    counts: str
    statements: tuple[str, ...]
    unit: str
    figures: tuple[IntervalRow, ...]
    parts_drawing: Markup | None
    normal: tuple[Markup, str] | None
    curve: tuple[Markup, str]
    lines: tuple[LotLine, ...]
    earlier: tuple[str, ...]
    runs: RunsBehindSheet | None


def view_lot(matter: LotMatter) -> LotView:
    """Put a delivery into words."""
    lot, plan = matter.lot, matter.plan
    supplier = f" from {lot.supplier}" if lot.supplier else ""
    behind = runs_behind_sheet(matter.runs) if matter.runs else None
    aql = plan.aql_percent
    return LotView(
        name=f"{lot.product}{supplier}",
        lead=f"A delivery of {lot.size} parts; {len(matter.parts)} of a sample of"
        f" {plan.sample} inspected.",
        simulated=sum(part.simulated for part in matter.parts),
        outcome=_outcome(matter),
        job=_job(matter),
        terms=_terms(matter),
        counts=counts_words(part.decision for part in matter.parts),
        statements=_statements(matter, behind),
        unit=next((part.unit for part in matter.parts if part.unit), ""),
        figures=_decision_rows(matter),
        parts_drawing=_parts_drawing(matter),
        normal=_normal(matter),
        curve=(
            curve_plot(matter.curve, aql_percent=aql, plot_id="lot-curve"),
            curve_words(matter.curve),
        ),
        lines=tuple(_line(part, k) for k, part in enumerate(matter.parts, start=1)),
        earlier=_earlier(matter.readings, matter.parts),
        runs=behind,
    )


def _outcome(matter: LotMatter) -> Outcome:
    decision = matter.decision
    if decision is None:
        sentence = matter.guidance or "The sample is not complete or not decided about."
        return Outcome(
            word="not decided",
            sign=VERDICT_SIGNS["undecided"],
            kind="open",
            sentence=_whole(sentence),
            after="",
        )
    return Outcome(
        word="accepted" if decision.accepted else "not accepted",
        sign=VERDICT_SIGNS["conforms" if decision.accepted else "does not conform"],
        kind="accepted" if decision.accepted else "refused",
        sentence=f"{_whole(decision.sentence)} Decided {utc(decision.decided_at)}.",
        after=_after(decision.document.get("switching_state")),
    )


def _after(state: Mapping[str, Any] | None) -> str:
    if state is None:
        return ""
    if state.get("discontinued"):
        return (
            "Inspection is discontinued until the supplier has acted:"
            f" {state['reason']}."
        )
    return f"Next lot: {state['severity']} inspection ({state['reason']})."


def _job(matter: LotMatter) -> Pairs:
    lot, plan = matter.lot, matter.plan
    common = (
        ("Delivery", lot.lot_id),
        ("Product", lot.product),
        ("Supplier", lot.supplier or NOT_RECORDED),
        ("Parts in it", str(lot.size)),
        ("Inspected before", "yes, resubmitted" if lot.resubmitted else "no"),
        ("Inspector", lot.operator or NOT_RECORDED),
        ("Begun", utc(lot.begun_at)),
    )
    if isinstance(plan, AttributePlan):
        own: Pairs = (
            ("Method", "by attributes: nonconforming parts are counted"),
            (
                "Sampling plan",
                f"letter {plan.letter}, level {plan.level}, {plan.severity.value}"
                f" inspection, AQL {plan.aql_percent:g} %",
            ),
            ("Sample", f"{plan.sample} parts: Ac {plan.accept}, Re {plan.reject}"),
        )
    else:
        aql = "" if plan.aql_percent is None else f", AQL {plan.aql_percent:g} %"
        own = (
            ("Method", "by variables: mean and spread of a figure (s method)"),
            ("Sampling plan", f"k = {plan.k:g}{aql}"),
            ("Sample", f"{plan.sample} parts"),
        )
    return (*common, *own, ("Source of the plan", plan.source))


def _terms(matter: LotMatter) -> Pairs:
    figure = figure_name(matter.figure)
    if matter.limits is None:
        limits: Pairs = (("Limits", "those of the standard or the data sheet"),)
    else:
        limits = (
            ("Limits", f"{figure}: {limits_words(matter.limits)}"),
            ("Source of the limits", matter.limits.source),
        )
    return (*limits, ("Decision rule for a part", matter.rule))


def _statements(matter: LotMatter, behind: RunsBehindSheet | None) -> tuple[str, ...]:
    plan = matter.plan
    if isinstance(plan, AttributePlan):
        said = list(plan.statements)
    else:
        said = ["the decision holds for normal lots only: see the normal plot"]
    looked_at = sum(part.value is None for part in matter.parts)
    if looked_at:
        said.append(
            f"{looked_at} of {len(matter.parts)} parts were looked at, not measured,"
            " and stand in no figure and no plot"
        )
    document = {} if matter.decision is None else matter.decision.document
    if document.get("undecided_counted_as_nonconforming"):
        said.append("undecided parts count as nonconforming, as was agreed")
    if matter.summary is not None:
        said += matter.summary.statements
    runs = behind.altered + behind.warnings if behind else ()
    return (*(_whole(words) for words in said), *runs)


def _decision_rows(matter: LotMatter) -> tuple[IntervalRow, ...]:
    return () if matter.summary is None else summary_rows(matter.summary)


def _parts_drawing(matter: LotMatter) -> Markup | None:
    points = [
        PartPoint(
            number=number,
            value=part.value,
            expanded_uncertainty=part.expanded_uncertainty,
            decision=part.decision,
        )
        for number, part in enumerate(matter.parts, start=1)
        if part.value is not None
    ]
    if not points:
        return None
    return parts_plot(
        points,
        figure=figure_name(matter.figure),
        unit=next(part.unit for part in matter.parts if part.unit),
        limits=matter.limits,
        mean=None if matter.summary is None else matter.summary.mean,
        plot_id="lot-parts-plot",
    )


def _normal(matter: LotMatter) -> tuple[Markup, str] | None:
    s = matter.summary
    if s is None or s.normal_plot is None:
        return None
    figure = figure_name(matter.figure)
    drawing = normal_drawing(
        s.normal_plot, figure=figure, unit=s.unit, plot_id="lot-normal-plot"
    )
    return drawing, normality_words(s)


def _line(part: LotPart, number: int) -> LotLine:
    value, uncertainty = "–", "–"
    if part.value is not None:
        value, uncertainty = value_words(
            part.value, part.expanded_uncertainty, part.unit
        )
    return LotLine(
        number=str(number),
        part=part.part,
        simulated=part.simulated,
        value=value,
        uncertainty=uncertainty,
        decision=part.decision,
        sign=VERDICT_SIGNS[part.decision],
        # The rule is the same for all and stands above the table
        reason=part.reason.partition("; rule: ")[0],
        run_id=part.run_id,
        entered=utc(part.entered_at),
    )


def _earlier(readings: Sequence[LotPart], parts: Sequence[LotPart]) -> tuple[str, ...]:
    latest = {part.part: part.entered_at for part in parts}
    return tuple(
        f"Part {one.part}, {utc(one.entered_at)}: {one.decision}"
        + (
            ""
            if one.value is None
            else f", {format_significant(one.value, _DIGITS)} {one.unit}"
        )
        for one in readings
        if one.entered_at != latest[one.part]
    )


def _whole(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."
