"""The supply of a sensor switched off and on, with the target out of reach and near.

Nothing moves while the supply is off.
"""

from __future__ import annotations

import contextlib
from typing import Final

from firmware_protocol.messages import Control, EdgeNotice, Source
from rig.analysis.standard.availability import delay_limits, on_in_the_end
from rig.errors import BenchError, InputError, LinkError, Stopped
from rig.model.mounted import Sensor
from rig.model.phases import Phase
from rig.model.switch_on import CLOCK_ROUND_US, SwitchOn
from rig.procedures.events import StepBegan, Tell
from rig.procedures.locate import start_gap_mm
from rig.procedures.mover import Mover
from rig.procedures.ready_bench import Bench

MOST_TIMES: Final = 1000
NEAR_SHARE: Final = 0.5  # of the rated distance: half-way to the face
_LONGEST_OFF_S: Final = 60.0
_WATCHED_TIMES: Final = 2.0  # the limit
_WATCHED_S: Final = 0.2  # and so much more
_SLICE_S: Final = 0.1
_SETTLE_S: Final = 0.1


def switch_supply_on(
    bench: Bench, sensor: Sensor, tell: Tell, *, times: int, off_s: float
) -> tuple[SwitchOn, ...]:
    """Switch the supply off and on, so many times at each of two places.

    Args:
        bench: Touched off.
        sensor: Sensor that is mounted.
        tell: Told of progress.
        times: Switchings at each place.
        off_s: How long the supply stays off.

    Returns:
        The switchings, those with the target out of reach first.

    Raises:
        InputError: There are too many or too few times, or the supply is off too long.
        BenchError: The rig cannot switch the supply, the stroke is too short, the
            sensor is not as it should be before the first switching, or an edge was
            lost.
        Stopped: Somebody stopped it.
        LinkError: The rig failed.
    """
    _check(bench.mover, times, off_s)
    places = (
        (False, start_gap_mm(bench, sensor)),
        (True, NEAR_SHARE * sensor.rated_distance_mm),
    )
    found: list[SwitchOn] = []
    for before_target, gap_mm in places:
        where = f"{gap_mm:.1f} mm from the face"
        tell(StepBegan(what=f"going {where}", phase=Phase.LOCATING))
        bench.mover.go(
            bench.within(bench.position_steps(gap_mm)),
            bench.settings.coarse_speed_mm_s,
        )
        _check_output(bench.mover, sensor, before_target, where)
        tell(
            StepBegan(
                what=f"switching the supply off and on, {where}", phase=Phase.SWEEPS
            )
        )
        watched_s = _WATCHED_TIMES * delay_limits(sensor).upper * 1e-3 + _WATCHED_S
        found += [
            _switched(bench.mover, before_target, off_s=off_s, watched_s=watched_s)
            for _ in range(times)
        ]
    return tuple(found)


def check_switching(times: int, off_s: float) -> None:
    """Refuse what shows nothing or never ends.

    Raises:
        InputError: It is out of range.
    """
    if not 1 <= times <= MOST_TIMES:
        raise InputError(f"{times} times: give 1 to {MOST_TIMES}")
    if not 0.0 < off_s <= _LONGEST_OFF_S:
        raise InputError(f"{off_s:g} s without supply: give up to {_LONGEST_OFF_S:g} s")


def _check(mover: Mover, times: int, off_s: float) -> None:
    check_switching(times, off_s)
    if not mover.traits.sets(Control.SENSOR_SUPPLY):
        raise BenchError(
            "this rig cannot switch the sensor's supply",
            hint="fit a switch in it and name it in the firmware (BUILDING.md)",
        )


def _check_output(
    mover: Mover, sensor: Sensor, before_target: bool, where: str
) -> None:
    mover.settle(_SETTLE_S)
    wanted = on_in_the_end(sensor.output, before_target=before_target)
    if mover.output_level() is not wanted:
        state = "on" if wanted else "off"
        raise BenchError(
            f"the output of {sensor.name} is not {state} {where}, so nothing shows when"
            " it is available",
            hint="see which sensor and target are mounted, and whether the output is"
            " normally open or closed",
        )


def _switched(
    mover: Mover, before_target: bool, *, off_s: float, watched_s: float
) -> SwitchOn:
    """Switch once; the supply is on again however it ends."""
    try:
        mover.switch_supply(on=False)
        _watch(mover, off_s)
        switched_us = mover.switch_supply(on=True)
    except BaseException:
        with contextlib.suppress(LinkError):
            mover.switch_supply(on=True)
        raise
    edges = _watch(mover, watched_s)
    return SwitchOn(
        before_target=before_target,
        switched_us=switched_us,
        edges=tuple(
            (edge.level, edge.time)
            for edge in edges
            # A late word of the output's fall came before the supply
            if (edge.time - switched_us) % CLOCK_ROUND_US < CLOCK_ROUND_US // 2
        ),
    )


def _watch(mover: Mover, duration_s: float) -> list[EdgeNotice]:
    """Wait at rest and return the edges of the output meanwhile.

    Raises:
        BenchError: One was lost.
        Stopped: Somebody stopped it.
    """
    edges: list[EdgeNotice] = []
    ends_s = mover.link.now_s() + duration_s
    while (left_s := ends_s - mover.link.now_s()) > 0:
        if mover.link.stop_asked:
            raise Stopped("stopped on request")
        seen = mover.settle(min(left_s, _SLICE_S))
        # Finds the last notice too, if that was lost on its way
        mover.link.look()
        if seen.notices_lost:
            raise BenchError(
                "a change of the output was lost on the way",
                hint="check the cable, then begin again",
            )
        edges += seen.of(Source.OUT)
    return edges
