"""Two runs of one part beside one another as the JSON document that `show` prints."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from rig.inquiry.recorded_run import RecordedRun
from rig.inquiry.run_comparison import FigureBeside, RunComparison
from rig.model.bench_declaration import DeclaredValue, ValueSource
from rig.model.bench_items import NOT_INCLUDED


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationBehind:
    """The calibration of the axis that a run rests on.

    Attributes:
        calibration_id: Identity in the records.
        certificate: What it is recorded under.
        calibrated_on: Day of the readings.
        due_on: Last day that it holds.
        by_blocks: Whether gauge blocks on the touch probe made it.
    """

    calibration_id: str
    certificate: str
    calibrated_on: date
    due_on: date
    by_blocks: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KnowledgeDocument:
    """One of the two runs, and what its figures rest on.

    Attributes:
        run_id: Identity in the records.
        started_at: When it began, UTC.
        rig_id: Identity of its rig.
        simulated: Whether a simulated rig made it.
        declared: Numbers of the bench that somebody declared.
        assumed: Numbers of the bench that are assumed.
        calibration: Calibration of the axis; null without one.
        warnings: Sentences that go with its figures.
    """

    run_id: str
    started_at: datetime
    rig_id: str
    simulated: bool
    declared: tuple[DeclaredValue, ...]
    assumed: tuple[DeclaredValue, ...]
    calibration: CalibrationBehind | None
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonDocument:
    """Two runs of one part on one target, the earlier one first.

    Attributes:
        simulated: Whether a simulated rig made either.
        sensor: Name of the sensor.
        part: Serial or sample number; null without one.
        target: Name of the target.
        earlier: The run that began first.
        later: The other one.
        common: Causes that are one quantity in both runs and cancel in differences.
        figures: Every figure that both runs give, with its difference and budgets.
        not_included: What no budget includes.
    """

    simulated: bool
    sensor: str
    part: str | None
    target: str
    earlier: KnowledgeDocument
    later: KnowledgeDocument
    common: tuple[str, ...]
    figures: tuple[FigureBeside, ...]
    not_included: tuple[str, ...]


def comparison_document(found: RunComparison) -> ComparisonDocument:
    """Return two runs beside one another as their document."""
    header = found.later.run.header
    earlier, later = _knowledge(found.earlier), _knowledge(found.later)
    return ComparisonDocument(
        simulated=earlier.simulated or later.simulated,
        sensor=header.sensor.name,
        part=header.part or None,
        target=header.target.name,
        earlier=earlier,
        later=later,
        common=found.common,
        figures=found.figures,
        not_included=NOT_INCLUDED,
    )


def _knowledge(one: RecordedRun) -> KnowledgeDocument:
    header = one.run.header
    conditions = header.conditions
    bench, known = conditions.bench, conditions.calibration
    values = () if bench is None else bench.values
    return KnowledgeDocument(
        run_id=header.run_id,
        started_at=header.started_at,
        rig_id=conditions.rig_id,
        simulated=any(c.simulated for c in one.run.conditions),
        declared=tuple(v for v in values if v.source is not ValueSource.ASSUMED),
        assumed=tuple(v for v in values if v.source is ValueSource.ASSUMED),
        calibration=(
            None
            if known is None
            else CalibrationBehind(
                calibration_id=known.calibration_id,
                certificate=known.certificate,
                calibrated_on=known.calibrated_on,
                due_on=known.due_on,
                by_blocks=known.by_blocks,
            )
        ),
        warnings=() if one.figures is None else one.figures.warnings,
    )
