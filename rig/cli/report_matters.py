"""What a report is made from, collected from the records; writes no page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rig.analysis.acceptance_attributes import AttributePlan
from rig.analysis.acceptance_variables import VariablesPlan, variables_curve
from rig.analysis.batch import BatchSummary, summarise_parts
from rig.analysis.operating_curve import OperatingCurve, operating_curve
from rig.analysis.study_layout import readings_of_sheet
from rig.analysis.verdict import RULES, Limits, Rule
from rig.cli.batch_text import collected
from rig.cli.batches import (
    LIMITED,
    BatchFigures,
    Wishes,
    limits_of,
    limits_of_figure,
    work_out,
)
from rig.cli.part_figures import PartFigure
from rig.cli.session import open_store
from rig.cli.studies import filled_rows
from rig.cli.study_text import work_out_study
from rig.procedures.lot_terms import ATTRIBUTES, LotTerms
from rig.procedures.lots import standing_of
from rig.records import Reader, RunFilter
from rig.records.lots import LotBook, LotPart
from rig.records.studies import StudyBook
from rig.report.batch_view import BatchMatter, ReportedBatch
from rig.report.lot_view import LotMatter
from rig.report.plan_view import PlanMatter
from rig.report.run_facts import RunBehind
from rig.report.study_view import StudyMatter

_SHARE = 0.95  # content and confidence of a report, as `batch` has them by default


def runs_of(reader: Reader, run_ids: Sequence[str]) -> tuple[RunBehind, ...]:
    """Return runs with their latest figures and the check of their edges.

    Raises:
        RecordsError: The records cannot be read.
    """
    wanted = tuple(dict.fromkeys(run_id for run_id in run_ids if run_id))
    if not wanted:
        return ()
    known = reader.latest_computations(wanted)
    return tuple(
        RunBehind(
            run=run,
            computation=known.get(run.header.run_id),
            check=reader.verify(run.header.run_id),
        )
        for run in reader.iter_runs(RunFilter(run_ids=wanted))
    )


def plan_matter(plan_id: str, rule: Rule, records: str | None) -> PlanMatter:
    """Collect a plan with the runs that were made for it.

    Raises:
        RecordsError: It is not on record.
    """
    with open_store(records, read_only=True) as store:
        reader = Reader(store)
        entry, progress = reader.plan(plan_id), reader.plan_progress(plan_id)
        ended = [
            run.run_id
            for item in progress
            for run in item.runs
            if run.ended_at and not run.void
        ]
        runs = runs_of(reader, ended)
    return PlanMatter(entry=entry, progress=tuple(progress), runs=runs, rule=rule)


def batch_matter(options: dict[str, Any]) -> BatchMatter:
    """Work a batch out as `gapsweep batch` does, with the runs behind it.

    Raises:
        RigError: The parts do not make a batch.
    """
    collection = collected(options)
    limits, why_none = limits_of(collection, options["lower"], options["upper"])
    wishes = Wishes(
        limits=limits,
        rule=RULES[options["rule_name"]],
        content=_SHARE,
        confidence=_SHARE,
        subgroup=options["subgroup"],
        bounds=(),
        class_names=(),
    )
    result = work_out(collection, wishes)
    runs: tuple[RunBehind, ...] = ()
    if not options["tables"]:
        with open_store(options["records"], read_only=True) as store:
            runs = runs_of(Reader(store), [part.run_id for part in collection.parts])
    return BatchMatter(
        figure=collection.figure,
        batches=tuple(
            _batch(name, one, [p for p in collection.parts if p.batch == name])
            for name, one in result.batches.items()
        ),
        comparison=result.comparison,
        limits=limits,
        runs=runs,
        tables=tuple(str(path) for path in options["tables"]),
        statements=(*why_none, *collection.statements),
    )


def _batch(name: str, one: BatchFigures, parts: Sequence[PartFigure]) -> ReportedBatch:
    charts = (one.individuals, one.subgroups)
    return ReportedBatch(
        name=name,
        summary=one.summary,
        charts=tuple(pair for pair in charts if pair is not None),
        run_ids={part.part: part.run_id for part in parts},
        simulated=frozenset(part.part for part in parts if part.simulated),
        statements=one.statements,
    )


def study_matter(study_id: str, records: str | None) -> StudyMatter:
    """Work a study on record out, with the runs behind it.

    Raises:
        RigError: It is not on record, not complete or not balanced.
    """
    with open_store(records, read_only=True) as store:
        book = StudyBook(store)
        entry, readings = book.study(study_id), book.readings(study_id)
        runs = runs_of(Reader(store), [one.run_id for one in readings.values()])
    study = readings_of_sheet(filled_rows(entry, readings))
    found = work_out_study(study, entry.title, _SHARE)
    return StudyMatter(
        entry=entry,
        readings=readings,
        study=study,
        crossed=found.crossed,
        ranges=found.ranges,
        intervals=found.intervals,
        runs=runs,
    )


def lot_matter(lot_id: str, records: str | None) -> LotMatter:
    """Collect a delivery with its parts, its decision and the runs behind it.

    Raises:
        RigError: It is not on record, or cannot be read.
    """
    with open_store(records, read_only=True) as store:
        book = LotBook(store)
        standing, readings = standing_of(book, lot_id), book.readings(lot_id)
        parts = standing.parts
        runs = runs_of(Reader(store), [part.run_id for part in parts])
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
