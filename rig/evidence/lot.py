"""A delivery with its parts, its decision and the runs behind it."""

from __future__ import annotations

from collections.abc import Sequence

from rig.analysis.acceptance.attributes import AttributePlan
from rig.analysis.acceptance.operating_curve import OperatingCurve, operating_curve
from rig.analysis.acceptance.variables import VariablesPlan, variables_curve
from rig.analysis.batch.batch_summary import BatchSummary, summarise_parts
from rig.analysis.limits.verdict import RULES, Limits
from rig.analysis.standard.run_against_standard import LIMITED, limits_of_figure
from rig.inquiry.lot import standing_of
from rig.inquiry.lot_terms import ATTRIBUTES, LotTerms
from rig.inquiry.runs_behind import RunBehind, runs_behind
from rig.records import Reader, Store
from rig.records.lot_book import LotBook, LotPart
from rig.report.lot_view import LotMatter


def lot_matter(store: Store, lot_id: str) -> LotMatter:
    """Collect a delivery with its parts, its decision and the runs behind it.

    Raises:
        RigError: It is not on record, or cannot be read.
    """
    book = LotBook(store)
    standing, readings = standing_of(book, lot_id), book.readings(lot_id)
    parts = standing.parts
    runs = runs_behind(Reader(store), [part.run_id for part in parts])
    terms, guide = standing.terms, standing.guidance
    plan, curve = _plan_and_curve(terms)
    limits = terms.limits or _limits_of_sensor(terms.figure, runs)
    return LotMatter(
        lot=standing.lot,
        plan=plan,
        curve=curve,
        figure=terms.figure,
        limits=limits,
        rule=RULES[terms.rule].name,
        readings=tuple(readings),
        parts=parts,
        summary=_summary_of_sample(parts),
        guidance=guide.sentence if guide else "",
        decision=standing.decision,
        runs=runs,
    )


def _limits_of_sensor(figure: str, runs: Sequence[RunBehind]) -> Limits | None:
    """Return the limits of a figure from the standard or the one data sheet."""
    sensors = {one.run.header.sensor for one in runs}
    if figure not in LIMITED or len(sensors) != 1:
        return None
    return limits_of_figure(figure, sensors.pop())


def _plan_and_curve(
    terms: LotTerms,
) -> tuple[AttributePlan | VariablesPlan, OperatingCurve]:
    if terms.method == ATTRIBUTES:
        own = terms.attribute_plan()
        return own, operating_curve(own.sample, own.accept, lot=own.lot)
    s_plan = terms.variables_plan()
    return s_plan, variables_curve(s_plan)


def _summary_of_sample(parts: Sequence[LotPart]) -> BatchSummary | None:
    """Summarise the values of the sample; limits and verdicts are the lot's own."""
    known = [part for part in parts if part.value is not None]
    if len(known) < 2:
        return None
    return summarise_parts(
        "the sample",
        [part.part for part in known],
        [part.value for part in known],
        unit=known[0].unit,
    )
