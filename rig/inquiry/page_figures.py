"""Figures of a page of runs: what the records give as arrays, put to the analysis."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from rig.analysis.axis.axis_correction import gap_corrections
from rig.analysis.edges.bench_causes import BenchCauses, bench_causes
from rig.analysis.edges.budget import Knowns
from rig.analysis.edges.datum_closing import (
    DatumClosing,
    closing_sentences,
    datum_closing,
    is_closed,
    moved_share_mm,
)
from rig.analysis.numbers.gaps import operate_gap_mm, release_gap_mm
from rig.analysis.run.home_shift import home_finding
from rig.analysis.run.many_runs import ManyRuns, many_figures
from rig.analysis.run.run_facts import RunFacts, about_the_bench, single_speed
from rig.model.bench_declaration import BenchKnowledge
from rig.model.calibration import AxisCalibration
from rig.model.figure_forms import FigureBlock
from rig.records.run_pages import RunCircumstances, RunPage


def figures_of_page(page: RunPage) -> Iterator[FigureBlock]:
    """Work out the figures of the plain runs of a page.

    Args:
        page: Page of runs from the records.

    Raises:
        ValueError: A number of one of them is not finite where it has to be.
    """
    if not page.run_ids:
        return
    starts = np.cumsum(page.sweeps) - page.sweeps
    corrected = _Corrected(page, starts)
    closings = _closings(page, starts)
    yield from many_figures(
        ManyRuns(
            run_ids=page.run_ids,
            facts=_facts(page, starts, _said(page, corrected), closings),
            sweeps=page.sweeps,
            speed_mm_s=page.speed_mm_s,
            order=page.order,
            operate_steps=corrected.operate_steps,
            release_steps=corrected.release_steps,
            knowns=Knowns(
                steps_per_mm=page.steps_per_mm,
                axis_mm=corrected.axis_mm,
                datum_steps=page.datum_steps,
                datum_mm=page.datum_mm,
                datum_dof=page.datum_dof,
                probe_mm=page.probe_mm,
                backlash_mm=page.backlash_mm,
                backlash_uncertainty_mm=page.backlash_uncertainty_mm,
                backlash_dof=page.backlash_dof,
                backlash_by_probe=page.backlash_by_probe,
                late_mm=page.late_mm,
                bench=_causes(page, corrected.in_place_of_screw),
            ),
            datum_moved_mm=np.array(
                [
                    np.nan if (moved := moved_share_mm([one], [1.0])) is None else moved
                    for one in closings
                ]
            ),
        )
    )


def _closings(
    page: RunPage, starts: npt.NDArray[np.intp]
) -> tuple[DatumClosing | None, ...]:
    last = page.order[starts + page.sweeps - 1]
    return tuple(
        datum_closing(
            page.datum_checks.get(run, []),
            float(page.datum_steps[run]),
            float(page.datum_mm[run]),
            steps_per_mm=float(page.steps_per_mm[run]),
            last_sweep=int(last[run]),
        )
        for run in range(len(page.run_ids))
    )


def _facts(
    page: RunPage,
    starts: npt.NDArray[np.intp],
    statements: Sequence[tuple[str, ...]],
    closings: Sequence[DatumClosing | None],
) -> tuple[RunFacts, ...]:
    low = np.minimum.reduceat(page.speed_mm_s, starts)
    high = np.maximum.reduceat(page.speed_mm_s, starts)
    speeds = zip(low.tolist(), high.tolist(), strict=True)
    return tuple(
        _facts_of(
            circumstances,
            said,
            single_speed(ends),
            closing_sentences(closing),
            is_closed(closing),
        )
        for circumstances, said, ends, closing in zip(
            page.circumstances, statements, speeds, closings, strict=True
        )
    )


@lru_cache(maxsize=4096)
def _facts_of(
    circumstances: RunCircumstances,
    calibration: tuple[str, ...],
    single_speed_mm_s: float | None,
    datum: tuple[str, ...],
    datums_closed: bool,
) -> RunFacts:
    shift_steps = circumstances.home_shift_steps
    return RunFacts(
        home_checked=shift_steps is not None,
        datums_closed=datums_closed,
        home=home_finding(
            shift_steps,
            circumstances.home_repeatability_mm,
            circumstances.steps_per_mm,
        ),
        sweeps=circumstances.sweeps,
        usable=circumstances.usable,
        first_void=circumstances.first_void,
        backlash_not_measured_mm=circumstances.backlash_not_measured_mm,
        calibration=calibration,
        single_speed_mm_s=single_speed_mm_s,
        switching_frequency_hz=circumstances.switching_frequency_hz,
        datum=datum,
    )


def _said(page: RunPage, corrected: _Corrected) -> Sequence[tuple[str, ...]]:
    """Return what is to be said of calibration and declaration, for each run."""
    return [
        (*said, *about_the_bench(known))
        for said, known in zip(corrected.statements, page.bench, strict=True)
    ]


def _causes(page: RunPage, in_place_of_screw: Collection[int]) -> BenchCauses:
    rows = [
        _row(known, run not in in_place_of_screw)
        for run, known in enumerate(page.bench)
    ]
    return BenchCauses.from_table(np.array(rows))


@lru_cache(maxsize=1024)
def _row(known: BenchKnowledge | None, screw: bool) -> tuple[float, ...]:
    return tuple(bench_causes(known, screw=screw).table(()).tolist())


class _Corrected:
    """Edges of a page with the calibration of each run's axis applied.

    Attributes:
        operate_steps: Shape (s,).
        release_steps: Shape (s,).
        axis_mm: Standard uncertainty of the axis with it, shape (r,).
        statements: What is to be said of it, for each run.
        in_place_of_screw: Runs whose calibration takes the place of what is declared of
            the screw.
    """

    def __init__(self, page: RunPage, starts: npt.NDArray[np.intp]) -> None:
        self.operate_steps = page.operate_steps
        self.release_steps = page.release_steps
        self.axis_mm = page.axis_mm
        self.in_place_of_screw: set[int] = set()
        uncalibrated = _said_without_calibration()
        self.statements = [uncalibrated] * len(page.run_ids)
        if page.calibrated:
            self.operate_steps = page.operate_steps.copy()
            self.release_steps = page.release_steps.copy()
            self.axis_mm = page.axis_mm.copy()
            for alike in _calibrated_alike(page):
                self._apply(page, starts, alike)

    def _apply(
        self, page: RunPage, starts: npt.NDArray[np.intp], alike: _Alike
    ) -> None:
        runs = np.array(alike.runs)
        rows = starts[runs][:, np.newaxis] + np.arange(alike.sweeps)
        scale = page.steps_per_mm[runs]
        datum = page.datum_steps[runs]
        on = operate_gap_mm(
            page.operate_steps[rows], datum_steps=datum, steps_per_mm=scale
        )
        off = release_gap_mm(
            page.release_steps[rows],
            datum_steps=datum,
            steps_per_mm=scale,
            backlash_mm=page.backlash_mm[runs],
        )
        corrections = gap_corrections(
            on,
            off,
            datum_mm=datum / scale,
            backlash_mm=page.backlash_mm[runs],
            stated_mm=page.axis_mm[runs],
            calibration=alike.calibration,
            day=alike.day,
        )
        steps = scale[:, np.newaxis]
        # A larger gap is a place with fewer steps
        operate_mm = np.stack([each.operate_mm for each in corrections])
        self.operate_steps[rows] -= operate_mm * steps
        release_mm = np.stack([each.release_mm for each in corrections])
        self.release_steps[rows] -= release_mm * steps
        self.axis_mm[runs] = [each.axis_mm for each in corrections]
        self.in_place_of_screw.update(
            run
            for run, each in zip(alike.runs, corrections, strict=True)
            if each.in_place_of_screw
        )
        for run, each in zip(alike.runs, corrections, strict=True):
            self.statements[run] = each.statements


@dataclass(frozen=True, slots=True, kw_only=True)
class _Alike:
    """Runs under one calibration, of one day and with as many sweeps."""

    calibration: AxisCalibration
    day: date
    sweeps: int
    runs: list[int]


def _calibrated_alike(page: RunPage) -> Iterator[_Alike]:
    runs: defaultdict[tuple[AxisCalibration, date, int], list[int]] = defaultdict(list)
    for run, each in page.calibrated.items():
        runs[each.calibration, each.last_day, int(page.sweeps[run])].append(run)
    for (calibration, day, sweeps), found in runs.items():
        yield _Alike(calibration=calibration, day=day, sweeps=sweeps, runs=found)


@lru_cache(maxsize=1)
def _said_without_calibration() -> tuple[str, ...]:
    (nothing,) = gap_corrections(
        np.zeros((1, 0)),
        np.zeros((1, 0)),
        datum_mm=[0.0],
        backlash_mm=[0.0],
        stated_mm=[0.0],
        calibration=None,
        day=date.min,
    )
    return nothing.statements
