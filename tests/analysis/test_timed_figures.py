"""Figures of a run with a timetable: the 8 h test, and what is not quite one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from rig.analysis.run.run_figures import run_figures
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.model.figures import RunFigures
from rig.model.sweeps import DatumCheck, Run, Sweep, Timetable

MakeRun = Callable[..., Run]
READINGS = 9


def timed_run(make_run: MakeRun, *, hours: float = 8.0, taken: int = READINGS) -> Run:
    """Return a run of two sweeps a reading that drifts by one step a reading."""
    operate = [7200 - i // 2 + (i % 2) * 3 for i in range(2 * taken)]
    run = make_run(operate, [at - 1664 for at in operate], [1.0, 2.0] * taken)
    start = run.header.started_at
    step = hours / (READINGS - 1)
    return replace(
        run,
        header=replace(
            run.header,
            sweeps_wanted=2 * READINGS,
            timetable=Timetable(hours=hours, readings=READINGS),
        ),
        sweeps=tuple(
            replace(s, ended_at=start + timedelta(hours=step * (s.index // 2)))
            for s in run.sweeps
        ),
    )


def test_a_complete_timetable_gives_the_figures_of_the_8_h_test(
    make_run: MakeRun,
) -> None:
    figures = run_figures(timed_run(make_run))

    assert figures.repeat_accuracy_short_term is None
    assert figures.repeat_accuracy_timetable is None
    assert figures.repeat_accuracy_timetable_percent is None
    spread, share = figures.repeat_accuracy_8_h, figures.repeat_accuracy_8_h_percent
    assert spread is not None
    assert share is not None
    assert (spread.unit, spread.n, share.unit, share.n) == ("mm", 9, "%", 9)
    assert share.value == pytest.approx(100.0 * spread.value / figures.operate.value)
    drift = figures.operate_drift
    assert drift is not None
    # One step of 1/1600 mm every hour, and fewer steps are a larger gap
    assert drift.value == pytest.approx(1.0 / 1600.0)
    assert drift.expanded_uncertainty is not None
    assert "8 h test: the temperature was not recorded" in " ".join(figures.warnings)


@pytest.mark.parametrize(
    ("hours", "taken", "words"),
    [
        (7.5, READINGS, "the readings span 7.5 h, not 8 h"),
        (8.0 * 8 / 7, READINGS - 1, "8 of 9 readings were taken"),
    ],
)
def test_what_is_not_the_whole_test_has_figures_of_its_own(
    make_run: MakeRun, hours: float, taken: int, words: str
) -> None:
    figures = run_figures(timed_run(make_run, hours=hours, taken=taken))

    assert figures.repeat_accuracy_short_term is None
    assert figures.repeat_accuracy_8_h is None
    assert figures.repeat_accuracy_8_h_percent is None
    assert figures.repeat_accuracy_timetable is not None
    assert figures.repeat_accuracy_timetable_percent is not None
    (said,) = [each for each in figures.warnings if "not the standard's 8 h" in each]
    assert words in said


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        # Four readings in time, then an outage and the rest at once
        ([0.0, 1.0, 2.0, 3.0, 10.0, 10.01, 10.02, 10.03, 10.04], "apart, more than"),
        ([0.0, 1.2, 2.4, 3.6, 4.8, 6.0, 7.2, 8.4, 9.6], "more than 9 h"),
        ([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 8.0], "7.3 h apart"),
    ],
)
def test_readings_that_are_not_spread_over_the_hours_are_no_8_h_test(
    make_run: MakeRun, hours: list[float], words: str
) -> None:
    run = timed_run(make_run)
    start = run.header.started_at
    late = tuple(
        replace(s, ended_at=start + timedelta(hours=hours[s.index // 2]))
        for s in run.sweeps
    )

    run = replace(run, sweeps=late)
    figures = run_figures(run)

    assert figures.repeat_accuracy_8_h is None
    assert figures.repeat_accuracy_timetable is not None
    (said,) = [each for each in figures.warnings if "not the standard's 8 h" in each]
    assert words in said
    found = standard_of_run(run, figures)
    assert found.verdicts["R"].decision.value == "not tested"


def test_the_range_over_several_datums_has_no_uncertainty(make_run: MakeRun) -> None:
    run = timed_run(make_run)
    again = replace(
        run,
        later_conditions=(run.header.conditions,),
        sweeps=tuple(replace(s, conditions_index=int(s.index > 9)) for s in run.sweeps),
    )
    short = replace(again, header=replace(again.header, timetable=None))

    over_time, at_once = run_figures(again), run_figures(short)

    for figure in (
        over_time.repeat_accuracy_8_h,
        over_time.repeat_accuracy_8_h_percent,
        at_once.repeat_accuracy_short_term,
    ):
        assert figure is not None
        assert figure.expanded_uncertainty is None
        assert "several datums" in figure.why_none


def test_one_reading_of_a_timetable_gives_no_repeat_accuracy(make_run: MakeRun) -> None:
    run = timed_run(make_run, taken=1)

    figures = run_figures(run)

    assert given(figures) == set()
    why = "1 of 9 readings are complete"
    assert f"No repeat accuracy over the timetable: {why}." in figures.warnings
    assert f"No R: {why}." in standard_of_run(run, figures).statements


def test_a_clock_that_was_set_back_costs_no_other_figure(make_run: MakeRun) -> None:
    run = timed_run(make_run)
    back = replace(run, sweeps=tuple(reversed_times(run)))

    figures = run_figures(back)

    assert given(figures) == set()
    assert figures.operate == run_figures(run).operate
    assert any("is not after the one before it" in said for said in figures.warnings)


def test_the_verdict_on_r_rests_on_the_figure_of_the_8_h_test(
    make_run: MakeRun,
) -> None:
    run = timed_run(make_run)
    figures = run_figures(run)

    found = standard_of_run(run, figures)

    assert found.repeat_accuracy_field == "repeat_accuracy_8_h_percent"
    assert found.verdicts["R"].figure == figures.repeat_accuracy_8_h_percent
    assert "9 readings over 8 h, the 8 h test" in found.statements[0]


def test_figures_of_an_earlier_analysis_give_no_r_for_a_timetable(
    make_run: MakeRun,
) -> None:
    run = timed_run(make_run)
    short = run_figures(replace(run, header=replace(run.header, timetable=None)))
    old = replace(short, response_time_both=None, analysis_version="2")

    found = standard_of_run(run, old)

    assert set(found.verdicts) == {"s_r", "H"}
    assert "`gapsweep recompute` does" in found.statements[0]


def test_a_run_without_a_timetable_has_the_short_term_figure(make_run: MakeRun) -> None:
    run = timed_run(make_run)
    figures = run_figures(replace(run, header=replace(run.header, timetable=None)))

    assert given(figures) == {"repeat_accuracy_short_term"}


def given(figures: RunFigures) -> set[str]:
    """Return which figures of repeat accuracy over a while there are."""
    fields = (
        *("repeat_accuracy_short_term", "repeat_accuracy_8_h"),
        *("repeat_accuracy_8_h_percent", "repeat_accuracy_timetable"),
        *("repeat_accuracy_timetable_percent", "operate_drift"),
    )
    return {field for field in fields if getattr(figures, field) is not None}


def reversed_times(run: Run) -> list[Sweep]:
    times = [sweep.ended_at for sweep in reversed(run.sweeps)]
    return [
        replace(sweep, ended_at=at) for sweep, at in zip(run.sweeps, times, strict=True)
    ]


def test_what_the_face_moved_by_over_the_hours_is_in_r_and_in_the_drift(
    make_run: MakeRun,
) -> None:
    """What is off by up to d either way is a rectangle, d / sqrt 3 (GUM, 4.3.7).

    d here is 4 µm, in 8 h, and the step grid 1/1600 mm, either way too.
    """
    still = timed_run(make_run)
    datum = still.header.conditions.datum
    checks = tuple(
        DatumCheck(
            sweeps_before=2 * (reading + 1),
            position_steps=datum.position_steps + 1600 * 0.004 * reading / 8.0,
            standard_uncertainty_mm=1e-4,
            degrees_of_freedom=2.0,
            n=3,
            touched_at=still.header.started_at + timedelta(hours=reading),
        )
        for reading in range(READINGS)
    )

    before, after = run_figures(still), run_figures(replace(still, datum_checks=checks))

    bare, moved = before.repeat_accuracy_8_h, after.repeat_accuracy_8_h
    assert bare is not None
    assert moved is not None
    assert moved.value == bare.value
    assert moved.expanded_uncertainty == pytest.approx(
        1.959964 * math.sqrt((0.004**2 + (1.0 / 1600.0) ** 2) / 3.0), rel=1e-3
    )
    drift, share = after.operate_drift, after.repeat_accuracy_8_h_percent
    assert drift is not None
    # The readings lie on a line, so nothing else is left
    assert drift.expanded_uncertainty == pytest.approx(
        1.959964 * 0.004 / 8.0 / math.sqrt(3.0), rel=1e-3
    )
    assert share is not None
    assert share.expanded_uncertainty == pytest.approx(
        100.0 * moved.expanded_uncertainty / after.operate.value, rel=0.01
    )
