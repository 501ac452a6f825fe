from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rig.analysis.edges.budget import Knowns
from rig.analysis.edges.run_arrays import run_arrays
from rig.analysis.run.quantities import run_quantities
from rig.analysis.run.run_figures import run_figures
from rig.errors import BenchError
from rig.model.figures import Figure
from rig.model.mounted import BacklashSource
from rig.model.sweeps import Edge, Run, Sweep
from rig.version import ANALYSIS_VERSION

SPEEDS = [1.0, 4.0] * 5
# 4 mm and 4.5 mm plus 0.04 mm backlash, delay 5 ms and 2 ms, scatter of a few steps
OPERATE = [
    int(20000 - 4.0 * 1600 + v * 0.005 * 1600 + e)
    for v, e in zip(SPEEDS, [2, -3, 4, 1, -5, 3, 0, -2, 6, -4], strict=True)
]
RELEASE = [
    int(20000 - 4.54 * 1600 - v * 0.002 * 1600 + e)
    for v, e in zip(SPEEDS, [-1, 3, 2, -4, 5, 0, -3, 1, -2, 4], strict=True)
]


def test_run_gives_every_figure_with_unit_n_and_budget(make_run) -> None:
    figures = run_figures(make_run(OPERATE, RELEASE, SPEEDS))

    assert figures.operate.value == pytest.approx(4.0, abs=0.004)
    assert figures.release.value == pytest.approx(4.5, abs=0.004)
    assert figures.response_time_operate.value == pytest.approx(5.0, abs=1.5)
    assert figures.response_time_release.value == pytest.approx(2.0, abs=1.5)
    assert figures.warnings == (
        "The axis has no calibration: positions rest on the nominal screw.",
    )
    assert figures.analysis_version == ANALYSIS_VERSION
    for figure in (
        figures.operate,
        figures.release,
        figures.differential_travel,
        figures.threshold_operate,
    ):
        assert (figure.unit, figure.n, figure.why_none) == ("mm", 10, "")
        assert figure.expanded_uncertainty > 0.0
        assert figure.budget


def test_differential_travel_is_release_less_operate(make_run) -> None:
    figures = run_figures(make_run(OPERATE, RELEASE, SPEEDS))

    difference = figures.release.value - figures.operate.value
    assert figures.differential_travel.value == pytest.approx(difference, abs=1e-12)
    percent = 100.0 * difference / figures.operate.value
    assert figures.differential_travel_percent.value == pytest.approx(
        percent, rel=1e-12
    )


def test_threshold_and_bias_make_up_the_observed_points(make_run) -> None:
    figures = run_figures(make_run(OPERATE, RELEASE, SPEEDS))

    on = figures.threshold_operate.value + figures.first_passage_bias_operate.value
    off = figures.threshold_release.value - figures.first_passage_bias_release.value
    assert figures.first_passage_bias_operate.value > 0.0
    assert on == pytest.approx(figures.operate.value, abs=1e-12)
    assert off == pytest.approx(figures.release.value, abs=1e-12)


def test_expanded_uncertainty_can_be_recomputed_from_the_budget(make_run) -> None:
    figures = run_figures(make_run(OPERATE, RELEASE, SPEEDS))

    for figure in (figures.operate, figures.differential_travel_percent):
        combined = math.sqrt(
            sum((c.sensitivity * c.standard_uncertainty) ** 2 for c in figure.budget)
        )
        expected = figure.coverage_factor * combined
        assert figure.expanded_uncertainty == pytest.approx(expected, rel=1e-12)


