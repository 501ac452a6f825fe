"""A controller that lies within the protocol: every lie voids the sweep or ends it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from firmware_protocol import Incoming
from firmware_protocol.messages import EdgeNotice, Source
from rig.errors import MotionDoubted, MotionFault, MotionOverdue
from rig.records import Writer
from tests.campaign.lies import LIES, Liar, flood, lie_to, mute_of_rest


@pytest.mark.parametrize("name", LIES)
def test_no_lie_becomes_a_measurement(make_rig, writer: Writer, name: str) -> None:
    rig = make_rig()

    liar, voids, error = lie_to(rig, LIES[name], writer)

    assert liar.told
    assert all(voids)
    assert error is not None


def test_the_truth_through_the_same_hands_is_taken(make_rig, writer: Writer) -> None:
    rig = make_rig()

    _, voids, error = lie_to(rig, lambda _, item: iter([item]), writer)

    assert error is None
    assert voids == ["", "", ""]


def test_a_rest_that_never_comes_ends_in_time(make_rig, writer: Writer) -> None:
    rig = make_rig()

    liar, _, error = lie_to(rig, mute_of_rest, writer)

    assert liar.told
    assert isinstance(error, MotionOverdue)
    assert "it was stopped" in str(error)
    rig.transport.read(0.1)  # the stop bytes are on their way
    assert rig.controller._orders.state == "held"


def test_a_flood_of_edges_is_stopped(make_rig) -> None:
    rig = make_rig()
    rig.mover.make_ready()
    rig.mover.home(10.0)
    rig.mover.fence(0, 40_000)
    liar = Liar(rig.transport)

    liar.lie = flood
    with pytest.raises(MotionFault, match="more than 10000 edges came in one motion"):
        rig.mover.go(30_000, 5.0)

    rig.transport.read(0.1)  # the stop bytes are on their way
    assert rig.controller._orders.state == "held"


def test_a_touch_that_is_lied_about_is_an_error(make_rig) -> None:
    rig = make_rig()
    liar = Liar(rig.transport)

    def lie(_: Liar, item: Incoming) -> Iterator[Incoming]:
        is_probe = isinstance(item, EdgeNotice) and item.source is Source.PROBE
        yield replace(item, position=item.position - 200) if is_probe else item

    liar.lie = lie
    with pytest.raises(MotionDoubted, match="the touch probe did not close where"):
        rig.touch_off()


def test_a_home_that_is_told_of_twice_and_differently_is_an_error(make_rig) -> None:
    rig = make_rig()
    liar = Liar(rig.transport)

    def lie(_: Liar, item: Incoming) -> Iterator[Incoming]:
        yield item
        if isinstance(item, EdgeNotice) and item.source is Source.HOME:
            yield replace(item, position=item.position + 200)

    rig.mover.make_ready()
    liar.lie = lie
    with pytest.raises(MotionDoubted, match="a copy of notice"):
        rig.mover.home(10.0)
    assert liar.told
