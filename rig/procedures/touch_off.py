"""Touch-off: home, find the face on the probe, and from there datum and backlash."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

from firmware_protocol.messages import Ability, RestCause, Source
from rig.analysis.edges.bench_causes import bench_causes
from rig.analysis.edges.touch import (
    backlash_from_contacts,
    datum_from_touches,
    without_probe_delay,
)
from rig.errors import BenchError, InputError, Stopped
from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    knowledge_of,
)
from rig.model.mounted import Axis
from rig.model.settings import BenchSettings
from rig.procedures.events import DatumFound, StepBegan, Tell, Touched
from rig.procedures.mover import Motion, Mover
from rig.procedures.ready_bench import Bench

_PROOF_LOOK_S = 0.2
BACK_OFF_MM = 0.4  # more than any backlash that a bench may have, and its run-up
REACH_MM = 0.5  # beyond the face, once it was found: no touch goes further
PROOF_S = 60.0  # that a person has to tap the probe
CLEAR_MM = 1.0  # from the first touch, at a higher speed


def touch_off(
    mover: Mover,
    settings: BenchSettings,
    tell: Tell,
    *,
    declared: BenchDeclaration = NOTHING_DECLARED,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> Bench:
    """Home, touch the face, and leave the axis at a safe gap with limits set.

    Every touch is one contact made on approach and one contact broken on retreat. The
    contact has no hysteresis, so their difference is the backlash. The first touch is a
    fast one: how much later it closes than the slow ones is the delay of the probe,
    which is taken off both.

    Args:
        mover: Moves the axis.
        settings: How it is driven.
        tell: Told of progress.
        declared: What is declared of the bench; the rest is assumed.
        now: Gives the time, UTC.

    Raises:
        InputError: Fewer than two touches are asked for.
        BenchError: The rig has no probe, or the probe does not do what it should.
        Stopped: Somebody stopped it.
    """
    _check_possible(mover, settings)
    ask_for_proof(mover, tell)
    tell(StepBegan(what="homing"))
    mover.make_ready()
    mover.home(settings.coarse_speed_mm_s)
    traits = mover.traits
    mover.fence(traits.travel_low_steps, traits.travel_high_steps)
    tell(StepBegan(what="looking for the face"))
    face = contact_of(mover.touch(traits.travel_high_steps, settings.search_speed_mm_s))
    back_off(mover, face, CLEAR_MM, settings)
    # The face is known now: a probe that fails from here on presses no further
    reach = min(face + mover.steps(REACH_MM), traits.travel_high_steps)
    closings, openings = touches_of_face(mover, settings, settings.touches, reach, tell)
    known = knowledge_of(declared, touch_speed_mm_s=settings.touch_speed_mm_s)
    causes = bench_causes(known, screw=True)
    datum, backlash = without_probe_delay(
        datum_from_touches(
            closings,
            steps_per_mm=traits.steps_per_mm,
            probe_uncertainty_mm=causes.datum_mm(),
            found_at=now(),
        ),
        backlash_from_contacts(closings, openings, steps_per_mm=traits.steps_per_mm),
        face,
        steps_per_mm=traits.steps_per_mm,
        search_mm_s=mover.touch_speed_mm_s(settings.search_speed_mm_s),
        touch_mm_s=mover.touch_speed_mm_s(settings.touch_speed_mm_s),
    )
    bench = Bench(
        mover=mover,
        settings=settings,
        axis=Axis(
            steps_per_mm=traits.steps_per_mm,
            standard_uncertainty_mm=causes.largest_axis_mm,
        ),
        datum=replace(
            datum, probe_uncertainty_mm=causes.datum_mm(datum.late_uncertainty_mm)
        ),
        backlash=backlash,
        known=known,
    )
    # From here on no motion may reach the face
    mover.go(bench.position_steps(CLEAR_MM), settings.coarse_speed_mm_s)
    mover.fence(traits.travel_low_steps, bench.nearest_steps)
    tell(DatumFound(datum=bench.datum, backlash=bench.backlash))
    return bench


def ask_for_proof(mover: Mover, tell: Tell) -> None:
    """Have the touch probe tapped by hand, unless it has changed since the start.

    A probe whose wire is broken, or that sticks, would let a touch press on the face.
    Nothing moves meanwhile.

    Raises:
        BenchError: It did not change in time.
        Stopped: Somebody stopped it.
    """
    if mover.probe_is_proven():
        return
    tell(StepBegan(what="waiting for a tap on the touch probe"))
    deadline_s = mover.link.now_s() + PROOF_S
    while not mover.probe_is_proven():
        if mover.link.stop_asked:
            raise Stopped("stopped on request")
        if mover.link.now_s() >= deadline_s:
            raise BenchError(
                "the touch probe has not changed since the rig started, so nothing"
                " shows that it works",
                hint="tap it by hand; if that changes nothing, check its wiring",
            )
        mover.settle(_PROOF_LOOK_S)


def _check_possible(mover: Mover, settings: BenchSettings) -> None:
    if settings.touches < 2:
        raise InputError(
            f"touches is {settings.touches}: a datum with uncertainty needs 2 or more"
        )
    if Ability.TOUCH_PROBE not in mover.traits.abilities:
        raise BenchError(
            "this rig has no touch probe, so its datum cannot be found",
            hint="fit a touch probe and set its ability in the firmware",
        )


def touches_of_face(
    mover: Mover, settings: BenchSettings, touches: int, reach_steps: int, tell: Tell
) -> tuple[list[int], list[int]]:
    """Touch the face so many times; return where the probe closed, and opened.

    Args:
        mover: The axis, backed off from the face.
        settings: How it is driven.
        touches: How many.
        reach_steps: Position that no touch goes beyond.
        tell: Told of progress.

    Raises:
        BenchError: The probe does not do what it should.
        Stopped: Somebody stopped it.
    """
    closings: list[int] = []
    openings: list[int] = []
    for index in range(1, touches + 1):
        tell(StepBegan(what=f"touch {index} of {touches}"))
        closing = contact_of(mover.touch(reach_steps, settings.touch_speed_mm_s))
        openings.append(back_off(mover, closing, BACK_OFF_MM, settings))
        closings.append(closing)
        tell(Touched(index=index, wanted=touches, position_steps=closing))
    return closings, openings


def contact_of(motion: Motion) -> int:
    """Return where the probe closed.

    Raises:
        BenchError: It did not.
    """
    closings = [edge for edge in motion.of(Source.PROBE) if edge.level]
    if motion.cause is not RestCause.TOUCHED or not closings:
        raise BenchError(
            "the touch probe did not close on the whole way",
            hint="check the probe and its wiring, and that a target is mounted",
        )
    return closings[-1].position


def back_off(mover: Mover, from_steps: int, way_mm: float, s: BenchSettings) -> int:
    """Back off slowly and return where the probe opened.

    Raises:
        BenchError: It did not open.
        Stopped: Somebody stopped it.
    """
    target = max(from_steps - mover.steps(way_mm), mover.traits.travel_low_steps)
    motion = mover.go(target, s.touch_speed_mm_s)
    openings = [edge for edge in motion.of(Source.PROBE) if not edge.level]
    if not openings:
        raise BenchError(
            f"the touch probe did not open within {way_mm} mm of leaving it",
            hint="the probe sticks, its wire is broken, or the backlash is far too"
            " large",
        )
    return openings[0].position
