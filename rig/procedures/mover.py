"""Motion orders in millimetres, each carried through to rest or to an error."""

from __future__ import annotations

import math
from dataclasses import dataclass

from firmware_protocol.messages import (
    Ability,
    Answer,
    Control,
    EdgeNotice,
    ErrorCode,
    Fault,
    FaultNotice,
    FenceAnswer,
    FenceRequest,
    FreeAnswer,
    FreeRequest,
    GoRequest,
    HomeRequest,
    Input,
    LookAnswer,
    PutAnswer,
    PutRequest,
    Quantity,
    ReadAnswer,
    ReadRequest,
    RearmAnswer,
    RearmRequest,
    Request,
    RestCause,
    RestNotice,
    Source,
    State,
    TouchRequest,
)
from rig.errors import (
    BenchError,
    HomeFault,
    HostUnheard,
    MotionDoubted,
    MotionFault,
    MotionOverdue,
    ProbeContact,
    RequestRefused,
    StepsMissed,
    Stopped,
    SupplyGone,
)
from rig.link.inbox import LostNotice
from rig.link.link import Link
from rig.link.traits import RigTraits
from rig.procedures.motion_fit import Ordered, Told, misfit

_LOOKS_PER_SILENCE = 5
HOME_SLOW_MM_S = 0.25
_NOTICE_WAIT_S = 0.1
# A motion may take so much longer than computed, and so many seconds
_LATE_SHARE = 1.1
_LATE_S = 3.0
_MOST_EDGES = 10_000  # of one motion: a sensor that chatters all the way has fewer
# Sensors are available after 0.3 s (IEC 60947-5-2, from memory)
_SENSOR_WAKES_S = 0.3
# Ways of `home`: SPEC.md 10
_HOME_SEARCH_SHARE = 1.1
_PROBE_CLEAR_MM = 0.5

