"""Lists of runs as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rig.cli.text.table import table
from rig.model.rounding import format_figure

if TYPE_CHECKING:
    from rig.model.figures import RunFigures
    from rig.model.sweeps import Run
    from rig.sheets.run_list_sheet import RunLine

_EXPANDED = "± expanded uncertainty, about 95 % coverage"
_FIGURES = ["operate mm", "release mm", "differential travel mm", "n"]


def run_list_text(lines: Sequence[RunLine]) -> str:
    """Return the runs on record as a table."""
    rows = [
        [
            line.run_id,
            line.started,
            line.sensor,
            line.part,
            line.target,
            line.operate,
            line.release,
            line.travel,
            line.n,
            line.verdicts,
            line.state,
        ]
        for line in lines
    ]
    head = ["run", "started (UTC)", "sensor", "part", "target", *_FIGURES]
    return f"{table([*head, 'verdicts', ''], rows)}\n{_EXPANDED}"


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
    return (
        f"{title}\n{table(['run', 'sensor', 'target', *_FIGURES], rows)}\n{_EXPANDED}"
    )


def _main_cells(figures: RunFigures | None) -> list[str]:
    if figures is None:
        return ["-", "-", "-", "-"]
    mains = (figures.operate, figures.release, figures.differential_travel)
    return [*(format_figure(one).cell for one in mains), str(figures.operate.n)]
