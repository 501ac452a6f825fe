"""Exported rows that rest on figures and limits: verdicts, and figures by part."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import islice

from rig.analysis.edges.sweep_points import points_of_run
from rig.analysis.limits.verdict import Verdict
from rig.errors import InputError
from rig.inquiry.availability_rows import availability_rows
from rig.inquiry.part_verdict import DELAY
from rig.inquiry.parts_tried import counting_outcome
from rig.inquiry.recorded_run import RecordedRun, evaluated_run
from rig.inquiry.runs_behind import RunBehind, runs_behind
from rig.inquiry.tried import Tried, tried_on_record
from rig.model.attempts import Outcome
from rig.model.figure_kinds import FIGURE_KINDS, figures_by_kind
from rig.records import Reader
from rig.records.export_choice import ExportChoice
from rig.records.export_columns import ExportTable
from rig.records.export_rows import WorkedOut
from rig.records.mapping import Row

_RUNS_AT_ONCE = 20
_OUTCOME = "outcome"


def verdict_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each limit that a run was held against, by the guarded rule.

    A run that gives no verdict has one row that says why; so has a part of which the
    outcome decides, such as one that never switches.
    """
    for one, behind in _with_runs(reader, tried_on_record(reader.store, chosen.wanted)):
        found = None if behind is None else _judged(behind)
        head = _head(one) | {
            "changed": "" if behind is None else behind.check.sentence,
        }
        if isinstance(found, str):
            yield head | _without_verdict(_OUTCOME, "", found)
        elif found is not None and found.standard is not None:
            yield from (head | cells for cells in _cells_of_standard(found))
        if one.decision is not None:
            yield head | _without_verdict(_OUTCOME, one.decision.value, one.sentence)


def part_rows(reader: Reader, chosen: ExportChoice) -> Iterator[Row]:
    """Yield a row for each part on each target: what counts of it, a column a figure.

    What counts is what counts in a batch: the newest run with figures, or what the part
    died of later. A run that names no part has a row of its own.
    """
    every: dict[tuple[str, ...], list[Tried]] = {}
    for one in tried_on_record(reader.store, chosen.wanted):
        kind = (one.part or f"run {one.run_id}", one.sensor.name, one.target.name)
        every.setdefault(kind, []).append(one)
    counting = [
        counting_outcome(sorted(tried, key=lambda one: one.last_tried))
        for tried in every.values()
    ]
    for one, behind in _with_runs(reader, counting):
        found = None if behind is None else _judged(behind)
        judged = found if isinstance(found, RecordedRun) else None
        verdict = one.decision if judged is None else judged.verdict
        yield _head(one) | {
            "started_at": one.started_at,
            "outcome": one.words,
            "verdict": "" if verdict is None else verdict.value,
            **_figure_cells(judged if one.outcome is Outcome.FIGURES else None),
            "changed": "" if behind is None else behind.check.sentence,
        }


WORKED_OUT = WorkedOut(
    points=points_of_run,
    tables={
        ExportTable.VERDICTS: verdict_rows,
        ExportTable.PARTS: part_rows,
        ExportTable.AVAILABILITY: availability_rows,
    },
)


def _with_runs(
    reader: Reader, tried: Sequence[Tried]
) -> Iterator[tuple[Tried, RunBehind | None]]:
    """Pair what was tried with its run, a few at a time; None if it came to none."""
    rest = iter(tried)
    while some := list(islice(rest, _RUNS_AT_ONCE)):
        ids = [one.run_id for one in some if one.run is not None]
        found = {one.run.header.run_id: one for one in runs_behind(reader, ids)}
        yield from ((one, found.get(one.run_id)) for one in some)


def _judged(behind: RunBehind) -> RecordedRun | str:
    """Hold a run against its limits; the words of a limit that is not possible."""
    computation = behind.computation
    figures = None if computation is None else computation.figures
    try:
        return evaluated_run(behind.run, figures)
    except InputError as exc:
        return str(exc)


def _head(one: Tried) -> Row:
    return {
        "run_id": one.run_id,
        "simulated": one.simulated,
        "part": one.part,
        "sensor": one.sensor.name,
        "target": one.target.name,
        "product": "" if one.product is None else one.product.name,
        "product_version": None if one.product is None else one.product.version,
    }


def _cells_of_standard(found: RecordedRun) -> Iterator[Row]:
    standard = found.standard
    if standard is None:
        return
    verdicts = dict(standard.verdicts)
    if standard.delay is not None:
        verdicts[DELAY] = standard.delay
    if not standard.verdicts:
        yield _without_verdict("", "", standard.statements[0])
    for name, verdict in verdicts.items():
        yield _verdict_cells(name, verdict)


def _verdict_cells(name: str, verdict: Verdict) -> Row:
    limits, figure = verdict.limits, verdict.figure
    return {
        "held_against": name,
        "decision": verdict.decision.value,
        "value": figure.value,
        "expanded_uncertainty": figure.expanded_uncertainty,
        "lower_limit": _finite(limits.lower),
        "upper_limit": _finite(limits.upper),
        "unit": limits.unit,
        "limit_included": limits.inclusive,
        "source_of_limits": limits.source,
        "rule": verdict.rule,
        "conformance_probability": verdict.conformance_probability,
        "sentence": verdict.sentence,
    }


def _finite(limit: float) -> float | None:
    return limit if math.isfinite(limit) else None


def _without_verdict(name: str, decision: str, sentence: str) -> Row:
    return {
        "held_against": name,
        "decision": decision,
        "value": None,
        "expanded_uncertainty": None,
        "lower_limit": None,
        "upper_limit": None,
        "unit": "",
        "limit_included": None,
        "source_of_limits": "",
        "rule": "",
        "conformance_probability": None,
        "sentence": sentence,
    }


def _figure_cells(found: RecordedRun | None) -> Row:
    figures = None if found is None else found.figures
    known = {}
    if found is not None and figures is not None:
        known = {
            kind.field: figure
            for kind, figure in figures_by_kind(figures, found.run.header.timetable)
            if figure is not None
        }
    cells: Row = {}
    for kind in FIGURE_KINDS:
        figure = known.get(kind.field)
        cells[kind.key] = None if figure is None else figure.value
        cells[kind.uncertainty_key] = (
            None if figure is None else figure.expanded_uncertainty
        )
        cells[f"{kind.field}_n"] = None if figure is None else figure.n
    cells["without_uncertainty"] = "\n".join(
        f"{kind.name}: {known[kind.field].why_none}"
        for kind in FIGURE_KINDS
        if kind.field in known and known[kind.field].why_none
    )
    return cells
