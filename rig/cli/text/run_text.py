"""Results as plain text for a terminal: every figure with unit, uncertainty and n."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rig.cli.documents import KnownTruth, truth_document
from rig.cli.text.table import SIMULATED, table
from rig.model.figure_kinds import (
    BUDGET_FIELDS,
    KIND_OF_FIELD,
    figures_by_kind,
    why_missing,
)
from rig.model.figures import Figure, RunFigures
from rig.model.rounding import format_figure
from rig.model.sweeps import Timetable

if TYPE_CHECKING:
    from rig.model.sweeps import Run
    from rig.records import RunSummary

_RUN_HEAD = ["run", "sensor", "target"]
_MAIN_HEAD = ["operate mm", "release mm", "differential travel mm", "n"]
_EXPANDED = "± expanded uncertainty, about 95 % coverage"


def figure_lines(figures: RunFigures, timetable: Timetable | None) -> list[str]:
    """Return one line a figure."""
    shown = list(figures_by_kind(figures, timetable))
    width = max(len(kind.name) for kind, _ in shown)
    return [
        f"{kind.name.ljust(width)}  "
        + (
            f"none: {why_missing(kind.field, figures)}"
            if figure is None
            else str(format_figure(figure))
        )
        for kind, figure in shown
    ]


def run_text(run: Run, figures: RunFigures | None) -> str:
    """Return a run with its figures and warnings."""
    header = run.header
    good = sum(1 for sweep in run.sweeps if not sweep.void)
    parts = [SIMULATED] if header.conditions.simulated else []
    parts.append(
        f"Run {header.run_id}: sensor {header.sensor.name}{_part(header.part)}, target "
        f"{header.target.name}, {good} good sweeps of {header.sweeps_wanted}"
    )
    if run.void:
        parts.append(f"VOID: {run.void}")
    if figures is None:
        parts.append("No figures have been worked out for this run.")
    else:
        parts += figure_lines(figures, header.timetable)
        parts += [f"Note: {sentence}" for sentence in figures.warnings]
    return "\n".join(parts)


def _part(part: str) -> str:
    return f" part {part}" if part else ""


def sweeps_text(run: Run) -> str:
    """Return the sweeps of a run as a table."""
    # Deferred: it needs numpy, and help must answer at once
    from rig.analysis.edges.sweep_points import points_of_run

    rows = []
    for sweep, (operate, release) in zip(run.sweeps, points_of_run(run), strict=True):
        rows.append(
            [
                str(sweep.index + 1),
                f"{sweep.speed_mm_s:g}",
                "-" if operate is None else f"{operate:.4f}",
                "-" if release is None else f"{release:.4f}",
                sweep.void and f"void: {sweep.void}",
            ]
        )
    head = ["sweep", "speed mm/s", "operate mm*", "release mm*", ""]
    note = (
        "* single readings, datum and backlash applied, delay still in them; their\n"
        "  scatter is in the uncertainty of the figures"
    )
    return f"{table(head, rows)}\n{note}"


def budget_text(figures: RunFigures) -> str:
    """Return the budgets of the main figures as tables."""
    parts = []
    for name in BUDGET_FIELDS:
        figure: Figure = getattr(figures, name)
        rows = [
            [
                line.name,
                line.evaluation.value,
                f"{line.standard_uncertainty:.3g} {line.unit}",
                f"{line.sensitivity:.3g}",
                f"{line.degrees_of_freedom:.3g}",
            ]
            for line in figure.budget
        ]
        head = [
            f"budget: {KIND_OF_FIELD[name].name}",
            "type",
            "standard uncertainty",
            "sensitivity",
            "degrees of freedom",
        ]
        parts.append(table(head, rows))
    return "\n\n".join(parts)


def plan_text(title: str, runs: Sequence[tuple[Run, RunFigures | None]]) -> str:
    """Return the main figures of several runs as a table."""
    rows = [
        [
            run.header.run_id,
            run.header.sensor.name,
            run.header.target.name,
            *_main_cells(figures),
        ]
        for run, figures in runs
    ]
    return f"{title}\n{table([*_RUN_HEAD, *_MAIN_HEAD], rows)}\n{_EXPANDED}"


def results_text(runs: Sequence[RunSummary], figures: Mapping[str, RunFigures]) -> str:
    """Return the runs on record as a table."""
    rows = [
        [
            run.run_id,
            run.sensor,
            run.target,
            *_main_cells(figures.get(run.run_id)),
            _state(run),
        ]
        for run in runs
    ]
    head = [*_RUN_HEAD, *_MAIN_HEAD, ""]
    return f"{table(head, rows)}\n{_EXPANDED}"


def _state(run: RunSummary) -> str:
    words = ["SIMULATED"] if run.simulated else []
    if run.void:
        words.append(f"void: {run.void}")
    elif run.ended_at is None:
        words.append(f"unfinished, {run.good_sweeps} of {run.sweeps_wanted} sweeps")
    return ", ".join(words)


def _main_cells(figures: RunFigures | None) -> list[str]:
    if figures is None:
        return ["-", "-", "-", "-"]
    mains = (figures.operate, figures.release, figures.differential_travel)
    cells = [_cell(figure) for figure in mains]
    return [*cells, str(figures.operate.n)]


def _cell(figure: Figure) -> str:
    text = format_figure(figure)
    if text.why_none:
        return f"{text.value} (no uncertainty)"
    return f"{text.value} ± {text.expanded_uncertainty}"


def truth_text(truth: KnownTruth) -> str:
    """Return what a simulated rig knows of itself."""
    return "\n".join(
        f"truth: {name.removesuffix('_mm').replace('_', ' ')} "
        f"{'none' if value is None else f'{value:.4f} mm'} (exact in the simulation)"
        for name, value in truth_document(truth).items()
    )
