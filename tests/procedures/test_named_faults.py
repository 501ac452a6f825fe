"""Faults of a bench: each is found, or within the stated uncertainty, or named."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest

from rig.errors import BenchError
from rig.inquiry.axis_calibration import CalibrationOrder
from rig.inquiry.block_calibration import add_block_calibration
from rig.model.bench_declaration import NOTHING_DECLARED
from rig.model.bench_items import NOT_INCLUDED
from rig.model.figures import Figure
from rig.procedures.bench_finding import Finding, Fitness
from rig.procedures.block_touches import touch_blocks
from rig.procedures.carry_out_run import RunResult
from rig.procedures.check import NOT_FOUND, check_bench
from rig.procedures.events import SweepEnded
from rig.procedures.mover import MotionFault
from rig.procedures.touch_off import touch_off
from rig.records import Reader, Store, Writer

from .conftest import MakeRig, SimRig

LOST = 64  # steps: four full steps of 16, 40 um here
BLOCKS = (1.0, 1.3, 1.6, 2.5, 5.0, 7.3, 8.7)


def off_by_mm(result: RunResult, rig: SimRig) -> float:
    """How far the operate point is from the truth."""
    true_mm = rig.truth().observed_operate_mm
    assert true_mm is not None
    return abs(result.figures.operate.value - true_mm)


def expanded_mm(figure: Figure) -> float:
    assert figure.expanded_uncertainty is not None
    return figure.expanded_uncertainty


def said_of_check(rig: SimRig, subject: str) -> Finding:
    found = check_bench(
        rig.mover,
        rig.settings,
        rig.told.append,
        sensor=rig.catalogue.sensor("level-18"),
    )
    (only,) = [each for each in found.findings if each.subject == subject]
    return only


def lose_and_lose_again(rig: SimRig, first: int, then: int) -> Callable[..., None]:
    """Lose steps toward the face after one sweep, and away from it after another."""
    bench = rig.controller.bench
    begin = bench.begin
    due = [1] if first == 0 else []

    def beginning(*, direction: int, **where):
        if due and direction == due[0]:
            due.clear()
            bench.lose_steps(LOST)
        return begin(direction=direction, **where)

    def tell(event) -> None:
        rig.told.append(event)
        if isinstance(event, SweepEnded):
            count = len(rig.sweeps_told())
            if count in (first, then):
                due.append(1 if count == first else -1)

    bench.begin = beginning  # type: ignore[method-assign]
    return tell


@pytest.mark.parametrize(("first", "then"), [(2, 4), (3, 7), (5, 6), (4, 9)])
def test_losses_that_cancel_among_the_sweeps_widen_the_uncertainty(
    make_rig: MakeRig, writer: Writer, first: int, then: int
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    tell = lose_and_lose_again(rig, first, then)

    result = rig.run(bench, rig.order(sweeps=10), writer, tell=tell)

    # The face was found where it had been, so nobody asked the home switch
    assert result.run.home_shift_steps is None
    assert off_by_mm(result, rig) > 0.001
    assert off_by_mm(result, rig) <= expanded_mm(result.figures.operate)


def test_losses_that_cancel_over_some_sweeps_are_said(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    tell = lose_and_lose_again(rig, 3, 7)

    result = rig.run(bench, rig.order(sweeps=10), writer, tell=tell)

    said = result.figures.warnings
    assert any("Both points of a sweep move together" in words for words in said)


def test_losses_around_all_sweeps_are_not_found_and_are_named(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    tell = lose_and_lose_again(rig, 0, 10)

    result = rig.run(bench, rig.order(sweeps=10), writer, tell=tell)

    assert not result.run.home_shift_steps
    assert off_by_mm(result, rig) > 1.5 * expanded_mm(result.figures.operate)
    assert any("steps lost after the touch-off" in words for words in NOT_INCLUDED)
    assert "lost steps that cancel" in dict(NOT_FOUND)


def test_a_loss_that_only_the_way_home_makes_good_is_found_on_the_face(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    tell = lose_and_lose_again(rig, 3, 99)

    with pytest.raises(BenchError, match=r"so steps were lost|it moved after"):
        rig.run(bench, rig.order(sweeps=10), writer, tell=tell)


def test_a_sensor_that_warms_up_is_found_to_drift(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5, fault="drift:0.02")

    result = rig.run(rig.touch_off(), rig.order(sweeps=30), writer)

    drifts = [words for words in result.figures.warnings if "drifts by" in words]
    assert len(drifts) == 1


def test_a_cold_sensor_is_measured_as_it_is_and_that_is_named(
    make_rig: MakeRig, writer: Writer
) -> None:
    """Cold and warm are two sensors to a run: no figure spans the warming up."""
    rig = make_rig(seed=5, fault="drift:0.02")
    cold = rig.run(rig.touch_off(), rig.order(sweeps=8), writer).figures.operate

    rig.controller.advance(3600.0)
    warm = rig.run(rig.touch_off(), rig.order(sweeps=8), writer).figures.operate

    apart_mm = warm.value - cold.value
    assert apart_mm > expanded_mm(cold) + expanded_mm(warm)
    assert "let it warm up" in dict(NOT_FOUND)["warm-up"]
    assert "temperature and supply of the sensor itself" in NOT_INCLUDED


def test_a_scale_that_is_wrong_by_a_hundredth_is_found_by_blocks(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    rig = make_rig(seed=5, fault="scale_off:0.01")
    found = touch_blocks(
        rig.mover,
        rig.settings,
        BLOCKS,
        rig.controller.put_block,
        rig.told.append,
        now=lambda: datetime.now(UTC),
    )
    order = CalibrationOrder(
        rig_id=rig.mover.traits.rig_id,
        certificate="GB-3",
        calibrated_on=date(2020, 1, 1),
        due_on=date(2100, 1, 1),
        instrument_uncertainty_mm=0.0002,
        screw_lead_mm=2.0,
    )

    fit = add_block_calibration(
        store,
        order,
        found.bench.axis,
        found.bench.datum,
        found.lengths_mm,
        found.contacts,
        closing_mm=found.closing_mm,
        now=datetime.now(UTC),
    ).blocks

    assert fit is not None
    scale = fit.scale_error
    assert abs(scale.value - 1.0) <= expanded_mm(scale) < 0.1  # %
    result = rig.run(rig.touch_off(), rig.order(sweeps=10), writer)
    assert off_by_mm(result, rig) <= expanded_mm(result.figures.operate)


def test_without_blocks_a_wrong_scale_is_not_found_and_is_named(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5, fault="scale_off:0.01")

    scale = said_of_check(rig, "scale")
    result = rig.run(rig.touch_off(), rig.order(sweeps=10), writer)

    assert off_by_mm(result, rig) > 3.0 * expanded_mm(result.figures.operate)
    assert scale.fitness is Fitness.UNPROVEN
    assert "nothing here proves it" in scale.sentence
    assert any("wrong number of steps per mm" in words for words in NOT_INCLUDED)


def test_a_motor_that_turns_the_other_way_is_found_at_homing(
    make_rig: MakeRig, store: Store
) -> None:
    rig = make_rig(seed=5, fault="axis_reversed")

    with pytest.raises(MotionFault, match="probe closed while homing") as caught:
        rig.touch_off()

    assert "swap the two wires of one motor phase" in caught.value.hint
    assert Reader(store).runs() == []


def test_a_late_probe_is_found_by_a_check(make_rig: MakeRig) -> None:
    prompt = said_of_check(make_rig(seed=5), "probe delay")
    late = said_of_check(make_rig(seed=5, fault="probe_late:10"), "probe delay")

    assert prompt.fitness is Fitness.FIT
    assert late.fitness is Fitness.UNPROVEN
    assert "shorten its debouncing" in late.sentence


@pytest.mark.long
def test_a_late_probe_stays_within_what_is_assumed_of_it(
    make_rig: MakeRig, writer: Writer
) -> None:
    outside = []
    for seed in range(1, 11):
        rig = make_rig(seed=seed, fault="probe_late:10")
        bench = touch_off(
            rig.mover, rig.settings, rig.told.append, declared=NOTHING_DECLARED
        )
        result = rig.run(bench, rig.order(sweeps=10), writer)
        truth = rig.truth()
        assert truth.observed_release_mm is not None
        assert truth.observed_operate_mm is not None
        travel_mm = truth.observed_release_mm - truth.observed_operate_mm
        travel = result.figures.differential_travel
        outside.append(off_by_mm(result, rig) > expanded_mm(result.figures.operate))
        outside.append(abs(travel.value - travel_mm) > expanded_mm(travel))

    assert not any(outside)
