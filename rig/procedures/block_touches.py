"""Gauge blocks between face and target, touched off on one after the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from firmware_protocol.messages import RestCause
from rig.analysis.edges.datum_closing import datum_closing
from rig.analysis.edges.touch import datum_from_touches
from rig.errors import BenchError, InputError
from rig.model.mounted import Datum
from rig.model.settings import BenchSettings
from rig.procedures.datum_check import touch_again
from rig.procedures.events import StepBegan, Tell
from rig.procedures.mover import Mover
from rig.procedures.ready_bench import Bench
from rig.procedures.touch_off import touch_off
from rig.procedures.touches import CLEAR_MM, REACH_MM, contact_of, touches_of_face

ROOM_MM = 10.0  # beside a block, to handle it in

# Puts a block of that length before the face; 0 takes the last one away
PutBlock = Callable[[float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockTouches:
    """Contacts on blocks.

    Attributes:
        bench: The bench, its datum in the count of the contacts.
        lengths_mm: Lengths of the blocks.
        contacts: Contact on each, as a datum of its own.
        closing_mm: Place of the face afterwards less the datum.
    """

    bench: Bench
    lengths_mm: tuple[float, ...]
    contacts: tuple[Datum, ...]
    closing_mm: float


def touch_blocks(
    mover: Mover,
    settings: BenchSettings,
    lengths_mm: Sequence[float],
    put: PutBlock,
    tell: Tell,
    *,
    now: Callable[[], datetime],
) -> BlockTouches:
    """Touch the face, then each block, and the face again.

    Args:
        mover: The axis.
        settings: How it is driven.
        lengths_mm: Lengths of the blocks.
        put: Puts a block in place; the axis is out of the way meanwhile.
        tell: Told of progress.
        now: The time, UTC.

    Raises:
        InputError: A length is not above 0 or stands twice, or leaves no room.
        BenchError: A contact is not where the block's length has it, or the face moved.
        Stopped: Somebody stopped it.
        LinkError: The rig failed.
    """
    ordered = _checked(lengths_mm)
    put(0.0)
    bench = touch_off(mover, settings, tell, now=now)
    if ordered[-1] + CLEAR_MM > bench.widest_gap_mm:
        raise InputError(
            f"a block of {ordered[-1]:g} mm leaves no room: the face is"
            f" {bench.widest_gap_mm:.1f} mm from home"
        )
    contacts = []
    for length_mm in ordered:
        _make_room(bench, length_mm)
        put(length_mm)
        contacts.append(_contact(bench, length_mm, tell, now))
    _make_room(bench, ordered[-1])
    put(0.0)
    check = touch_again(bench, tell, sweeps_before=0, conditions_index=0, now=now)
    closing = datum_closing(
        [check],
        bench.datum.place_steps,
        bench.datum.standard_uncertainty_mm,
        steps_per_mm=bench.axis.steps_per_mm,
        last_sweep=-1,
    )
    if closing is None or closing.moved:
        raise BenchError(
            "the face moved while the blocks were touched, so they prove nothing",
            hint="clamp sensor and probe, then begin again",
        )
    return BlockTouches(
        bench=bench,
        lengths_mm=ordered,
        contacts=tuple(contacts),
        closing_mm=closing.difference_mm,
    )


def _checked(lengths_mm: Sequence[float]) -> tuple[float, ...]:
    ordered = tuple(sorted(lengths_mm))
    if not ordered or not ordered[0] > 0.0:
        raise InputError("the length of a gauge block has to be above 0 mm")
    if len(set(ordered)) < len(ordered):
        raise InputError("a gauge block stands twice in the list")
    return ordered


def _make_room(bench: Bench, length_mm: float) -> None:
    away = bench.within(bench.position_steps(length_mm + ROOM_MM))
    bench.mover.go(away, bench.settings.coarse_speed_mm_s)


def _contact(
    bench: Bench, length_mm: float, tell: Tell, now: Callable[[], datetime]
) -> Datum:
    mover, settings = bench.mover, bench.settings
    lowest = mover.traits.travel_low_steps
    tell(StepBegan(what=f"touching the block of {length_mm:g} mm"))
    near = bench.within(bench.position_steps(length_mm + CLEAR_MM))
    # No motion goes further than the block allows, whatever lies on the probe
    reach = bench.position_steps(length_mm - REACH_MM)
    mover.fence(lowest, reach)
    mover.go(near, settings.coarse_speed_mm_s)
    motion = mover.touch(reach, settings.search_speed_mm_s)
    if motion.cause is not RestCause.TOUCHED:
        raise BenchError(
            f"the probe did not close within {REACH_MM:g} mm of a block of"
            f" {length_mm:g} mm",
            hint="is it the right block, and does it lie on the probe?",
        )
    closings, _ = touches_of_face(
        mover,
        settings,
        contact_of(motion).position,
        touches=settings.touches,
        reach_steps=reach,
        tell=tell,
        play=bench.play,
    )
    mover.go(near, settings.coarse_speed_mm_s)
    mover.fence(lowest, bench.nearest_steps)
    # Blocks show the screw, so its steps count, whatever a scale says
    return datum_from_touches(
        [edge.position for edge in closings],
        steps_per_mm=bench.axis.steps_per_mm,
        probe_uncertainty_mm=bench.datum.probe_uncertainty_mm,
        found_at=now(),
        late_mm=bench.datum.late_mm,
    )