def test_sensitivities_of_the_percent_are_its_derivatives(make_run) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS)
    arrays = run_arrays(run)
    knowns = arrays.knowns
    shift_steps, shift_mm = 0.01, 0.01 / 1600.0

    def percent(on: float, off: float, datum: float, lost: float) -> float:
        moved = replace(
            knowns,
            datum_steps=knowns.datum_steps + datum,
            backlash_mm=knowns.backlash_mm + lost,
        )
        found = run_quantities(
            arrays.operate_steps + on,
            arrays.release_steps + off,
            arrays.speed_mm_s,
            moved,
        )
        return float(found.differential_travel_percent.value)

    rest = percent(0.0, 0.0, 0.0, 0.0)
    derivatives = {
        "touch-off scatter": percent(0.0, 0.0, shift_steps, 0.0),
        "backlash": percent(0.0, 0.0, 0.0, shift_mm),
        "step grid, operate": percent(shift_steps, 0.0, 0.0, 0.0),
        "step grid, release": percent(0.0, shift_steps, 0.0, 0.0),
    }
    budget = run_figures(run).differential_travel_percent.budget
    for name, moved in derivatives.items():
        lines = [c for c in budget if c.name.startswith(name)]

        assert len(lines) == 1
        assert abs(lines[0].sensitivity) == pytest.approx(
            abs(moved - rest) / shift_mm, rel=1e-4
        )


def test_zero_error_of_the_datum_does_not_enter_differential_travel(make_run) -> None:
    exact = run_figures(make_run(OPERATE, RELEASE, SPEEDS, probe_mm=0.0))
    vague = run_figures(make_run(OPERATE, RELEASE, SPEEDS, probe_mm=0.5))

    assert vague.operate.expanded_uncertainty > 0.5
    assert vague.differential_travel == exact.differential_travel


