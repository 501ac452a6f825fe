"""What a controller tells of a motion, held against the order by itself."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import (
    EdgeNotice,
    LookAnswer,
    RestCause,
    RestNotice,
    Source,
    State,
)
from rig.procedures.motion_fit import Ordered, Told, misfit

BEGAN_US = 28_793_199
ORDERED = Ordered(
    start_steps=50_752,
    target_steps=50_228,
    speed_steps_s=3200,
    acceleration_steps_s2=0,
    start_speed_steps_s=4800,
    edges=0,
    overrun_steps=0,
)


def told_with_opening(position_steps: int, time_us: int) -> Told:
    """Return what is told of a motion on which the probe opens there and then."""
    opening = EdgeNotice(
        number=85,
        lost=0,
        source=Source.PROBE,
        level=False,
        position=position_steps,
        time=time_us,
    )
    look = LookAnswer(
        number=142,
        state=State.MOVING,
        position=50_429,
        time=BEGAN_US + 100_938,
        inputs=57,
        next_notice=86,
        boot=1,
    )
    rest = RestNotice(
        number=86,
        lost=0,
        request=58,
        cause=RestCause.THERE,
        position=ORDERED.target_steps,
        time=BEGAN_US + 163_750,
    )
    return Told(before=(), edges=(opening,), looks=(look,), rest=rest, elapsed_s=0.167)


@pytest.mark.parametrize("before_us", [0, 2800, 50_000])
def test_a_probe_that_opens_while_the_order_is_on_its_way_fits(before_us: int) -> None:
    told = told_with_opening(ORDERED.start_steps, BEGAN_US - before_us)

    assert misfit(ORDERED, told) == ""


@pytest.mark.parametrize(
    ("position_steps", "before_us"),
    [(ORDERED.start_steps, 150_000), (ORDERED.start_steps - 40, 2800)],
)
def test_an_opening_that_is_told_too_early_does_not_fit(
    position_steps: int, before_us: int
) -> None:
    told = told_with_opening(position_steps, BEGAN_US - before_us)

    assert misfit(ORDERED, told)
