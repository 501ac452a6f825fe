"""The sensor's supply, switched and measured, and what is around the sensor."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import EdgeNotice, FaultNotice, PutAnswer, ReadAnswer
from sim.bench import Bench
from sim.device import Controller
from sim.machine import Machine, Mounting
from sim.presets import SENSORS, TARGETS
from sim.surroundings import Habits, Surroundings

SUPPLY, LOAD, RESIDUAL, TEMPERATURE = range(4)
# With the carriage near, both sensors see the plate
NEAR = Machine(start_mm=29.0)


def told(host, number: int, quantity: int) -> int:
    host.ask(f"q{number} read {quantity}")
    answers = [m for m in host.heard if isinstance(m, ReadAnswer)]
    return answers[-1].value


def put(host, number: int, words: str) -> int:
    host.ask(f"q{number} put {words}")
    return [m for m in host.heard if isinstance(m, PutAnswer)][-1].time


def host_of(make_host, **given):
    host = make_host(**{"fault": given.pop("fault")} if "fault" in given else {})
    mounting = given.pop("mounting", None) or Mounting(
        sensor=SENSORS[given.pop("sensor", "inductive")], target=TARGETS["steel"]
    )
    faults = host.controller.bench._faults
    bench = Bench(given.pop("machine", NEAR), mounting, seed=3, faults=faults)
    host.controller = Controller(bench, seed=3, faults=faults)
    host.ask("q1 hail 1")
    return host


def switch_on(host, pause_s: float = 1.0) -> tuple[int, list[EdgeNotice]]:
    """Switch off and on; return when, and the edges since."""
    put(host, 2, "0 0")
    host.wait(0.3)
    first = len(host.heard)
    on_us = put(host, 3, "0 1")
    host.wait(pause_s)
    return on_us, [m for m in host.heard[first:] if isinstance(m, EdgeNotice)]


@pytest.mark.parametrize("sensor", ["inductive", "capacitive"])
def test_a_sensor_wakes_after_its_own_time(make_host, sensor: str) -> None:
    host = host_of(make_host, sensor=sensor)

    on_us, edges = switch_on(host)

    assert [edge.level for edge in edges] == [True]
    woke_s = (edges[0].time - on_us) * 1e-6
    # Within four of the standard deviations that it wakes with
    assert woke_s == pytest.approx(SENSORS[sensor].start_s, rel=0.08)


def test_a_sensor_with_nothing_before_it_gives_no_pulse(make_host) -> None:
    host = host_of(make_host, machine=Machine(start_mm=5.0))

    _, edges = switch_on(host)

    assert edges == []


@pytest.mark.parametrize("start_mm", [5.0, 29.0])
def test_a_false_pulse_comes_before_the_sensor_has_woken(make_host, start_mm) -> None:
    host = host_of(make_host, machine=Machine(start_mm=start_mm), fault="false_pulse:7")

    on_us, edges = switch_on(host)

    levels = [True, False, *([True] if start_mm > 20.0 else [])]
    assert [edge.level for edge in edges] == levels
    assert edges[1].time - edges[0].time == pytest.approx(7000, abs=2)
    assert edges[0].time > on_us


def test_the_output_falls_with_the_supply_and_no_fault_is_told(make_host) -> None:
    host = host_of(make_host)
    first = len(host.heard)

    off_us = put(host, 2, "0 0")
    host.wait(1.0)

    (edge,) = (m for m in host.heard[first:] if isinstance(m, EdgeNotice))
    assert (edge.level, edge.time) == (False, off_us)
    assert told(host, 3, SUPPLY) == told(host, 4, LOAD) == 0
    assert not host.notices(FaultNotice)


def test_load_and_residual_voltage_make_up_the_supply(make_host) -> None:
    """Ohm's law over the load of 2.4 kohm, conducting and not."""
    for start_mm, conducts in ((29.0, True), (5.0, False)):
        host = host_of(make_host, machine=Machine(start_mm=start_mm))
        supply, load, residual = (told(host, 2 + q, q) for q in range(3))

        assert supply == 24000
        assert residual + 2.4 * load == pytest.approx(supply, abs=3)
        assert (load > 5000) is conducts


def test_the_temperature_is_that_of_the_air(make_host) -> None:
    air = Surroundings(air_c=23.5, drift_k_h=2.0)
    host = host_of(make_host, machine=Machine(surroundings=air))

    host.wait(1800.0)

    now_s = host.controller.now_us * 1e-6
    assert told(host, 2, TEMPERATURE) == round(1e3 * air.air_at_c(now_s))


def test_a_sensor_that_follows_its_supply_follows_what_it_is_set_to(make_host) -> None:
    mounting = Mounting(
        sensor=SENSORS["inductive"],
        target=TARGETS["steel"],
        habits=Habits(per_v=0.001),
    )
    host = host_of(make_host, mounting=mounting)
    before = host.controller.truth().threshold_operate_mm

    put(host, 2, "1 20000")

    after = host.controller.truth().threshold_operate_mm
    assert told(host, 3, SUPPLY) == 20000
    assert after / before == pytest.approx(1.0 - 0.001 * 4.0)
