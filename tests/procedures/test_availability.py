"""The supply of the sensor switched, and what the rig measures around it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_protocol.messages import PutRequest, ReadRequest
from rig.analysis.standard.availability import availability_of
from rig.errors import BenchError, InputError, Stopped
from rig.procedures.carry_out_run import conditions_of, touch_off_and_run
from rig.procedures.events import Remarked
from rig.procedures.run_order import RunOrder
from rig.procedures.supply_switching import switch_supply_on
from sim.presets import SENSORS

INDUCTIVE = {"sensor": "inductive"}


def switched(rig, bench, *, sensor: str = "gate-8", times: int = 3):
    return switch_supply_on(
        bench, rig.catalogue.sensor(sensor), rig.told.append, times=times, off_s=0.4
    )


def test_the_delay_of_a_sensor_is_found_with_the_target_near(make_rig) -> None:
    rig = make_rig(**INDUCTIVE)
    found = switched(rig, rig.touch_off())

    shown = availability_of(found, rig.catalogue.sensor("gate-8"))

    assert [one.before_target for one in found] == [False] * 3 + [True] * 3
    assert shown.never == shown.false_signals == 0
    assert shown.mean_ms == pytest.approx(1e3 * SENSORS["inductive"].start_s, rel=0.06)


def test_a_normally_closed_sensor_shows_it_without_the_target(make_rig) -> None:
    rig = make_rig(**INDUCTIVE, output="NC")
    found = switched(rig, rig.touch_off(), sensor="gate-8-nc")

    shown = availability_of(found, rig.catalogue.sensor("gate-8-nc"))

    assert [bool(one.edges) for one in found] == [True] * 3 + [False] * 3
    assert shown.mean_ms == pytest.approx(1e3 * SENSORS["inductive"].start_s, rel=0.06)


def test_a_false_pulse_is_found_at_both_gaps(make_rig) -> None:
    rig = make_rig(**INDUCTIVE, fault="false_pulse:4")
    found = switched(rig, rig.touch_off())

    shown = availability_of(found, rig.catalogue.sensor("gate-8"))

    assert shown.false_signals == shown.n == 6
    assert shown.false_signal.value == pytest.approx(4.0, abs=0.01)


def test_the_supply_is_on_again_after_a_stop(make_rig) -> None:
    rig = make_rig(**INDUCTIVE)
    bench = rig.touch_off()

    def stop_while_off() -> None:
        rig.mover.link.stop()

    seen = rig.controller.put

    def put(control, value):
        if not value:
            rig.at_time(rig.mover.link.now_s() + 0.05, stop_while_off)
        return seen(control, value)

    rig.controller.put = put
    with pytest.raises(Stopped):
        switched(rig, bench)

    assert rig.controller.bench.switched_on


def test_a_supply_left_off_comes_on_before_anything_else(make_rig) -> None:
    rig = make_rig(**INDUCTIVE)
    rig.mover.switch_supply(on=False)

    bench = rig.touch_off()

    assert rig.controller.bench.switched_on
    assert bench.mover.output_level() is True  # 1 mm before the face


def test_a_rig_without_a_switch_says_so_and_orders_nothing(make_rig) -> None:
    rig = make_rig(**INDUCTIVE)
    bench = rig.touch_off()
    rig.mover.traits = replace(rig.mover.traits, controls=0)
    rig.transport.requests.clear()

    with pytest.raises(BenchError, match="cannot switch the sensor's supply"):
        switched(rig, bench)

    assert rig.transport.requests == []


def test_a_sensor_of_the_other_kind_is_told_before_it_is_switched(make_rig) -> None:
    rig = make_rig(**INDUCTIVE, output="NC")
    bench = rig.touch_off()

    with pytest.raises(BenchError, match=r"is not off .* from the face"):
        switched(rig, bench, sensor="gate-8")

    assert not any(isinstance(one, PutRequest) for one in rig.transport.requests)


@pytest.mark.parametrize(("times", "off_s"), [(0, 1.0), (1001, 1.0), (1, 0.0)])
def test_what_shows_nothing_is_refused(make_rig, times: int, off_s: float) -> None:
    rig = make_rig(**INDUCTIVE)
    bench = rig.touch_off()

    with pytest.raises(InputError, match="give"):
        switch_supply_on(
            bench,
            rig.catalogue.sensor("gate-8"),
            rig.told.append,
            times=times,
            off_s=off_s,
        )


# ------------------------------------------------------------------ temperature


def order(rig, **given) -> RunOrder:
    return replace(rig.order("gate-8"), **given)


def test_conditions_keep_the_measured_temperature_beside_the_given_one(
    make_rig,
) -> None:
    rig = make_rig(**INDUCTIVE)
    bench = rig.touch_off()
    room = rig.controller.bench.machine.surroundings
    machine = rig.controller.bench.machine
    rig.controller.bench.machine = replace(
        machine, surroundings=replace(room, air_c=22.25)
    )

    nobody, somebody = (
        conditions_of(bench, order(rig, temperature_c=given)) for given in (None, 23.0)
    )

    assert nobody.measured_temperature_c == somebody.measured_temperature_c == 22.25
    assert nobody.temperature_c is None
    assert (nobody.ambient_c, somebody.ambient_c) == (22.25, 23.0)


def test_a_rig_without_a_thermometer_is_not_asked(make_rig) -> None:
    rig = make_rig(**INDUCTIVE)
    bench = rig.touch_off()
    rig.mover.traits = replace(rig.mover.traits, quantities=0)
    rig.transport.requests.clear()

    found = conditions_of(bench, order(rig))

    assert found.measured_temperature_c is found.ambient_c is None
    assert not any(isinstance(one, ReadRequest) for one in rig.transport.requests)


@pytest.mark.parametrize(("given_c", "doubted"), [(21.0, False), (35.0, True)])
def test_a_temperature_that_is_not_measured_is_doubted(
    make_rig, writer, given_c: float, doubted: bool
) -> None:
    rig = make_rig(**INDUCTIVE)

    result = touch_off_and_run(order(rig, temperature_c=given_c), rig.context(writer))

    said = [event.sentence for event in rig.told if isinstance(event, Remarked)]
    assert any("35 °C, and the rig measures 20.0 °C" in one for one in said) is doubted
    kept = result.run.header.conditions
    assert (kept.temperature_c, kept.measured_temperature_c) == (given_c, 20.0)
