"""One sensor and one target, swept with the holder clamped at several places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from rig.analysis.axis.place_advice import next_place_mm
from rig.analysis.axis.place_fit import LEAST_PLACES, check_distances
from rig.errors import BenchError, InputError
from rig.model.mounted import Sensor
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import RunResult, touch_off_and_run
from rig.procedures.events import Event, Remarked, StepBegan, Tell
from rig.procedures.locate import START_RATIO, START_ROOM_MM
from rig.procedures.mover import Mover
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.procedures.timetable import clock_of

MOST_PLACES = 24
_BEHIND_MM = 0.5  # room of the axis behind the face, to touch it from home

# Clamps the holder so that the face is near there, mm from home, which is so much
# farther from home than now; None leaves it
Clamp = Callable[[float | None, float], None]


def check_places(places: int) -> None:
    """Refuse a number of places that shows no turn of a screw, or never ends.

    Raises:
        InputError: It is too small or too large.
    """
    if not LEAST_PLACES <= places <= MOST_PLACES:
        raise InputError(
            f"{places} places: give {LEAST_PLACES} to {MOST_PLACES}",
            hint="8 tell a drift and half a turn apart from a turn",
        )


def room_for_face_mm(mover: Mover, sensor: Sensor) -> tuple[float, float]:
    """Return where the face may be, mm from home, lowest and highest.

    Args:
        mover: The axis.
        sensor: The sensor, whose band has to be reached from there.
    """
    traits = mover.traits
    reach_mm = START_RATIO * sensor.rated_distance_mm + START_ROOM_MM
    return (
        mover.length_mm(traits.travel_low_steps) + reach_mm,
        mover.length_mm(traits.travel_high_steps) - _BEHIND_MM,
    )


def sweep_at_places(
    order: RunOrder,
    context: RunContext,
    clamp: Clamp,
    *,
    lead_mm: float,
    places: int,
) -> tuple[Run, ...]:
    """Touch off and carry out a run at each place; each run is on record.

    The first place is where the holder is; each other is asked for, at the phase of the
    screw that is farthest from those seen.

    Args:
        order: What to measure.
        context: What it is carried out with.
        clamp: Has the holder clamped elsewhere; the axis is out of the way meanwhile.
        lead_mm: Lead of the screw.
        places: How many.

    Raises:
        InputError: The number of places is not possible, or the sensor's distances
            show nothing of the screw.
        BenchError: The sensor cannot be measured, or two runs in a row are void.
        Stopped: Somebody stopped it; runs that ended are on record.
        RecordsError: The records cannot be written.
        LinkError: The rig failed.
    """
    check_places(places)
    # A drift is a line over the rig's own time
    now = clock_of(context.mover, context.now, None)
    context = replace(context, now=now, tell=_remarks_once(context.tell))
    lowest_mm, highest_mm = room_for_face_mm(context.mover, order.sensor)
    runs: list[Run] = []
    faces_mm: list[float] = []
    there: Callable[[], None] = partial(clamp, None, 0.0)
    while True:
        note = f"periodic error, place {len(runs) + 1} of {places}"
        result = _run_there(replace(order, note=note), context, there)
        runs.append(result.run)
        known = result.run.header.conditions
        faces_mm.append(known.datum.position_steps / known.axis.steps_per_mm)
        if len(runs) == 1:
            figures = result.figures
            check_distances(figures.operate.value, figures.release.value, lead_mm)
        if len(runs) == places:
            return tuple(runs)
        wanted_mm = next_place_mm(
            faces_mm, lead_mm=lead_mm, lowest_mm=lowest_mm, highest_mm=highest_mm
        )
        if wanted_mm is None:
            raise BenchError(
                "the stroke leaves no other place for the face",
                hint="clamp the holder further from the home switch",
            )
        move = partial(clamp, wanted_mm, wanted_mm - faces_mm[-1])
        there = partial(_out_of_the_way, context, move)


def _run_there(
    order: RunOrder, context: RunContext, there: Callable[[], None]
) -> RunResult:
    """Carry out one run there; a second one if the first is void."""
    there()
    try:
        return touch_off_and_run(order, context)
    except BenchError as exc:
        context.tell(Remarked(sentence=f"{exc}; the place is taken once more."))
    there()
    return touch_off_and_run(order, context)


def _out_of_the_way(context: RunContext, move: Callable[[], None]) -> None:
    """Leave room for hands before the holder is moved."""
    context.tell(StepBegan(what="moving out of the way"))
    mover = context.mover
    mover.go(mover.traits.travel_low_steps, context.settings.coarse_speed_mm_s)
    move()


def _remarks_once(tell: Tell) -> Tell:
    """Return what tells the same remark once, though every touch-off makes it."""
    said: set[str] = set()

    def tell_once(event: Event) -> None:
        if isinstance(event, Remarked):
            if event.sentence in said:
                return
            said.add(event.sentence)
        tell(event)

    return tell_once
