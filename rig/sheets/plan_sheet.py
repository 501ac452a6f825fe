"""A plan with its runs in rows, words and rounded numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.inquiry.detection import detection_of_plan
from rig.inquiry.plan import PlanItemResult, PlannedFigures, PlanResult
from rig.inquiry.tried import Ending
from rig.model.rounding import FigureText, format_figure
from rig.sheets.bench_words import Pairs, utc
from rig.sheets.detection_sheet import DetectionSheet, detection_sheet
from rig.sheets.figure_rows import BudgetTable, budget_table, not_included_words
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.tried_sheet import as_sentence
from rig.sheets.verdict_rows import VerdictTable, verdict_table


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """One item of the plan; all text.

    Attributes:
        number: Number of the item in the plan, from 1.
        sensor: Name of the sensor.
        part: Serial or sample number; a dash without.
        target: Name of the target.
        sweeps: How many of those wanted are on record.
        run_id: The run that counts; empty as long as there is none.
        outcome: What came of it instead of figures, in a word or two; empty if it has
            figures or was never tried.
        settled: Whether it is no longer due.
        seen: What was seen instead of figures, with likely causes; empty likewise.
        simulated: Whether a simulated rig made it.
        operate: Operate point; None as long as there is none.
        release: Release point; None likewise.
        travel: Differential travel; None likewise.
        travel_percent: Differential travel as a share; None likewise.
        factor: Reduction factor to the standard target; None without.
    """

    number: str
    sensor: str
    part: str
    target: str
    sweeps: str
    run_id: str
    outcome: str
    settled: bool
    seen: str
    simulated: bool
    operate: FigureText | None
    release: FigureText | None
    travel: FigureText | None
    travel_percent: FigureText | None
    factor: FigureText | None = None

    @property
    def readings(self) -> str:
        """Number of readings behind the operate point; a dash as long as none."""
        return self.operate.n if self.operate else "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanVerdicts:
    """What the standard makes of one run of the plan."""

    anchor: str
    name: str
    table: VerdictTable


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSheet:
    """All that is shown of a plan.

    Attributes:
        name: Title that the user gave it.
        lead: What it is, in one sentence.
        simulated: Number of runs that a simulated rig made.
        total: Number of items with figures.
        job: The plan itself.
        statements: What is missing, and what goes with the figures.
        rows: Every item.
        sensors: Names of the sensors measured, in the plan's order.
        has_factors: Whether any reduction factor is known.
        factor_budgets: Budget of every reduction factor.
        not_included: What no budget includes, as a sentence; empty without budgets.
        detects: Table of sensors against targets, with what each detects.
        verdicts: Verdicts on every run on the standard target.
        runs: Runs behind the figures.
    """

    name: str
    lead: str
    simulated: int
    total: int
    job: Pairs
    statements: tuple[str, ...]
    rows: tuple[PlanRow, ...]
    sensors: tuple[str, ...]
    has_factors: bool
    factor_budgets: tuple[BudgetTable, ...]
    not_included: str
    detects: DetectionSheet
    verdicts: tuple[PlanVerdicts, ...]
    runs: RunsBehindSheet


def plan_row(item: PlannedFigures) -> PlanRow:
    """Lay out one item with the figures of the run that counts."""
    planned, run, figures = item.progress.item, item.progress.counting, item.figures
    recorded = item.run if isinstance(item, PlanItemResult) else None
    factor = recorded.factor if recorded else None
    return PlanRow(
        number=str(planned.index + 1),
        sensor=planned.sensor.name,
        part=planned.part or "–",
        target=planned.target.name,
        sweeps=f"{item.progress.good_sweeps} of {planned.sweeps_wanted}",
        run_id=run.run_id if run else "",
        outcome="" if run else item.result,
        settled=item.progress.settled,
        seen="" if run or item.ending is None else _seen(item.ending),
        simulated=run is not None and run.simulated,
        operate=format_figure(figures.operate) if figures else None,
        release=format_figure(figures.release) if figures else None,
        travel=format_figure(figures.differential_travel) if figures else None,
        travel_percent=(
            format_figure(figures.differential_travel_percent) if figures else None
        ),
        factor=format_figure(factor) if factor else None,
    )


def plan_sheet(result: PlanResult) -> PlanSheet:
    """Put a plan and its runs into words."""
    entry = result.entry
    rows = tuple(plan_row(item) for item in result.items)
    behind = runs_behind_sheet(result.runs)
    measured = [item.progress.item for item in result.items if item.figures]
    return PlanSheet(
        name=entry.title,
        lead=f"{len(entry.items)} items, {result.done} of them with figures.",
        simulated=sum(row.simulated for row in rows),
        total=result.done,
        job=(
            ("Plan", entry.plan_id),
            ("Title", entry.title),
            ("Begun", utc(entry.created_at)),
            ("State", entry.state.value),
            ("Items", str(len(entry.items))),
        ),
        statements=(*_missing(rows), *behind.altered, *behind.warnings),
        rows=rows,
        sensors=tuple(dict.fromkeys(item.sensor.name for item in measured)),
        has_factors=bool(budgets := _factor_budgets(result.items)),
        factor_budgets=budgets,
        not_included=not_included_words() if budgets else "",
        detects=detection_sheet(detection_of_plan(result)),
        verdicts=_verdicts(result.items),
        runs=behind,
    )


def _seen(ending: Ending) -> str:
    causes = f" ({ending.causes})" if ending.causes else ""
    return f"{as_sentence(ending.sentence)}{causes}"


def _missing(rows: Sequence[PlanRow]) -> tuple[str, ...]:
    """Say which items have no figures, and which of them are still due."""
    said = [
        f"Item {row.number}, {row.sensor} against {row.target}: {row.outcome}."
        f" {row.seen}"
        for row in rows
        if row.outcome and row.settled
    ]
    open_items = [row.number for row in rows if row.operate is None and not row.settled]
    if open_items:
        said.append(f"Not measured yet: item {', '.join(open_items)} of the plan.")
    return tuple(said)


def _factor_budgets(items: Sequence[PlanItemResult]) -> tuple[BudgetTable, ...]:
    return tuple(
        budget_table(f"reduction factor of {_name(item)}", item.run.factor)
        for item in items
        if item.run is not None and item.run.factor is not None
    )


def _name(item: PlanItemResult) -> str:
    planned = item.progress.item
    part = f" {planned.part}" if planned.part else ""
    return f"{planned.sensor.name}{part} against {planned.target.name}"


def _verdicts(items: Sequence[PlanItemResult]) -> tuple[PlanVerdicts, ...]:
    found = []
    for item in items:
        planned = item.progress.item
        if item.standard is not None:
            found.append(
                PlanVerdicts(
                    anchor=f"plan-item-{planned.index + 1}",
                    name=_name(item),
                    table=verdict_table(item.standard),
                )
            )
    return tuple(found)
