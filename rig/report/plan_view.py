"""A plan with its runs as the text that a page shows of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from rig.analysis.limits.verdict import Rule
from rig.analysis.numbers.ratio import ratio, shared_contributions
from rig.analysis.standard.iec_60947_5_2 import not_the_standard_target
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.inquiry.runs_behind import RunBehind
from rig.inquiry.sweep_readings import sweep_readings
from rig.model.figures import Figure, RunFigures
from rig.model.rounding import FigureText, format_figure
from rig.model.sweeps import Run
from rig.records import PlanEntry
from rig.records.entries import ItemProgress
from rig.report.plan_plot import PlannedPoint, plan_plot
from rig.sheets.bench_words import Pairs, utc
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.verdict_rows import VerdictTable, verdict_table


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanMatter:
    """All that the report of a plan is made from.

    Attributes:
        entry: As it began.
        progress: What is on record for each of its items.
        runs: The runs of the plan that ended and are not void, in the plan's order.
        rule: Of the verdicts.
    """

    entry: PlanEntry
    progress: tuple[ItemProgress, ...]
    runs: tuple[RunBehind, ...]
    rule: Rule


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLine:
    """One item of the plan; all text.

    Attributes:
        number: In the plan, from 1.
        sensor: Name.
        part: Serial or sample number; a dash without.
        target: Name.
        sweeps: How many of those wanted are on record.
        run_id: The run; empty as long as there is none.
        simulated: Whether a simulated rig made it.
        operate: Operate point; None as long as there is none.
        travel: Differential travel as a share; None likewise.
        factor: Reduction factor to the standard target; None without.
    """

    number: str
    sensor: str
    part: str
    target: str
    sweeps: str
    run_id: str
    simulated: bool
    operate: FigureText | None
    travel: FigureText | None
    factor: FigureText | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanVerdicts:
    """What the standard makes of one run of the plan."""

    anchor: str
    name: str
    table: VerdictTable


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanView:
    """All that the page shows of a plan.

    Attributes:
        name: As the user calls it.
        lead: What it is, in one sentence.
        simulated: How many runs a simulated rig made.
        job: The plan itself.
        statements: What is missing, and what goes with the figures.
        lines: Every item.
        sensors: Names, in the order of the panels of the drawing.
        has_factors: Whether any reduction factor is known.
        drawing: Runs against each other; None as long as there are none.
        verdicts: Of every run on the standard target.
        runs: Behind the figures.
    """

    name: str
    lead: str
    simulated: int
    job: Pairs
    statements: tuple[str, ...]
    lines: tuple[PlanLine, ...]
    sensors: tuple[str, ...]
    has_factors: bool
    drawing: Markup | None
    verdicts: tuple[PlanVerdicts, ...]
    runs: RunsBehindSheet


def view_plan(matter: PlanMatter) -> PlanView:
    """Put a plan and its runs into words.

    Raises:
        InputError: A limit of a data sheet is of no use.
    """
    entry = matter.entry
    known = [
        (one.run, one.computation.figures) for one in matter.runs if one.computation
    ]
    lines = _lines(matter.progress, known)
    behind = runs_behind_sheet(matter.runs)
    done = sum(line.operate is not None for line in lines)
    return PlanView(
        name=entry.title,
        lead=f"{len(entry.items)} items, {done} of them with figures.",
        simulated=sum(line.simulated for line in lines),
        job=(
            ("Plan", entry.plan_id),
            ("Title", entry.title),
            ("Begun", utc(entry.created_at)),
            ("State", entry.state.value),
            ("Items", str(len(entry.items))),
        ),
        statements=(*_missing(lines), *behind.altered, *behind.warnings),
        lines=lines,
        sensors=tuple(dict.fromkeys(run.header.sensor.name for run, _ in known)),
        has_factors=any(line.factor for line in lines),
        drawing=_drawing(known),
        verdicts=_verdicts(known, matter.rule),
        runs=behind,
    )


def _lines(
    progress: Sequence[ItemProgress], known: Sequence[tuple[Run, RunFigures]]
) -> tuple[PlanLine, ...]:
    lines = []
    for one in progress:
        item = one.item
        own = [pair for pair in known if pair[0].header.plan_item == item.index]
        found = own[-1] if own else None
        figures = found[1] if found else None
        factor = _factor(found, known) if found else None
        lines.append(
            PlanLine(
                number=str(item.index + 1),
                sensor=item.sensor.name,
                part=item.part or "–",
                target=item.target.name,
                sweeps=f"{one.good_sweeps} of {item.sweeps_wanted}",
                run_id=found[0].header.run_id if found else "",
                simulated=found is not None and found[0].header.conditions.simulated,
                operate=format_figure(figures.operate) if figures else None,
                travel=(
                    format_figure(figures.differential_travel_percent)
                    if figures
                    else None
                ),
                factor=format_figure(factor) if factor else None,
            )
        )
    return tuple(lines)


def _factor(
    found: tuple[Run, RunFigures], known: Sequence[tuple[Run, RunFigures]]
) -> Figure | None:
    """Return the ratio to the same sensor's run on the standard target, if any."""
    run, figures = found
    header = run.header
    for other, reference in known:
        of_other = other.header
        same = (of_other.sensor, of_other.part) == (header.sensor, header.part)
        if (
            same
            and of_other.target != header.target
            and not not_the_standard_target(of_other.target, of_other.sensor)
        ):
            return ratio(
                figures.operate,
                reference.operate,
                shared=shared_contributions(header.conditions, of_other.conditions),
                labels=(header.target.name, of_other.target.name),
            )
    return None


def _missing(lines: Sequence[PlanLine]) -> tuple[str, ...]:
    open_items = [line.number for line in lines if line.operate is None]
    if not open_items:
        return ()
    return (f"Not measured yet: item {', '.join(open_items)} of the plan.",)


def _drawing(known: Sequence[tuple[Run, RunFigures]]) -> Markup | None:
    if not known:
        return None
    points = [
        PlannedPoint(
            sensor=run.header.sensor.name,
            part=run.header.part,
            target=run.header.target,
            operate=figures.operate,
            points_mm=tuple(
                reading.operate_corrected_mm
                for reading in sweep_readings(run, figures)
                if reading.operate_corrected_mm is not None
            ),
        )
        for run, figures in known
    ]
    return plan_plot(points, plot_id="plan-comparison")


def _verdicts(
    known: Sequence[tuple[Run, RunFigures]], rule: Rule
) -> tuple[PlanVerdicts, ...]:
    found = []
    for number, (run, figures) in enumerate(known, start=1):
        header = run.header
        if not_the_standard_target(header.target, header.sensor):
            continue
        part = f" {header.part}" if header.part else ""
        found.append(
            PlanVerdicts(
                anchor=f"plan-run-{number}",
                name=f"{header.sensor.name}{part} against {header.target.name}",
                table=verdict_table(standard_of_run(run, figures, rule)),
            )
        )
    return tuple(found)
