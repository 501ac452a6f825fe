"""Touch-off: home, find the face on the probe, and from there datum and backlash."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from firmware_protocol.messages import Ability, State
from rig.analysis.edges.bench_causes import BenchCauses, bench_causes
from rig.analysis.edges.face_touches import FaceTouches
from rig.analysis.edges.touch import planned_touches
from rig.errors import BenchError, InputError, Stopped
from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    declared_number,
    knowledge_of,
)
from rig.model.bench_items import FACE_NEAREST
from rig.model.mounted import Axis
from rig.model.phases import Phase
from rig.model.settings import BenchSettings
from rig.procedures.edges import latch_of
from rig.procedures.events import DatumFound, StepBegan, Tell
from rig.procedures.face_search import FoundFace, find_face
from rig.procedures.homing_check import HOME_EVERY_S
from rig.procedures.last_part import LastPart
from rig.procedures.mover import Mover
from rig.procedures.ready_bench import Bench
from rig.procedures.touches import CLEAR_MM, REACH_MM, touches_of_face

_PROOF_LOOK_S = 0.2
# More than any play and any error of a screw that homed here (no source)
_SCALE_APART_MM = 1.5
PROOF_S = 60.0  # that a person has to tap the probe


def touch_off(
    mover: Mover,
    settings: BenchSettings,
    tell: Tell,
    *,
    declared: BenchDeclaration = NOTHING_DECLARED,
    last: LastPart | None = None,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> Bench:
    """Touch the face, homed, and leave the axis at a safe gap with limits set.

    Every touch is one contact made on approach and one contact broken on retreat. The
    contact has no hysteresis, so their difference is the backlash. The first touch is a
    fast one: how much later it closes than the slow ones is the delay of the probe,
    which is taken off both.

    Args:
        mover: Moves the axis.
        settings: How it is driven.
        tell: Told of progress.
        declared: What is declared of the bench; the rest is assumed.
        last: The part of the kind that was measured last, near whose face this one is
            looked for; None if nothing is known.
        now: Gives the time, UTC.

    Raises:
        InputError: Fewer than two touches are asked for.
        BenchError: The rig has no probe, or the probe does not do what it should.
        Stopped: Somebody stopped it.
    """
    _check_possible(mover, settings)
    ask_for_proof(mover, tell)
    # After a stop, or a contact where none should be, nothing is taken for granted
    held = mover.link.look().state is State.HELD
    mover.make_ready()
    last = None if held else last
    found = _found(mover, settings, last, tell)
    traits, face = mover.traits, found.contact.position
    _raise_if_before(mover, declared_number(declared, FACE_NEAREST), face)
    by_scale = traits.scale_counts_per_mm is not None
    known = knowledge_of(
        declared, touch_speed_mm_s=settings.touch_speed_mm_s, scale=by_scale
    )
    causes = bench_causes(known, screw=True, scale=by_scale)
    tell(StepBegan(what="backing off from the face", phase=Phase.TOUCHES))
    # The face is known now: a probe that fails from here on presses no further
    reach = min(face + mover.steps(REACH_MM), traits.travel_high_steps)
    closings, openings = touches_of_face(
        mover,
        settings,
        face,
        touches=_touches(settings, causes, last),
        reach_steps=reach,
        tell=tell,
        play=None if last is None else last.play,
    )
    axis = Axis(
        steps_per_mm=traits.steps_per_mm,
        standard_uncertainty_mm=causes.largest_axis_mm,
        scale_counts_per_mm=traits.scale_counts_per_mm,
    )
    touches = FaceTouches(
        search=latch_of(found.contact),
        closings=tuple(latch_of(edge) for edge in closings),
        openings=tuple(latch_of(edge) for edge in openings),
    )
    datum, backlash = touches.datum_and_backlash(
        axis,
        probe_uncertainty_mm=causes.datum_mm(),
        found_at=now(),
        search_mm_s=mover.touch_speed_mm_s(settings.search_speed_mm_s),
        touch_mm_s=mover.touch_speed_mm_s(settings.touch_speed_mm_s),
    )
    bench = Bench(
        mover=mover,
        settings=settings,
        axis=axis,
        datum=replace(
            datum, probe_uncertainty_mm=causes.datum_mm(datum.late_uncertainty_mm)
        ),
        backlash=backlash,
        known=known,
        way_in=found.way_in,
    )
    # From here on no motion may reach the face
    mover.go(bench.position_steps(CLEAR_MM), settings.coarse_speed_mm_s)
    mover.fence(traits.travel_low_steps, bench.nearest_steps)
    _raise_if_scale_lies(mover)
    tell(
        DatumFound(
            datum=bench.datum, backlash=bench.backlash, face_known=last is not None
        )
    )
    return bench


def _touches(
    settings: BenchSettings, causes: BenchCauses, last: LastPart | None
) -> int:
    """Return how many touches are due beside what else the bench is uncertain by."""
    if last is None:
        return settings.touches
    axis_mm = causes.largest_axis_mm
    turning = (causes.hysteresis_mm, causes.backlash_change_mm)
    return planned_touches(
        (last.play.scatter_mm, last.backlash_scatter_mm),
        (
            math.hypot(causes.datum_mm(), axis_mm),
            math.hypot(*(float(np.max(each)) for each in turning), axis_mm),
        ),
        most=settings.touches,
    )


def _found(
    mover: Mover, settings: BenchSettings, last: LastPart | None, tell: Tell
) -> FoundFace:
    """Home if the count may have gone wrong, and find the face.

    What homing protects is the count itself: soft limits, and a calibration of the
    screw by places. Steps lost since show in the closing touches of every run.
    """
    known = last is not None and mover.homed_for_s <= HOME_EVERY_S
    if not known:
        tell(StepBegan(what="homing", phase=Phase.HOMING))
        mover.home(settings.coarse_speed_mm_s)
    traits = mover.traits
    mover.fence(traits.travel_low_steps, traits.travel_high_steps)
    tell(StepBegan(what="looking for the face", phase=Phase.FACE))
    found = find_face(mover, settings, last)
    if known and last is not None:
        off_mm = mover.length_mm(found.contact.position) - last.face_mm
        if abs(off_mm) > CLEAR_MM:
            # Another part, or another count: homing tells
            return _found(mover, settings, None, tell)
    return found


def _raise_if_before(mover: Mover, nearest_mm: float, contact_steps: int) -> None:
    """Take no contact for the face where none may be.

    Raises:
        BenchError: The probe closed before the nearest place.
    """
    contact_mm = mover.length_mm(contact_steps)
    if contact_mm < nearest_mm:
        raise BenchError(
            f"the touch probe closed {contact_mm:.2f} mm from home, and the face is"
            f" declared to be no nearer than {nearest_mm:g} mm",
            hint="see what the target has met, and check the probe and its wiring; if"
            f" the face was moved, `gapsweep bench set {FACE_NEAREST}=...` says so",
        )


def _raise_if_scale_lies(mover: Mover) -> None:
    """Take no places from a scale that does not follow the target.

    Raises:
        BenchError: It is elsewhere than the steps, by more than play explains.
    """
    scale_mm = mover.scale_length_mm()
    if scale_mm is None:
        return
    steps_mm = mover.length_mm(mover.position_steps)
    if abs(scale_mm - steps_mm) > _SCALE_APART_MM:
        raise BenchError(
            f"the linear scale shows {scale_mm:.2f} mm from home where the steps make"
            f" {steps_mm:.2f} mm",
            hint="see that its head moves with the target and counts up toward the face"
            " and that its counts per metre are right",
        )


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