_FAULTS: dict[int, tuple[type[MotionFault], str, str]] = {
    Fault.LATE_PULSE: (
        MotionFault,
        "a step pulse came too late",
        "ask for a lower speed",
    ),
    Fault.STARVED: (
        MotionFault,
        "the controller could not keep up",
        "ask for a lower speed",
    ),
    Fault.HOME_NOT_FOUND: (
        HomeFault,
        "the home switch was not found",
        "check the switch, its wiring and the motor's direction",
    ),
    Fault.HOME_STUCK: (
        HomeFault,
        "the home switch does not open",
        "check the switch and its wiring",
    ),
    Fault.HOME_UNEXPECTED: (
        StepsMissed,
        "the home switch closed in mid-move",
        "steps were lost: look for a jam or a speed that is too high",
    ),
    Fault.SUPPLY_LOST: (
        SupplyGone,
        "the sensor's supply is gone",
        "check its 24 V supply and fuse",
    ),
    Fault.DRIVE_LOST: (
        MotionFault,
        "the motor's drive went off, so the axis may stand anywhere",
        "release the emergency stop, switch the motor's supply on, and see what the"
        " driver reports",
    ),
    Fault.PROBE_UNEXPECTED: (
        HomeFault,
        "the touch probe was closed while homing",
        "check the probe, its wiring and the motor's direction",
    ),
}
_BY_HAND = "take the motor's power off and turn the target away from the face by hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """How a motion ended.

    Attributes:
        cause: Why it came to rest; None if that notice was lost.
        position_steps: Where.
        edges: Edges of any input on the way, in order.
        edges_before: Those that came at rest since the motion before.
        doubt: What was told that does not fit the motion ordered; empty if all fits.
        notices_lost: Whether a notice was lost on the way.
    """

    cause: RestCause | None
    position_steps: int
    edges: tuple[EdgeNotice, ...]
    notices_lost: bool
    edges_before: tuple[EdgeNotice, ...] = ()
    doubt: str = ""

    def of(self, source: Source) -> tuple[EdgeNotice, ...]:
        """Return the edges of one input."""
        return tuple(edge for edge in self.edges if edge.source is source)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Following:
    """A motion that goes on.

    Attributes:
        request: Number of its order.
        before: Edges while the axis stood, before it.
        ordered: What it is to be; None for `home`.
        begun_s: When it was ordered, by the link's clock.
        deadline_s: When it must have ended.
    """

    request: int
    before: tuple[EdgeNotice, ...]
    ordered: Ordered | None
    begun_s: float
    deadline_s: float


class Mover:
    """Moves the axis of one rig.

    Attributes:
        link: The link that it owns the pumping of.
        traits: What the rig says of itself.
        acceleration_mm_s2: Acceleration of every ramp.
        position_steps: Where the axis came to rest last, by the controller's word.
    """

    def __init__(
        self, link: Link, traits: RigTraits, *, acceleration_mm_s2: float
    ) -> None:
        self.link = link
        self.traits = traits
        self.acceleration_mm_s2 = acceleration_mm_s2
        self.position_steps = 0
        self._has_moved = False
        self._homed_at_s: float | None = None

    # ---------------------------------------------------------------- conversions

    def steps(self, length_mm: float) -> int:
        """Return a length in whole steps."""
        return round(length_mm * self.traits.steps_per_mm)

    def length_mm(self, steps: float) -> float:
        """Return a number of steps as a length."""
        return steps / self.traits.steps_per_mm

    def speed_steps_s(self, speed_mm_s: float) -> int:
        """Return a speed in whole steps a second, within the rig's limit."""
        wanted = max(1, self.steps(speed_mm_s))
        return min(wanted, self.traits.speed_limit_steps_s)

    @property
    def carried_acceleration_mm_s2(self) -> float:
        """Acceleration of the ramps as carried out, within the rig's limit."""
        return self.length_mm(self._acceleration_steps_s2)

    @property
    def _acceleration_steps_s2(self) -> int:
        wanted = self.steps(self.acceleration_mm_s2)
        return min(wanted, self.traits.acceleration_limit_steps_s2)

    @property
    def start_speed_mm_s(self) -> float:
        """Speed up to which the axis needs no ramp."""
        return self.length_mm(self.traits.start_speed_steps_s)

    # -------------------------------------------------------------------- orders

    def make_ready(self) -> LookAnswer:
        """Lead the controller out of `held`, if it is.

        A sensor's supply that was left switched off comes on again. Called where
        somebody begins anew, never to go on by itself after a stop.

        Raises:
            Stopped: Stop was asked for since the job began; whoever begins a job has
                the link forget the stop of an earlier one.
        """
        if self.link.stop_asked:
            raise Stopped("stopped on request")
        look = self.link.look()
        if look.state is State.HELD:
            # It stopped without a ramp, so steps may be lost
            self._homed_at_s = None
            self.link.request(RearmRequest, RearmAnswer)
            look = self.link.look()
        if look.state not in (State.READY, State.UNFENCED):
            self._homed_at_s = None
        if self.traits.sets(Control.SENSOR_SUPPLY) and not look.inputs & Input.SUPPLY:
            self.switch_supply(on=True)
            self.settle(_SENSOR_WAKES_S)
            look = self.link.look()
        self.position_steps = look.position
        return look

    def free(self) -> None:
        """Take the motor's current away after a job, so that it heats nothing.

        The home is given up with it. Nothing is sent where the axis was not moved from
        here, or the rig cannot do it.

        Raises:
            LinkError: The controller does not answer, or the axis moves.
        """
        if self._has_moved and Ability.ENABLE_OUTPUT in self.traits.abilities:
            self.link.request(FreeRequest, FreeAnswer)
            self._has_moved = False
            self._homed_at_s = None

    def home(self, fast_mm_s: float) -> EdgeNotice | None:
        """Find the home switch; the count is 0 there afterwards.

        Returns:
            The edge at which the switch closed. It tells the count before that became
            0: by how much it had gone wrong since the last homing. None if that notice
            was lost.

        Raises:
            Stopped: Somebody stopped it.
            MotionFault: It ended in a fault or in silence. Nothing is tried again:
                where the touch probe closed, a person must look first.
            RequestRefused: Touch probe and home switch are both closed.
        """
        slow = min(self.speed_steps_s(HOME_SLOW_MM_S), self.traits.start_speed_steps_s)
        fast = self.speed_steps_s(fast_mm_s)
        slow_steps = 2 * self.traits.home_search_steps + self.traits.home_clear_steps
        longest_s = (
            self.traits.travel_high_steps * _HOME_SEARCH_SHARE / fast
            + (slow_steps + self.steps(_PROBE_CLEAR_MM)) / slow
        )
        # Where it ends is not known before, so there is nothing to fit it to
        motion = _undoubted(
            self._carry_out(HomeRequest, None, longest_s, fast=fast, slow=slow)
        )
        self._homed_at_s = self.link.now_s()
        closings = [edge for edge in motion.of(Source.HOME) if edge.level]
        return closings[-1] if closings else None

    @property
    def homed_for_s(self) -> float:
        """Time since the last homing that still holds; infinite without one."""
        if self._homed_at_s is None:
            return math.inf
        return self.link.now_s() - self._homed_at_s

    def forget_home(self) -> None:
        """Let the next touch-off home: where the axis stands was not followed."""
        self._homed_at_s = None

    def fence(self, low_steps: int, high_steps: int) -> None:
        """Set the soft limits, kept within the travel."""
        self.link.request(
            FenceRequest,
            FenceAnswer,
            low=max(low_steps, self.traits.travel_low_steps),
            high=min(high_steps, self.traits.travel_high_steps),
        )

    def go(
        self,
        target_steps: int,
        speed_mm_s: float,
        *,
        edges: int = 0,
        overrun_steps: int = 0,
        doubtful: bool = False,
    ) -> Motion:
        """Go toward a position, or until so many steps after an edge.

        Args:
            target_steps: Position.
            speed_mm_s: Speed to cruise at.
            edges: Number of the edge of the output to turn on; 0 for none.
            overrun_steps: How far to go on after it.
            doubtful: Whether a motion of which the controller tells what cannot be is
                returned with that doubt; else it is an error.

        Raises:
            Stopped: Somebody stopped it.
            MotionFault: It ended in a fault, in silence or in contact.
        """
        speed = self.speed_steps_s(speed_mm_s)
        flat = speed <= self.traits.start_speed_steps_s
        ordered = Ordered(
            start_steps=self.position_steps,
            target_steps=target_steps,
            speed_steps_s=speed,
            acceleration_steps_s2=0 if flat else self._acceleration_steps_s2,
            start_speed_steps_s=self.traits.start_speed_steps_s,
            edges=edges,
            overrun_steps=overrun_steps,
        )
        motion = self._carry_out(
            GoRequest,
            ordered,
            ordered.longest_s,
            target=target_steps,
            speed=speed,
            acceleration=self._acceleration_steps_s2,
            edges=edges,
            overrun=overrun_steps,
        )
        return motion if doubtful else _undoubted(motion)

    def touch(self, target_steps: int, speed_mm_s: float) -> Motion:
        """Go toward a position until the touch probe closes.

        Raises:
            Stopped: Somebody stopped it.
            MotionFault: It ended in a fault or in silence.
        """
        speed = self._touch_speed_steps_s(speed_mm_s)
        ordered = Ordered(
            start_steps=self.position_steps,
            target_steps=target_steps,
            speed_steps_s=speed,
        )
        longest_s = ordered.longest_s
        motion = self._carry_out(
            TouchRequest, ordered, longest_s, target=target_steps, speed=speed
        )
        return _undoubted(motion)

    def touch_speed_mm_s(self, speed_mm_s: float) -> float:
        """Return the speed at which a touch is carried out."""
        return self.length_mm(self._touch_speed_steps_s(speed_mm_s))

    def _touch_speed_steps_s(self, speed_mm_s: float) -> int:
        """Return that speed in steps; a touch has no ramp."""
        return min(self.speed_steps_s(speed_mm_s), self.traits.start_speed_steps_s)

    def probe_is_proven(self) -> bool:
        """Return whether the touch probe has changed since the controller started."""
        return bool(Input.PROBE_SEEN & self.link.look().inputs)

    def settle(self, duration_s: float) -> Motion:
        """Wait at rest; an output that bounces shows its late edges meanwhile.

        Raises:
            MotionFault: The controller went into a fault.
        """
        edges: list[EdgeNotice] = []
        lost = False
        deadline_s = self.link.now_s() + duration_s
        while (left_s := deadline_s - self.link.now_s()) > 0:
            notice = self.link.next_notice(left_s)
            if isinstance(notice, EdgeNotice):
                edges.append(notice)
            elif isinstance(notice, FaultNotice):
                raise _motion_fault(notice)
            lost = lost or isinstance(notice, LostNotice)
        return Motion(
            cause=None,
            position_steps=self.position_steps,
            edges=tuple(edges),
            notices_lost=lost,
        )

    def temperature_c(self) -> float | None:
        """Return the temperature of the air at the sensor; None if it is not measured.

        Raises:
            LinkError: The controller does not answer.
        """
        return self.measured(Quantity.TEMPERATURE)

    def measured(self, quantity: Quantity) -> float | None:
        """Return a quantity in V, mA or °C; None if the rig does not measure it.

        Raises:
            LinkError: The controller does not answer.
        """
        if not self.traits.measures(quantity):
            return None
        return self._read(quantity) * 1e-3

    def check_supply_v(self, supply_v: float) -> None:
        """Refuse a voltage of the sensor's supply that the rig cannot set.

        Raises:
            BenchError: It cannot set any, or not that.
        """
        possible = self.traits.supply_range_v
        if possible is None:
            raise BenchError(
                "this rig cannot set the voltage of the sensor's supply",
                hint="leave --supply out, and set it at the supply by hand",
            )
        low_v, high_v, _ = possible
        if not low_v <= supply_v <= high_v:
            raise BenchError(
                f"this rig sets the supply to {low_v:g} to {high_v:g} V, not to"
                f" {supply_v:g} V",
            )

    def set_supply_v(self, supply_v: float) -> None:
        """Set the voltage of the sensor's supply; the axis is at rest.

        Raises:
            BenchError: The rig cannot set it, or not to that.
            LinkError: The controller does not answer.
        """
        self.check_supply_v(supply_v)
        index, value = int(Control.SUPPLY_VOLTAGE), round(supply_v * 1e3)
        self.link.request(PutRequest, PutAnswer, index=index, value=value)

    def scale_length_mm(self) -> float | None:
        """Return how far from home the linear scale has the target; None without one.

        Raises:
            LinkError: The controller does not answer.
        """
        counts_per_mm = self.traits.scale_counts_per_mm
        if counts_per_mm is None:
            return None
        return self._read(Quantity.SCALE) / counts_per_mm

    def _read(self, quantity: Quantity) -> int:
        return self.link.request(ReadRequest, ReadAnswer, index=int(quantity)).value

    def switch_supply(self, *, on: bool) -> int:
        """Switch the sensor's supply; the axis is at rest.

        Returns:
            The controller's clock at that instant, µs.

        Raises:
            RequestRefused: The rig cannot do it.
            LinkError: The controller does not answer.
        """
        index = int(Control.SENSOR_SUPPLY)
        answer = self.link.request(PutRequest, PutAnswer, index=index, value=int(on))
        return answer.time

    def output_level(self) -> bool:
        """Return the level of the sensor's output now."""
        return bool(Input.OUT & self.link.look().inputs)

    # ------------------------------------------------------------------- insides

    def _carry_out(
        self,
        kind: type[Request],
        ordered: Ordered | None,
        longest_s: float,
        **fields: int,
    ) -> Motion:
        if self.link.stop_asked:
            raise Stopped("stopped on request")
        fault, before = self._take_old_notices()
        begun_s = self.link.now_s()
        self._has_moved = True
        try:
            answer = self.link.request(kind, Answer, **fields)
        except RequestRefused as exc:
            if exc.code != ErrorCode.HELD:
                raise
            # The refusal goes before the notice that tells why
            fault = fault or self._take_old_notices(_NOTICE_WAIT_S)[0]
            if fault is None:
                # At rest a stop byte gives no notice
                raise Stopped("stopped from elsewhere while it was at rest") from exc
            raise _motion_fault(fault) from exc
        following = _Following(
            request=answer.number,
            before=before,
            ordered=ordered,
            begun_s=begun_s,
            deadline_s=begun_s + longest_s * _LATE_SHARE + _LATE_S,
        )
        motion = self._until_rest(following)
        if motion.doubt:
            self._see_where_it_rests(motion)
        else:
            self.position_steps = motion.position_steps
        # A stop that crosses the last steps finds the axis at rest: no notice then
        if self.link.stop_asked:
            raise Stopped("stopped on request")
        return motion

    def _take_old_notices(
        self, wait_s: float = 0.0
    ) -> tuple[FaultNotice | None, tuple[EdgeNotice, ...]]:
        """Take what came while nothing moved: the last fault, and all edges."""
        fault = None
        edges = []
        while (notice := self.link.next_notice(wait_s)) is not None:
            if isinstance(notice, FaultNotice):
                fault = notice
            elif isinstance(notice, EdgeNotice):
                edges.append(notice)
        return fault, tuple(edges)

    def _see_where_it_rests(self, motion: Motion) -> None:
        """Take the place from a look where the notice of rest is in doubt.

        Raises:
            MotionDoubted: The axis is not at rest; it was stopped.
        """
        look = self.link.look()
        if look.state in (State.MOVING, State.SEEKING):
            self.link.halt()
            raise MotionDoubted(
                f"the controller told of rest in mid-motion: {motion.doubt}",
                hint="begin again; if it happens again, the controller is faulty",
            )
        self.position_steps = look.position

    def _raise_if_overdue(self, following: _Following, edges: int) -> None:
        if self.link.now_s() > following.deadline_s:
            self.link.halt()
            took_s = self.link.now_s() - following.begun_s
            raise MotionOverdue(
                f"the axis should have come to rest, and after {took_s:.0f} s it has"
                " not: it was stopped",
                hint="look at the axis, then begin again",
            )
        if edges > _MOST_EDGES:
            self.link.halt()
            raise MotionFault(
                f"more than {_MOST_EDGES} edges came in one motion: it was stopped",
                hint="look for a loose wire or interference at the sensor's input",
            )

    def _until_rest(self, following: _Following) -> Motion:
        request_number = following.request
        edges: list[EdgeNotice] = []
        looks: list[LookAnswer] = []
        lost = False
        fault: FaultNotice | None = None
        interval_s = self.traits.silence_limit_s / _LOOKS_PER_SILENCE
        next_look_s = self.link.now_s() + interval_s
        while True:
            wait_s = max(0.0, next_look_s - self.link.now_s())
            notice = self.link.next_notice(wait_s)
            if isinstance(notice, EdgeNotice):
                edges.append(notice)
            elif isinstance(notice, FaultNotice):
                fault = notice
            elif isinstance(notice, LostNotice):
                lost = True
            elif isinstance(notice, RestNotice) and notice.request == request_number:
                self._raise_if_bad(notice, fault, edges, lost)
                return Motion(
                    cause=notice.cause,
                    position_steps=notice.position,
                    edges=tuple(edges),
                    notices_lost=lost,
                    edges_before=following.before,
                    doubt="" if lost else self._doubt(following, edges, looks, notice),
                )
            self._raise_if_overdue(following, len(edges))
            if self.link.now_s() >= next_look_s:
                look = self.link.look()
                looks.append(look)
                next_look_s = self.link.now_s() + interval_s
                if lost and look.state not in (State.MOVING, State.SEEKING):
                    self._raise_if_held(look)
                    return Motion(
                        cause=None,
                        position_steps=look.position,
                        edges=tuple(edges),
                        notices_lost=True,
                        edges_before=following.before,
                    )

    def _doubt(
        self,
        following: _Following,
        edges: list[EdgeNotice],
        looks: list[LookAnswer],
        rest: RestNotice,
    ) -> str:
        """Return what does not fit of what was told; empty if all fits."""
        copy = self.link.take_differing_copy()
        if copy is not None:
            return f"a copy of notice {copy} differs from the notice"
        if following.ordered is None:
            return ""
        told = Told(
            before=following.before,
            edges=edges,
            looks=looks,
            rest=rest,
            elapsed_s=self.link.now_s() - following.begun_s,
        )
        return misfit(following.ordered, told)

    def _raise_if_held(self, look: LookAnswer) -> None:
        if look.state is State.HELD:
            raise MotionFault(
                "the axis stopped and the word why was lost",
                hint="check the link, then begin again",
            )

    def _raise_if_bad(
        self,
        rest: RestNotice,
        fault: FaultNotice | None,
        edges: list[EdgeNotice],
        lost: bool,
    ) -> None:
        if rest.cause is RestCause.STOPPED:
            if self.link.stop_asked:
                raise Stopped("stopped on request")
            raise Stopped(
                "the axis was stopped by a stop byte that was not sent from here",
                hint="another program, or noise on the line: look at the axis and at"
                " the cable, then begin again",
            )
        if rest.cause is RestCause.SILENT:
            raise HostUnheard(
                "the axis stopped because the controller heard nothing from here",
                hint="the computer was too busy or the cable is bad: begin again",
            )
        if rest.cause is RestCause.CONTACT:
            gap = "the touch probe closed in a motion that should not reach it"
            raise ProbeContact(gap, hint="touch off again; has something moved?")
        if rest.cause is RestCause.FAULT:
            if fault is not None and fault.fault == Fault.PROBE_UNEXPECTED and not lost:
                closed = any(e.level for e in edges if e.source is Source.PROBE)
                raise self._probe_while_homing(fault, closed_on_the_way=closed)
            raise _motion_fault(fault)

    def _probe_while_homing(
        self, fault: FaultNotice, *, closed_on_the_way: bool
    ) -> HomeFault:
        """Return what to tell of a homing that the touch probe ended."""
        way_mm = self.length_mm(fault.position - self.position_steps)
        if not closed_on_the_way:
            what = f"the touch probe did not open within {-way_mm:.2f} mm of leaving it"
            hint = (
                "if the target moved away from the face, check the probe and its"
                " wiring; if toward it, swap the two wires of one motor phase"
            )
        elif way_mm > 0:
            what = (
                f"the touch probe closed while homing, {way_mm:.2f} mm up from its"
                " start, toward the face"
            )
            hint = (
                "the home switch was closed away from its place: check the switch and"
                f" its wiring; {_BY_HAND}"
            )
        else:
            what = (
                f"the touch probe closed while homing, {-way_mm:.2f} mm down from its"
                " start, where no face should be"
            )
            hint = (
                f"{_BY_HAND}; if homing moved it toward the face, swap the two wires of"
                " one motor phase, else check the probe and its wiring"
            )
        return HomeFault(f"the rig stopped: {what}", hint=hint)


def _undoubted(motion: Motion) -> Motion:
    if motion.doubt:
        raise MotionDoubted(
            f"the controller tells what cannot be: {motion.doubt}",
            hint="begin again; if it happens again, the controller is faulty",
        )
    return motion


def _motion_fault(fault: FaultNotice | None) -> MotionFault:
    number = fault.fault if fault is not None else 0
    kind, what, hint = _FAULTS.get(number, (MotionFault, f"fault {number}", ""))
    return kind(f"the rig stopped: {what}", hint=hint)
