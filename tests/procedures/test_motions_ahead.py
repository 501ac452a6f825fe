"""What is said to move next is what is ordered on the wire, in that order."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from itertools import pairwise

import pytest

from firmware_protocol.messages import GoRequest, HomeRequest, Request, TouchRequest
from rig.procedures.block_touches import touch_blocks
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.check import check_bench
from rig.procedures.motions_ahead import (
    MotionsAhead,
    Part,
    blocks_ahead,
    check_ahead,
    hold_ahead,
    numbered,
    places_ahead,
    run_ahead,
    switch_on_ahead,
    touch_off_ahead,
    touch_off_and_run_ahead,
    trimmer_check_ahead,
)
from rig.procedures.place_runs import sweep_at_places
from rig.procedures.supply_switching import switch_supply_on
from rig.procedures.trimmer import Check, Finish, set_trimmer

_LETTERS = {HomeRequest: "h", TouchRequest: "t", GoRequest: "g"}
# Orders of each part: back and forth at the face are touches and goes, some of which
# only come near
_ORDERS = {
    Part.HOME: "h",
    Part.FIND_FACE: "t",
    Part.TOUCH: "g[tg]+g",
    Part.BACK_OFF: "g",
    Part.LOCATE: "ggg",
    Part.SWEEP: "g+",
    Part.TOUCH_AGAIN: "g?gt[tg]+g",
    Part.HOME_AGAIN: "h+|g",
    Part.BLOCKS: "(ggt[tg]+g)+",
    Part.ROOM: "g",
    Part.HOLD: "gg",
    Part.APPROACH: "gg(ggg){3}",
}


def ordered(requests: list[Request]) -> str:
    """Return the motion orders, a letter each."""
    return "".join(_LETTERS.get(type(request), "") for request in requests)


def fits(motions: MotionsAhead, orders: str) -> bool:
    pattern = "".join(f"(?:{_ORDERS[motion.part]})" for motion in motions)
    return re.fullmatch(pattern, orders) is not None


def test_a_touch_off_moves_what_was_said(make_rig) -> None:
    rig = make_rig()
    rig.touch_off()

    orders = ordered(rig.transport.requests)

    assert fits(touch_off_ahead(rig.settings), orders)
    assert not fits(touch_off_ahead(rig.settings)[1:], orders)
    assert not fits(touch_off_ahead(rig.settings)[:-2], orders)


def test_its_speeds_are_the_ones_that_were_said(make_rig) -> None:
    rig = make_rig()
    rig.touch_off()
    scale = rig.mover.traits.steps_per_mm
    homing, find, touching, _ = touch_off_ahead(rig.settings)
    (fast,) = [r.fast for r in rig.transport.requests if isinstance(r, HomeRequest)]
    first, *others = [
        r.speed for r in rig.transport.requests if isinstance(r, TouchRequest)
    ]
    slow = [speed for speed in others if speed != first]

    assert f" {fast / scale:g} mm/s" in homing.words
    assert f" {first / scale:g} mm/s" in find.words
    assert len(set(slow)) == 1
    assert f" {len(slow)} times at {slow[0] / scale:g} mm/s" in touching.words


def test_a_check_moves_what_was_said(make_rig) -> None:
    rig = make_rig()
    check_bench(rig.mover, rig.settings, rig.told.append, sensor=None)

    orders = ordered(rig.transport.requests)

    assert fits(check_ahead(rig.settings), orders)
    assert not fits(touch_off_ahead(rig.settings), orders)


def test_a_run_moves_what_was_said(make_rig, writer) -> None:
    rig = make_rig()
    bench = rig.touch_off()
    before = len(rig.transport.requests)
    rig.run(bench, rig.order(), writer)

    orders = ordered(rig.transport.requests)

    assert fits(touch_off_and_run_ahead(rig.settings), orders)
    assert fits(run_ahead(rig.settings), ordered(rig.transport.requests[before:]))
    assert not fits((*touch_off_ahead(), *run_ahead()[:2]), orders)
    *_, away = (r for r in rig.transport.requests if isinstance(r, GoRequest))
    speed_mm_s = away.speed / rig.mover.traits.steps_per_mm
    assert f"out of the way at {speed_mm_s:g} mm/s" in run_ahead(rig.settings)[-1].words


def test_the_next_part_of_a_kind_moves_what_was_said(make_rig, writer) -> None:
    rig = make_rig()
    for _ in range(2):
        rig.transport.requests.clear()
        touch_off_and_run(rig.order(), rig.context(writer))

    orders = ordered(rig.transport.requests)
    # Not homed, quickly to the edge and to near the face; the band needs only a way out
    homing, find, *others = touch_off_and_run_ahead(rig.settings)
    assert "if it is due" in homing.words
    assert "a known kind's at 10 mm/s first" in find.words
    spared = {Part.LOCATE: "g", Part.FIND_FACE: "ggt"}
    pattern = "".join(
        f"(?:{spared.get(motion.part, _ORDERS[motion.part])})"
        for motion in (find, *others)
    )
    assert re.fullmatch(pattern, orders)


def test_a_switched_supply_moves_what_was_said(make_rig, writer) -> None:
    rig = make_rig(sensor="inductive")
    order = rig.order("gate-8")
    bench = rig.context(writer).touch_off(order.sensor, order.target)
    before = len(rig.transport.requests)
    switch_supply_on(bench, order.sensor, rig.told.append, times=1, off_s=0.1)

    *_, rests = switch_on_ahead(rig.settings)
    assert fits(switch_on_ahead(rig.settings), ordered(rig.transport.requests))
    assert fits((rests,), ordered(rig.transport.requests[before:]))


def test_gauge_blocks_move_what_was_said(make_rig) -> None:
    rig = make_rig()
    put = rig.controller.put_block
    touch_blocks(
        rig.mover,
        rig.settings,
        [1.0, 5.0],
        put,
        rig.told.append,
        now=lambda: datetime.now(UTC),
    )

    assert fits(blocks_ahead(rig.settings), ordered(rig.transport.requests))


@pytest.mark.long
def test_places_move_what_was_said(make_rig, writer) -> None:
    rig = make_rig(sensor="inductive")
    begun = []

    def clamp(near_mm: float | None, _move_mm: float) -> None:
        begun.append(len(ordered(rig.transport.requests)))
        if near_mm is not None:
            rig.controller.clamp_face(near_mm)

    order = rig.order("gate-8", sweeps=4)
    sweep_at_places(order, rig.context(writer), clamp, lead_mm=2.0, places=6)

    orders = ordered(rig.transport.requests)
    places = [orders[x:y] for x, y in pairwise([*begun, len(orders)])]
    # From the second on the place before tells where the face is
    spared = {Part.HOME: "h?", Part.FIND_FACE: "g?g?t", Part.LOCATE: "g|ggg"}
    each = "".join(
        f"(?:{spared.get(motion.part, _ORDERS[motion.part])})"
        for motion in places_ahead()
    )
    last = each.removesuffix(f"(?:{_ORDERS[Part.ROOM]})")
    assert orders.startswith("ht")
    assert len(places) == 6
    assert [place for place in places[:-1] if not re.fullmatch(each, place)] == []
    assert re.fullmatch(last, places[-1])


def test_a_trimmer_moves_what_was_said(make_rig) -> None:
    rig = make_rig()
    bench = rig.touch_off()
    before = len(rig.transport.requests)
    wishes = iter([Check(), Finish()])
    sensor = rig.catalogue.sensor("level-18")
    set_trimmer(bench, sensor, 8.0, lambda _: next(wishes), rig.told.append)

    orders = ordered(rig.transport.requests[before:])

    assert fits((*hold_ahead(), *trimmer_check_ahead()), orders)


def test_every_line_fits_a_dialog_of_eighty_columns() -> None:
    for motions in (places_ahead(), blocks_ahead(), check_ahead(), switch_on_ahead()):
        assert max(map(len, numbered(motions))) <= 70
