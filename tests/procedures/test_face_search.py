"""The face looked for near where the last of the kind had it, and struck softly."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from firmware_protocol.messages import GoRequest, HomeRequest, TouchRequest
from rig.errors import BenchError, ProbeContact, Stopped
from rig.model.attempts import Outcome
from rig.model.settings import BenchSettings
from rig.procedures.carry_out_run import (
    RunResult,
    carry_out_run,
    touch_off_and_run,
)
from rig.procedures.datum_check import NEAR_MM
from rig.procedures.last_part import last_part
from rig.procedures.ready_bench import Bench
from rig.procedures.run_context import utc_now
from rig.procedures.unmeasured import Unmeasured
from rig.records import Reader, Writer

from .conftest import MakeRig, SimRig


def move_face(rig: SimRig, by_mm: float) -> None:
    """Put a part into the holder whose face is so much farther from home."""
    bench = rig.controller.bench
    face_mm = bench.machine.face_mm + by_mm
    bench.machine = replace(bench.machine, face_mm=face_mm)


def measure(
    rig: SimRig, writer: Writer, target: str = "steel", **words: Any
) -> RunResult:
    context = rig.context(writer, **words)
    return touch_off_and_run(rig.order(target=target, sweeps=4), context)


def after_one_part(make_rig: MakeRig, writer: Writer, **words: Any) -> SimRig:
    rig = make_rig(seed=7, **words)
    measure(rig, writer)
    forget(rig)
    return rig


def forget(rig: SimRig) -> None:
    rig.transport.requests.clear()
    rig.transport.touches_from.clear()


def touches_begin_mm(rig: SimRig) -> float:
    """Return how far from the face of now the first touch began."""
    scale = rig.mover.traits.steps_per_mm
    return rig.controller.bench.machine.face_mm - rig.transport.touches_from[0] / scale


def orders(rig: SimRig, kind: type) -> int:
    return sum(isinstance(request, kind) for request in rig.transport.requests)


def no_contact_was_faster_than_a_search(rig: SimRig) -> bool:
    """Whether nothing but a touch ended at the probe, none faster than the search."""
    searched = rig.mover.steps(rig.settings.search_speed_mm_s)
    touches = [r for r in rig.transport.requests if isinstance(r, TouchRequest)]
    return all(touch.speed <= searched for touch in touches)


def test_the_first_part_is_homed_and_looked_for_slowly_all_the_way(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=7)

    measure(rig, writer)

    assert touches_begin_mm(rig) > 25.0
    assert isinstance(
        next(r for r in rig.transport.requests if isinstance(r, HomeRequest)),
        HomeRequest,
    )


@pytest.mark.long
@pytest.mark.parametrize("sensor", ["capacitive", "inductive"])
@pytest.mark.parametrize("longer_mm", [0.0, 0.3, -0.3])
def test_the_next_part_is_not_homed_and_touched_from_near(
    make_rig: MakeRig, writer: Writer, sensor: str, longer_mm: float
) -> None:
    rig = make_rig(seed=7, sensor=sensor)
    name = {"capacitive": "level-18", "inductive": "gate-8"}[sensor]
    order = rig.order(name, sweeps=4)
    first = touch_off_and_run(order, rig.context(writer))
    forget(rig)
    move_face(rig, -longer_mm)

    second = touch_off_and_run(order, rig.context(writer))

    requests = rig.transport.requests
    touched = next(i for i, r in enumerate(requests) if isinstance(r, TouchRequest))
    assert not any(isinstance(r, HomeRequest) for r in requests[:touched])
    slow_mm = {"capacitive": 4.2, "inductive": 3.2}[sensor]
    assert touches_begin_mm(rig) < slow_mm + abs(longer_mm)
    # And it is measured as well
    found, before = second.figures.operate, first.figures.operate
    assert found.value == pytest.approx(before.value, abs=0.01)
    moved_mm = second.bench.datum.position_steps - first.bench.datum.position_steps
    assert rig.mover.length_mm(moved_mm) == pytest.approx(-longer_mm, abs=0.02)


@pytest.mark.parametrize("longer_mm", [0.8, 1.5, 3.0, 6.0, 10.0])
def test_a_longer_part_is_struck_no_harder_than_by_a_search(
    make_rig: MakeRig, writer: Writer, longer_mm: float
) -> None:
    rig = after_one_part(make_rig, writer)
    move_face(rig, -longer_mm)

    result = measure(rig, writer)

    # A contact in any motion but a touch would have been an error
    assert no_contact_was_faster_than_a_search(rig)
    assert touches_begin_mm(rig) > 0.8
    assert result.figures.operate.n == 4


@pytest.mark.long
@pytest.mark.parametrize(
    ("ratio", "longer_mm"),
    [
        *((ratio, longer) for ratio in (1.1, 2.0, 0.5) for longer in (0.0, 1.0, 4.0)),
        *((4.0, longer) for longer in (0.0, 1.0, 1.8)),
    ],
)
def test_a_part_that_operates_elsewhere_is_struck_no_harder_either(
    make_rig: MakeRig, writer: Writer, ratio: float, longer_mm: float
) -> None:
    rig = after_one_part(make_rig, writer)
    rig.controller.turn_trimmer(ratio)
    move_face(rig, -longer_mm)

    measure(rig, writer)

    assert no_contact_was_faster_than_a_search(rig)
    assert touches_begin_mm(rig) > 0.3


LONGER_MM = BenchSettings().longer_part_mm
SENSORS = {"level-18": "capacitive", "gate-8": "inductive"}
SHORT_OF_MARGIN_MM = (0.0, 0.4, 0.8, 1.2, 1.6, 2.0, 2.4, LONGER_MM - 0.1)


def operate_from(rig: SimRig, wanted_mm: float) -> None:
    """Turn the trimmer until the sensor operates at so wide a gap."""
    low, high = 0.05, 100.0
    for _ in range(40):
        ratio = math.sqrt(low * high)
        rig.controller.turn_trimmer(ratio)
        operates_mm = rig.truth().threshold_operate_mm
        rig.controller.turn_trimmer(1.0 / ratio)
        # A higher threshold operates nearer
        if operates_mm is None or operates_mm < wanted_mm:
            high = ratio
        else:
            low = ratio
    rig.controller.turn_trimmer(low)


def strike_mm_s(rig: SimRig, writer: Writer, sensor: str, longer_mm: float) -> float:
    """Touch off a part that is so much longer; return how hard the probe was met."""
    move_face(rig, -longer_mm)
    order = rig.order(sensor)
    rig.transport.contacts_mm_s.clear()

    rig.context(writer).touch_off(order.sensor, order.target)

    return max(rig.transport.contacts_mm_s)


@pytest.mark.long
@pytest.mark.parametrize("sensor", SENSORS)
def test_no_longer_part_is_struck_harder_than_the_first_of_its_kind(
    make_rig: MakeRig, writer: Writer, sensor: str
) -> None:
    first = make_rig(seed=7, sensor=SENSORS[sensor])
    result = touch_off_and_run(first.order(sensor, sweeps=2), first.context(writer))
    hardest_mm_s = max(first.transport.contacts_mm_s)
    assert hardest_mm_s == pytest.approx(first.settings.search_speed_mm_s)
    operate_mm = result.figures.operate.value

    met_mm_s = {}
    for longer_mm in SHORT_OF_MARGIN_MM:
        dead = make_rig(seed=7, sensor=SENSORS[sensor], fault="sensor_dead")
        met_mm_s["dead", longer_mm] = strike_mm_s(dead, writer, sensor, longer_mm)
        # Operates just where the last part did, and so nearer its own face
        masked = make_rig(seed=7, sensor=SENSORS[sensor])
        operate_from(masked, max(0.2, operate_mm - longer_mm))
        met_mm_s["masked", longer_mm] = strike_mm_s(masked, writer, sensor, longer_mm)
    for longer_mm in (*SHORT_OF_MARGIN_MM, 3.5, 4.0, 5.0, 7.0, 10.0, 15.0):
        alive = make_rig(seed=7, sensor=SENSORS[sensor])
        met_mm_s["alive", longer_mm] = strike_mm_s(alive, writer, sensor, longer_mm)

    assert max(met_mm_s.values()) <= hardest_mm_s, met_mm_s


@pytest.mark.parametrize("sensor", SENSORS)
def test_no_quick_way_leads_to_where_a_longer_part_may_have_its_face(
    make_rig: MakeRig, writer: Writer, sensor: str
) -> None:
    rig = make_rig(seed=7, sensor=SENSORS[sensor])
    order = rig.order(sensor, sweeps=2)
    touch_off_and_run(order, rig.context(writer))
    face_mm = rig.truth().face_mm
    forget(rig)

    rig.context(writer).touch_off(order.sensor, order.target)

    requests = rig.transport.requests
    touched = next(i for i, r in enumerate(requests) if isinstance(r, TouchRequest))
    quick = [r for r in requests[:touched] if isinstance(r, GoRequest)]
    assert quick
    farthest_mm = max(rig.mover.length_mm(go.target) for go in quick)
    # The probe closes by some hundredths of a millimetre elsewhere than at the face
    assert farthest_mm < face_mm - LONGER_MM + 0.05


@pytest.mark.parametrize("sensor", SENSORS)
@pytest.mark.parametrize("moved_mm", [-0.9, -0.4, -0.1, 0.1, 0.4])
def test_a_face_that_moves_amid_the_sweeps_is_struck_no_harder_either(
    make_rig: MakeRig, writer: Writer, sensor: str, moved_mm: float
) -> None:
    rig = make_rig(seed=7, sensor=SENSORS[sensor])
    touch_off_and_run(rig.order(sensor, sweeps=2), rig.context(writer))
    rig.transport.contacts_mm_s.clear()
    order = rig.order(sensor, sweeps=2)
    context = rig.context(writer)
    bench = context.touch_off(order.sensor, order.target)
    assert bench.way_in is not None
    move_face(rig, moved_mm)

    with pytest.raises(BenchError):
        carry_out_run(bench, order, context)

    assert max(rig.transport.contacts_mm_s) <= rig.settings.search_speed_mm_s


def test_a_face_that_rests_is_closed_from_near_after_a_known_way_in(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = after_one_part(make_rig, writer)
    order, context = rig.order(sweeps=2), rig.context(writer)
    bench = context.touch_off(order.sensor, order.target)
    rig.transport.touches_from.clear()

    carry_out_run(bench, order, context)

    begins_mm = touches_begin_mm(rig)
    # The probe closes by some hundredths of a millimetre elsewhere than at the face
    assert begins_mm == pytest.approx(NEAR_MM, abs=0.05)


@pytest.mark.parametrize("longer_mm", [0.0, 1.0, 5.0])
def test_a_dead_part_is_approached_slowly_from_where_it_should_have_operated(
    make_rig: MakeRig, writer: Writer, longer_mm: float
) -> None:
    after_one_part(make_rig, writer)
    dead = make_rig(seed=7, fault="sensor_dead")
    move_face(dead, -longer_mm)

    with pytest.raises(Unmeasured) as caught:
        measure(dead, writer)

    assert caught.value.outcome is Outcome.NEVER_SWITCHES
    assert no_contact_was_faster_than_a_search(dead)
    assert touches_begin_mm(dead) > 0.5


def test_a_part_that_is_on_from_the_start_is_looked_for_slowly(
    make_rig: MakeRig, writer: Writer
) -> None:
    after_one_part(make_rig, writer)
    rig = make_rig(seed=7, fault="sensor_on")

    with pytest.raises(Unmeasured) as caught:
        measure(rig, writer)

    assert caught.value.outcome is Outcome.ALWAYS_ON
    assert touches_begin_mm(rig) > 25.0


@pytest.mark.long
def test_a_contact_where_none_should_be_ends_it_and_the_next_search_is_slow(
    make_rig: MakeRig, writer: Writer
) -> None:
    after_one_part(make_rig, writer)
    # Dead, and so much longer that it stands where the last one had not operated yet
    rig = make_rig(seed=7, fault="sensor_dead")
    move_face(rig, -12.0)
    with pytest.raises(ProbeContact):
        measure(rig, writer)
    forget(rig)

    with pytest.raises(Unmeasured):
        measure(rig, writer)

    assert orders(rig, HomeRequest) >= 1
    assert touches_begin_mm(rig) > 15.0


def test_after_a_stop_nothing_is_taken_for_granted(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = after_one_part(make_rig, writer)
    rig.at_time(rig.mover.link.now_s() + 1.0, rig.mover.link.stop)
    with pytest.raises(Stopped):
        measure(rig, writer)
    forget(rig)

    rig.mover.link.forget_stop()
    measure(rig, writer)

    first = next(
        r for r in rig.transport.requests if isinstance(r, HomeRequest | TouchRequest)
    )
    assert isinstance(first, HomeRequest)
    assert touches_begin_mm(rig) > 25.0


def test_a_face_far_from_the_last_is_looked_for_again_after_homing(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = after_one_part(make_rig, writer)
    move_face(rig, -1.5)

    measure(rig, writer)

    kinds = [
        type(r)
        for r in rig.transport.requests
        if isinstance(r, HomeRequest | TouchRequest)
    ]
    assert kinds[:3] == [TouchRequest, HomeRequest, TouchRequest]


def test_the_way_in_spares_the_coarse_pass_once_and_only_from_the_face(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = after_one_part(make_rig, writer)
    order = rig.order(sweeps=2)
    context = rig.context(writer)
    coarse = rig.mover.steps(rig.settings.coarse_speed_mm_s)

    def passes(bench: Bench) -> int:
        """Count the quick ways into the band up to an edge."""
        rig.transport.requests.clear()
        carry_out_run(bench, order, context)
        return sum(
            go.speed == coarse and bool(go.edges) and go.target == bench.nearest_steps
            for go in rig.gos()
        )

    bench = context.touch_off(order.sensor, order.target)
    assert bench.way_in is not None
    assert passes(bench) == 0

    again = context.touch_off(order.sensor, order.target)
    rig.mover.go(again.position_steps(12.0), 10.0)
    assert passes(again) == 1


def test_only_a_run_of_the_kind_on_this_rig_and_of_today_counts(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = after_one_part(make_rig, writer)
    sensor, target = rig.catalogue.sensor("level-18"), rig.catalogue.target("steel")
    now = utc_now()

    found = last_part(reader, "sim-7", sensor, target, now)

    assert found is not None
    assert found.face_mm == pytest.approx(rig.truth().face_mm, abs=0.15)
    assert found.operate_mm == pytest.approx(8.0, abs=0.1)
    pvc, gate = rig.catalogue.target("pvc"), rig.catalogue.sensor("gate-8")
    tomorrow = now + timedelta(hours=25)
    assert last_part(reader, "sim-8", sensor, target, now) is None
    assert last_part(reader, "sim-7", sensor, pvc, now) is None
    assert last_part(reader, "sim-7", gate, target, now) is None
    assert last_part(reader, "sim-7", sensor, target, tomorrow) is None
