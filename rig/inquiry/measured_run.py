"""A run with its figures and the operate points behind them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.edges.run_arrays import usable_sweeps
from rig.analysis.run.operate_at_rest import operate_at_rest_mm
from rig.errors import NoFigures
from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.records import Reader, RunFilter


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRun:
    """A run that has its figures.

    Attributes:
        run: The run with its edges.
        figures: Latest figures of the run.
        operate_at_rest_mm: Operate points of the good sweeps, delay removed.
    """

    run: Run
    figures: RunFigures
    operate_at_rest_mm: tuple[float, ...]


def measured_runs(reader: Reader, run_ids: Sequence[str]) -> list[MeasuredRun]:
    """Return those of some runs that have figures and good sweeps, oldest first.

    Raises:
        RecordsError: The records cannot be read.
    """
    known = reader.latest_computations(run_ids)
    return [
        _measured(run, known[run.header.run_id].figures)
        for run in reader.iter_runs(RunFilter(run_ids=tuple(known)))
        if usable_sweeps(run)
    ]


def measured_run(reader: Reader, run_id: str) -> MeasuredRun:
    """Return a run with its figures.

    Raises:
        InputError: It has no figures.
        RecordsError: It is not on record, or the records cannot be read.
    """
    run, figures = reader.run(run_id), reader.latest_figures(run_id)
    if figures is None:
        raise NoFigures(run_id)
    return _measured(run, figures)


def _measured(run: Run, figures: RunFigures) -> MeasuredRun:
    points = operate_at_rest_mm(run) if usable_sweeps(run) else ()
    return MeasuredRun(
        run=run,
        figures=figures,
        operate_at_rest_mm=tuple(float(point) for point in points),
    )
