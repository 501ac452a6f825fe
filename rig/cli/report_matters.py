"""The matter of a report on a batch or a study, worked out as its command does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rig.analysis.limits.verdict import RULES
from rig.analysis.study.study_layout import readings_of_sheet
from rig.cli.batches import BatchFigures, Wishes, limits_of, work_out
from rig.cli.open_rig import open_store
from rig.cli.part_figures import PartFigure
from rig.cli.studies import filled_rows
from rig.cli.text.batch_text import collected
from rig.cli.text.study_text import work_out_study
from rig.inquiry.runs_behind import RunBehind, runs_behind
from rig.records import Reader
from rig.records.studies import StudyBook
from rig.report.batch_view import BatchMatter, ReportedBatch
from rig.report.study_view import StudyMatter

_SHARE = 0.95  # content and confidence of a report, as `batch` has them by default


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
            runs = runs_behind(
                Reader(store), [part.run_id for part in collection.parts]
            )
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
        runs = runs_behind(Reader(store), [one.run_id for one in readings.values()])
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