def test_an_offset_common_to_a_sweep_cancels_in_differential_travel(make_run) -> None:
    moved = [(-1) ** (i // 2) * 40 for i in range(10)]
    on = [a + b for a, b in zip(OPERATE, moved, strict=True)]
    off = [a + b for a, b in zip(RELEASE, moved, strict=True)]

    steady = run_figures(make_run(OPERATE, RELEASE, SPEEDS))
    shaken = run_figures(make_run(on, off, SPEEDS))

    before, after = steady.differential_travel, shaken.differential_travel
    assert shaken.operate.standard_deviation > 3.0 * steady.operate.standard_deviation
    assert after.value == pytest.approx(before.value, abs=2e-4)
    assert after.standard_deviation == pytest.approx(
        before.standard_deviation, rel=1e-6
    )


def test_backlash_is_taken_off_release_in_full_and_not_off_operate(make_run) -> None:
    measured = run_figures(make_run(OPERATE, RELEASE, SPEEDS))
    not_measured = run_figures(
        make_run(OPERATE, RELEASE, SPEEDS, backlash_source=BacklashSource.NOT_MEASURED)
    )

    shift = not_measured.release.value - measured.release.value
    assert shift == pytest.approx(0.04, abs=1e-12)
    assert not_measured.operate.value == measured.operate.value
    assert any("Backlash was not measured" in w for w in not_measured.warnings)


def test_one_sweep_has_values_and_the_words_why_no_uncertainty(make_run) -> None:
    figures = run_figures(make_run([13600], [12736], [1.0]))

    for figure in (figures.operate, figures.release, figures.differential_travel):
        assert isinstance(figure, Figure)
        assert figure.expanded_uncertainty is None
        assert figure.standard_deviation is None
        assert "one sweep" in figure.why_none
        assert all(math.isfinite(c.standard_uncertainty) for c in figure.budget)
    assert figures.response_time_operate is None
    assert "taken as 0" in figures.threshold_operate.why_none


def test_two_sweeps_at_two_speeds_leave_no_degrees_of_freedom(make_run) -> None:
    figures = run_figures(make_run([13600, 13624], [12736, 12726], [1.0, 4.0]))

    assert figures.operate.expanded_uncertainty is None
    assert "degrees of freedom" in figures.operate.why_none
    assert figures.response_time_operate.value == pytest.approx(5.0)
    assert figures.response_time_operate.expanded_uncertainty is None


def test_single_speed_leaves_the_delay_in_and_bounds_it_by_the_data_sheet(
    make_run,
) -> None:
    speeds = [2.0] * 5
    on, off = [13600, 13604, 13598, 13601, 13603], [12736, 12733, 12735, 12738, 12734]

    bounded = run_figures(make_run(on, off, speeds, frequency_hz=50.0))
    unbounded = run_figures(make_run(on, off, speeds))

    lines = [c for c in bounded.operate.budget if "delay left in" in c.name]
    # Root mean square of 0 to 2 mm/s / 50 Hz = 0.04 mm about 0
    assert lines[0].standard_uncertainty == pytest.approx(0.04 / math.sqrt(3.0))
    assert "assumed 0 to 20 ms" in lines[0].name
    assert bounded.operate.value == unbounded.operate.value
    assert not any("delay left in" in c.name for c in unbounded.operate.budget)
    assert any("uncertainty leaves it out" in w for w in unbounded.warnings)


def test_scatter_below_half_a_step_puts_the_step_into_the_budget(make_run) -> None:
    still = run_figures(make_run([13600] * 5, [12736] * 5, [1.0] * 5))
    lively = run_figures(make_run(OPERATE, RELEASE, SPEEDS))

    def grid(figure: Figure) -> float:
        return next(
            c.standard_uncertainty for c in figure.budget if "step grid" in c.name
        )

    assert grid(still.operate) == pytest.approx(0.000625 / math.sqrt(12.0))
    assert grid(lively.operate) == 0.0
    assert still.operate.standard_deviation == 0.0
    assert still.first_passage_bias_operate.value == 0.0


def test_void_sweeps_are_left_out_and_counted(make_run) -> None:
    voids = ["edge where none was expected", *[""] * 9]

    figures = run_figures(
        make_run([OPERATE[0] + 900, *OPERATE[1:]], RELEASE, SPEEDS, voids=voids)
    )

    assert figures.operate.n == 9
    assert figures.operate.value == pytest.approx(4.0, abs=0.005)
    assert any("1 of 10 sweeps are not used" in w for w in figures.warnings)


def test_run_without_a_usable_sweep_is_one_clear_error(make_run) -> None:
    run = make_run([13600], [12736], [1.0], voids=["stopped by the user"])

    with pytest.raises(BenchError, match="no usable sweep among 1") as caught:
        run_figures(run)

    assert caught.value.hint == "stopped by the user"


def test_shifted_home_switch_is_said_first(make_run) -> None:
    figures = run_figures(make_run(OPERATE, RELEASE, SPEEDS, home_shift_steps=64))

    assert "moved by +64 steps" in figures.warnings[0]


@pytest.mark.parametrize(
    ("home_shift_steps", "moved_mm", "said"),
    [(None, None, True), (None, 0.0, False), (0, None, False)],
)
def test_unchecked_home_switch_is_said_unless_the_face_was_found_again(
    make_run, home_shift_steps: int | None, moved_mm: float | None, said: bool
) -> None:
    figures = run_figures(
        make_run(
            OPERATE,
            RELEASE,
            SPEEDS,
            home_shift_steps=home_shift_steps,
            moved_mm=moved_mm,
        )
    )

    unnoticed = [w for w in figures.warnings if "lost steps would have gone" in w]
    assert len(unnoticed) == said
    for words in unnoticed:
        assert "Neither the home switch nor the face was touched again" in words


def test_run_taken_up_again_with_a_new_datum_gives_the_same_points(make_run) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS)
    first = run.header.conditions
    # After a restart the home switch is found 300 steps off, and 0.01 mm more backlash
    later = replace(
        first,
        datum=replace(first.datum, position_steps=first.datum.position_steps + 300.0),
        backlash=replace(first.backlash, value_mm=first.backlash.value_mm + 0.01),
    )

    def moved(sweep: Sweep) -> Sweep:
        on, off = sweep.operate, sweep.release
        on = replace(on, position_steps=on.position_steps + 300)
        off = replace(off, position_steps=off.position_steps + 300 - 16)
        return replace(
            sweep, operate=on, release=off, edges=(on, off), conditions_index=1
        )

    resumed = replace(
        run,
        later_conditions=(later,),
        sweeps=(*run.sweeps[:4], *map(moved, run.sweeps[4:])),
    )

    whole, parted = run_figures(run), run_figures(resumed)

    assert parted.operate.value == pytest.approx(whole.operate.value, abs=1e-9)
    assert parted.release.value == pytest.approx(whole.release.value, abs=1e-9)
    touch = {f: f.operate.budget[1].standard_uncertainty for f in (whole, parted)}
    # Shares 0.4 and 0.6 of two independent touch-offs
    assert touch[parted] == pytest.approx(touch[whole] * math.hypot(0.4, 0.6))
    assert parted.operate.budget[2] == whole.operate.budget[2]
    assert any("under 2 datums" in w for w in parted.warnings)


def test_run_at_two_scales_is_refused(make_run) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS)
    first = run.header.conditions
    other = replace(first, axis=replace(first.axis, steps_per_mm=800.0))

    with pytest.raises(BenchError, match="two scales"):
        run_figures(replace(run, later_conditions=(other,)))


