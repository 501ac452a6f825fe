"""Calibration of the axis, repeat accuracy over time, switching delay."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta

import numpy as np
import pytest

from rig.analysis.axis.axis_test import axis_test, readings_from_rows
from rig.analysis.axis.calibration_state import CalibrationState, calibration_state
from rig.analysis.axis.correction_table import (
    CorrectionTable,
    correct_gaps,
    table_from_axis_test,
)
from rig.analysis.limits.verdict import Decision
from rig.analysis.numbers.uncertainty import figure
from rig.analysis.run.repeat_accuracy import (
    eight_hour_test,
    range_of_readings,
    share_of_distance,
)
from rig.analysis.run.run_figures import run_figures
from rig.analysis.standard.switching_delay import delay_verdict
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.sweeps import Run

# Gauge blocks read with an indicator: text as in a CSV file, in any order
ROWS = [
    (target, direction, str(deviation + run))
    for run in (0.0, 0.001)
    for target, deviation in (("20", 0.006), ("0", 0.0), ("10", 0.002))
    for direction in ("up", " Down ")
]
MADE, DUE = date(2026, 1, 10), date(2027, 1, 10)


def table() -> CorrectionTable:
    return table_from_axis_test(
        axis_test(readings_from_rows(ROWS)),
        instrument_uncertainty_mm=0.001,
        calibrated_on=MADE,
        due_on=DUE,
        certificate="K 17",
    )


def s_r(value: float = 4.0105) -> Figure:
    line = Contribution(
        name="zero", evaluation=Evaluation.TYPE_B, standard_uncertainty=0.002, unit="mm"
    )
    return figure(value, "mm", [line], n=10)


def test_typed_readings_become_a_test() -> None:
    result = axis_test(readings_from_rows(ROWS))

    assert result.targets_mm.tolist() == [0.0, 10.0, 20.0]
    assert result.mean_up == pytest.approx([0.0005, 0.0025, 0.0065])
    assert result.reversal == 0.0
    assert result.n == 2
    assert "2 runs each way; ISO 230-2 asks for 5" in result.statements


def test_correction_between_the_calibrated_places() -> None:
    # Gaps back from a datum at 20 mm, where the correction is 6.5 um
    result = correct_gaps([[20.0, 15.0, 0.0]], [20.0], table())

    assert 20.0065 - result.values_mm[0] == pytest.approx([0.0005, 5.0015, 20.0065])
    # Scatter of the mean 0.5 um, instrument 1 um, at either end
    either = np.hypot(np.hypot(5e-4, 1e-3), np.hypot(5e-4, 1e-3))
    assert result.standard_uncertainty_mm[0, [0, 2]] == pytest.approx([either] * 2)
    # From 2 to 4 um in 10 mm each: lines may miss a bend of 0.25 um half way
    assert result.standard_uncertainty_mm[0, 1] == pytest.approx(
        np.hypot(either, 0.00025)
    )


def test_a_gap_is_corrected_at_both_ends() -> None:
    result = correct_gaps([[10.0, 20.0], [10.0, 5.0]], [20.0, 10.0], table())

    # From 20 back to 10: 6.5 um less 2.5 um; from 10 back to 0: 2.5 um less 0.5 um
    assert result.values_mm == pytest.approx(
        np.array([[10.004, 20.006], [10.002, 5.001]])
    )


def test_a_valid_calibration_has_nothing_to_be_said() -> None:
    state = calibration_state(table(), date(2026, 6, 1))

    assert state == (CalibrationState.VALID, "")


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (DUE + timedelta(days=3), "3 days ago"),
        (MADE - timedelta(days=1), "after the measurement"),
    ],
)
def test_a_stale_calibration_is_said(day: date, words: str) -> None:
    state, statement = calibration_state(table(), day)

    assert state is CalibrationState.STALE
    assert words in statement
    assert "K 17" in statement


def test_on_its_last_day_a_calibration_is_valid() -> None:
    assert calibration_state(table(), DUE)[0] is CalibrationState.VALID


def test_a_missing_calibration_is_said() -> None:
    state, statement = calibration_state(None, DUE)

    assert state is CalibrationState.MISSING
    assert "no calibration" in statement


# Constructed set of ten operate points
OPERATE = [4.012, 4.008, 4.015, 4.010, 4.006, 4.011, 4.013, 4.009, 4.007, 4.014]


def test_repeat_accuracy_of_the_constructed_set() -> None:
    largest = range_of_readings(OPERATE, step_mm=0.000625)
    assert largest is not None
    percent = share_of_distance(largest, s_r())

    assert largest.value == pytest.approx(0.0090, abs=1e-9)
    assert percent.value == pytest.approx(0.224411, abs=5e-7)
    assert largest.n == 10


def test_repeat_accuracy_is_known_as_well_as_two_steps() -> None:
    # Off by less than a step, up or down: q/sqrt 3 = 0.36084 um
    largest = range_of_readings(OPERATE, step_mm=0.000625)

    assert largest is not None
    assert largest.expanded_uncertainty == pytest.approx(
        1.959964 * 0.00036084, rel=1e-4
    )


def test_two_readings_have_no_range() -> None:
    assert range_of_readings(OPERATE[:2], step_mm=0.000625) is None
    assert range_of_readings(OPERATE[:3], step_mm=0.000625) is not None


def eight_hours(
    hours: float = 8.0, temperature_c: float = 23.0
) -> tuple[list[float], list[list[float]], list[float]]:
    times = np.linspace(0.0, hours, 9)
    rows = 4.0 + 0.001 * times[:, None] + np.array([0.0, 0.0005])
    return times.tolist(), rows.tolist(), [23.0] * 8 + [temperature_c]


def test_8_h_test_takes_any_two_readings() -> None:
    times, rows, temperature = eight_hours()

    result = eight_hour_test(
        times,
        rows,
        s_r(),
        step_mm=0.000625,
        temperature_c=temperature,
        supply_share=[1.0] * 9,
    )

    assert result.complete
    assert result.repeat_accuracy.kind == "8 h test"
    # 8 um of drift and 0.5 um within a time
    assert result.repeat_accuracy.largest_difference.value == pytest.approx(0.0085)
    assert result.repeat_accuracy.largest_difference.n == 18
    assert result.drift.value == pytest.approx(0.001)
    assert result.drift.unit == "mm/h"
    assert result.between_times is not None
    assert result.between_times.sd_between > result.between_times.sd_within


def test_the_drift_has_the_scatter_of_the_means_about_the_line() -> None:
    times = [0.0, 2.0, 4.0, 6.0, 8.0]
    means = [4.0, 4.003, 4.003, 4.007, 4.007]

    drift = eight_hour_test(
        times, [[mean] for mean in means], s_r(), step_mm=0.000625
    ).drift

    # Closed form of the slope of a line and of its standard deviation, 3 of freedom
    slope, line = np.polyfit(times, means, 1)
    left = np.array(means) - line - slope * np.array(times)
    sd = np.sqrt(left @ left / 3.0 / 40.0)
    assert drift.value == pytest.approx(slope)
    assert drift.n == 5
    assert drift.expanded_uncertainty == pytest.approx(3.1824463 * sd, rel=1e-6)


def test_two_times_give_a_drift_without_uncertainty() -> None:
    drift = eight_hour_test([0.0, 8.0], [[4.0], [4.008]], s_r(), step_mm=0.001).drift

    assert drift.value == pytest.approx(0.001)
    assert drift.why_none == "two times leave no scatter about the line over time"


def test_a_reading_left_out_makes_the_8_h_test_incomplete() -> None:
    times, rows, _ = eight_hours()

    result = eight_hour_test(times, rows, s_r(), step_mm=0.000625, readings_due=10)

    assert result.faults == ("9 of 10 readings were taken",)
    assert not result.complete


@pytest.mark.parametrize(
    ("hours", "temperature", "words"),
    [(7.5, 23.0, "7.5 h, not 8 h"), (8.0, 28.5, "28.5 °C, outside 18 to 28 °C")],
)
def test_what_is_not_the_8_h_test_is_not_called_so(
    hours: float, temperature: float, words: str
) -> None:
    times, rows, temperatures = eight_hours(hours, temperature)

    result = eight_hour_test(
        times, rows, s_r(), step_mm=0.000625, temperature_c=temperatures
    )

    assert not result.complete
    assert result.repeat_accuracy.kind == "timetable, not the 8 h test"
    assert any(words in said for said in result.repeat_accuracy.statements)
    assert any(
        "supply was not recorded" in s for s in result.repeat_accuracy.statements
    )


def delayed_run(
    make_run: Callable[..., Run],
    speeds: Sequence[float],
    operate_mm: Sequence[float],
    release_mm: Sequence[float],
) -> Run:
    """Return a run with these gaps: datum 20000 steps, backlash 64 steps."""
    operate = [20000 - round(1600 * gap) for gap in operate_mm]
    release = [20000 - round(1600 * gap) - 64 for gap in release_mm]
    return make_run(operate, release, speeds)


# Closed form: H = 0.2 mm, tau = 5 ms each, v = 1 and 2 mm/s give 0.210 and 0.220 mm
def test_two_speeds_recover_delay_and_differential_travel(
    make_run: Callable[..., Run],
) -> None:
    v = [1.0, 2.0, 1.0, 2.0]
    on, off = [4.0 - 0.005 * x for x in v], [4.2 + 0.005 * x for x in v]

    result = run_figures(delayed_run(make_run, v, on, off))

    assert result.response_time_operate is not None
    assert result.response_time_release is not None
    assert result.response_time_both is not None
    assert result.response_time_operate.value == pytest.approx(5.0, abs=1e-9)
    assert result.response_time_release.value == pytest.approx(5.0, abs=1e-9)
    assert result.response_time_both.value == pytest.approx(10.0, abs=1e-9)
    # A count stands for the middle of a step, which lies nearer the other flank
    travel = result.differential_travel.value
    assert travel == pytest.approx(0.2 - 1.0 / 1600.0, abs=1e-9)


def test_one_speed_tells_no_delay(make_run: Callable[..., Run]) -> None:
    result = run_figures(delayed_run(make_run, [1.0] * 3, [8.0] * 3, [9.0] * 3))

    assert result.response_time_both is None
    assert any("1 mm/s" in said and "delay" in said for said in result.warnings)


def test_delays_may_differ_and_are_held_against_the_data_sheet(
    make_run: Callable[..., Run],
) -> None:
    rng = np.random.default_rng(6)
    v = np.tile([1.0, 5.0, 10.0], 20)
    on = 8.0 - 0.004 * v + rng.normal(0.0, 0.001, 60)
    off = 8.4 + 0.012 * v + rng.normal(0.0, 0.001, 60)

    result = run_figures(delayed_run(make_run, v.tolist(), on.tolist(), off.tolist()))

    both = result.response_time_both
    assert result.response_time_operate is not None
    assert result.response_time_release is not None
    assert both is not None
    assert result.response_time_operate.value == pytest.approx(
        4.0, abs=4 * 0.001 / 0.029
    )
    assert result.response_time_release.value == pytest.approx(
        12.0, abs=4 * 0.001 / 0.029
    )
    # 16 ms in all: within 1/50 Hz = 20 ms, beyond 1/100 Hz
    assert delay_verdict(both, 50.0).decision is Decision.CONFORMS
    assert delay_verdict(both, 100.0).decision is Decision.DOES_NOT_CONFORM
