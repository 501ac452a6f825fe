"""The sensor's supply set for a run, and what the rig measures around the sensor."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_protocol.messages import Control, PutRequest
from rig.errors import BenchError
from rig.records import Reader, Writer
from tests.procedures.conftest import MakeRig, SimRig


def puts(rig: SimRig) -> list[int]:
    asked = [r for r in rig.transport.requests if isinstance(r, PutRequest)]
    return [r.value for r in asked if r.index == Control.SUPPLY_VOLTAGE]


def test_a_run_at_another_voltage_keeps_what_was_set_and_measured(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(sensor="inductive", seed=5)
    order = rig.order("gate-8", "steel", sweeps=2)
    bench = rig.touch_off()

    run = rig.run(bench, replace(order, supply_v=15.0), writer).run

    kept = Reader(writer._store).run(run.header.run_id).header.conditions
    assert kept.set_supply_v == 15.0
    assert kept.measured_supply_v == pytest.approx(15.0, abs=0.05)
    # Load of 2.4 kohm behind a residual voltage of 1.2 V: Ohm's law
    assert kept.residual_voltage_v == pytest.approx(1.2)
    assert kept.load_current_ma == pytest.approx((15.0 - 1.2) / 2.4, abs=0.03)
    # Back to what it is after a start
    assert puts(rig) == [15000, 24000]
    assert rig.controller.bench.set_v == 24.0


def test_a_run_that_sets_nothing_sets_nothing(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(sensor="inductive", seed=5)

    run = rig.run(rig.touch_off(), rig.order("gate-8", "steel", sweeps=2), writer).run

    assert puts(rig) == []
    assert run.header.conditions.set_supply_v is None
    assert run.header.conditions.measured_supply_v == pytest.approx(24.0, abs=0.05)


def test_the_supply_goes_back_though_the_run_fails(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(sensor="inductive", seed=5, fault="sensor_dead")
    bench = rig.touch_off()
    order = replace(rig.order("gate-8", "steel", sweeps=2), supply_v=15.0)

    with pytest.raises(BenchError):
        rig.run(bench, order, writer)

    assert puts(rig) == [15000, 24000]


@pytest.mark.parametrize("supply_v", [9.9, 30.1, -24.0])
def test_a_voltage_beyond_the_rigs_range_is_refused_with_the_range(
    make_rig: MakeRig, supply_v: float
) -> None:
    rig = make_rig(seed=5)

    with pytest.raises(BenchError, match="10 to 30 V"):
        rig.mover.set_supply_v(supply_v)

    assert puts(rig) == []


def test_load_and_residual_voltage_are_of_a_conducting_output_alone(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(sensor="inductive", seed=5, output="NC")

    run = rig.run(
        rig.touch_off(), rig.order("gate-8-nc", "steel", sweeps=2), writer
    ).run

    conditions = run.header.conditions
    assert conditions.measured_supply_v is not None
    assert conditions.load_current_ma is None
    assert conditions.residual_voltage_v is None
