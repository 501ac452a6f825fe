"""The target never reaches the face outside touch-off, whatever the sensor does."""

from __future__ import annotations

import pytest

from rig.errors import BenchError, RequestRefused
from rig.procedures.homing_check import check_home
from rig.records import Writer

from .conftest import MakeRig

# What the datum itself may be off by: probe's zero error, screw, contact
DATUM_MM = 0.010


@pytest.mark.parametrize(
    ("options", "sensor", "target"),
    [
        ({"seed": 1}, "level-18", "steel"),
        ({"seed": 2, "target": "cardboard"}, "level-18", "cardboard"),
        ({"seed": 3, "sensor": "inductive"}, "gate-8", "steel"),
        ({"seed": 4, "fault": "sensor_dead"}, "level-18", "steel"),
        ({"seed": 5, "fault": "chatter"}, "level-18", "steel"),
        ({"seed": 6, "sensitivity": 0.01, "delay_ms": 10}, "level-18", "steel"),
        ({"seed": 7, "sensitivity": 0.01, "delay_ms": 300}, "level-18", "steel"),
        (
            {"seed": 8, "backlash_um": 100, "fault": "drop_notice:0.5"},
            "level-18",
            "pvc",
        ),
        ({"seed": 9, "backlash_um": 0, "fault": "lost_steps:9"}, "level-18", "steel"),
    ],
)
def test_no_order_of_a_run_reaches_the_face(
    make_rig: MakeRig,
    writer: Writer,
    options: dict[str, object],
    sensor: str,
    target: str,
) -> None:
    rig = make_rig(**options)
    bench = rig.touch_off()
    rig.transport.fenced_gos.clear()
    rig.transport.nearest_fenced_mm = rig.true_gap_mm()

    try:
        rig.run(bench, rig.order(sensor, target), writer)
    except BenchError as exc:
        told = str(exc)
    else:
        told = ""

    assert rig.transport.fenced_gos
    assert max(rig.transport.fenced_gos) <= bench.nearest_steps
    allowed_mm = rig.settings.face_margin_mm - DATUM_MM
    if "lost_steps" in str(options.get("fault")):
        # Lost on a retreat, as here: the axis stands nearer than its count by as much
        allowed_mm -= 0.040
        assert "steps were lost" in told
    assert rig.transport.nearest_fenced_mm >= allowed_mm


def test_a_dead_sensor_makes_the_axis_go_to_the_margin_and_no_further(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=4, fault="sensor_dead")
    bench = rig.touch_off()
    rig.transport.nearest_fenced_mm = rig.true_gap_mm()

    with pytest.raises(BenchError, match="never switches"):
        rig.run(bench, rig.order(), writer)

    # So the test above watches what it means to watch
    margin_mm = rig.settings.face_margin_mm
    assert rig.transport.nearest_fenced_mm == pytest.approx(margin_mm, abs=DATUM_MM)


def test_the_controller_itself_holds_the_fence(make_rig: MakeRig) -> None:
    rig = make_rig(seed=1)
    bench = rig.touch_off()

    with pytest.raises(RequestRefused, match="outside its limits"):
        rig.mover.go(bench.nearest_steps + 1, 1.0)

    assert rig.true_gap_mm() > 0.9


def test_the_fence_moves_with_the_count(make_rig: MakeRig) -> None:
    rig = make_rig(seed=1, home_um=20)
    bench = rig.touch_off()

    after = check_home(bench).bench

    shift = round(bench.datum.position_steps - after.datum.position_steps)
    assert shift != 0
    assert rig.controller._orders.fence is not None
    assert rig.controller._orders.fence[1] == after.nearest_steps
    rig.transport.nearest_mm = rig.true_gap_mm()
    rig.mover.go(after.nearest_steps, 5.0)
    # The switch's own scatter stays in the carried datum: nothing else can know it
    assert rig.transport.nearest_mm == pytest.approx(0.05, abs=DATUM_MM)