def test_drifting_run_is_said(make_run) -> None:
    on = [o - 5 * i for i, o in enumerate(OPERATE)]

    figures = run_figures(make_run(on, RELEASE, SPEEDS))

    assert any("drifts by +" in w for w in figures.warnings)


def test_negative_differential_travel_is_reported_and_not_hidden(make_run) -> None:
    off = [o + 200 for o in RELEASE]
    on = [o - 800 for o in OPERATE]

    figures = run_figures(make_run(on, off, SPEEDS))

    assert figures.differential_travel.value < 0.0
    assert any("comes out negative" in w for w in figures.warnings)


def test_chatter_is_counted(make_run) -> None:
    run = make_run(OPERATE, RELEASE, SPEEDS)
    first = run.sweeps[0]
    extra = tuple(
        Edge(number=0, level=lvl, position_steps=0, time_us=0, approaching=True)
        for lvl in (False, True)
    )
    noisy = replace(first, edges=(first.edges[0], *extra, first.edges[1]))

    figures = run_figures(replace(run, sweeps=(noisy, *run.sweeps[1:])))

    assert any(
        "chattered in 1 of 10 sweeps, with 2 edges" in w for w in figures.warnings
    )


def test_operate_point_at_the_face_has_no_percent(make_run) -> None:
    run = make_run([o + 6400 for o in OPERATE], RELEASE, SPEEDS)

    percent = run_figures(run).differential_travel_percent

    assert percent.expanded_uncertainty is None
    assert "means nothing" in percent.why_none


def test_repeat_accuracy_is_the_range_of_one_speed_as_it_came(make_run) -> None:
    figures = run_figures(make_run(OPERATE, RELEASE, SPEEDS))

    # 15 ms of travel lie between the speeds, and are in no range
    slow = [steps for steps, speed in zip(OPERATE, SPEEDS, strict=True) if speed == 1.0]
    repeat = figures.repeat_accuracy_short_term
    assert repeat.value == pytest.approx((max(slow) - min(slow)) / 1600.0)
    assert repeat.n == len(slow) == 5
    assert repeat.expanded_uncertainty == pytest.approx(1.1316 / 1600.0, rel=1e-3)


def test_many_runs_at_once_give_what_each_gives_alone(make_run) -> None:
    runs: list[Run] = [
        make_run(list(np.roll(OPERATE, 2 * k)), list(np.roll(RELEASE, 2 * k)), SPEEDS)
        for k in range(5)
    ]
    arrays = [run_arrays(run) for run in runs]

    together = run_quantities(
        np.stack([a.operate_steps for a in arrays]),
        np.stack([a.release_steps for a in arrays]),
        arrays[0].speed_mm_s,
        arrays[0].knowns,
    )

    expanded = together.differential_travel.expanded().expanded_uncertainty
    for k, run in enumerate(runs):
        alone = run_figures(run).differential_travel
        assert together.differential_travel.value[k] == pytest.approx(alone.value)
        assert expanded[k] == pytest.approx(alone.expanded_uncertainty)


def test_numbers_that_are_none_are_refused(make_run) -> None:
    knowns = run_arrays(make_run([1], [1], [1.0])).knowns

    with pytest.raises(ValueError, match="not a finite number"):
        run_quantities([1.0, math.nan], [1.0, 2.0], [1.0, 4.0], knowns)
    with pytest.raises(ValueError, match="not a finite number"):
        replace(knowns, probe_mm=math.nan)
    with pytest.raises(ValueError, match="must not be negative"):
        replace(knowns, axis_mm=-0.1)
    with pytest.raises(ValueError, match="at least 1"):
        replace(knowns, datum_dof=0.0)
    assert isinstance(replace(knowns, datum_mm=0.0, datum_dof=0.0), Knowns)
