"""How long things take, from what is known before they begin; moves nothing.

Mounting by hand is not in it, nor are sweeps that turn out void.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.edges.touch import LEAST_TOUCHES
from rig.link.traits import RigTraits
from rig.model.mounted import Principle, Sensor
from rig.model.settings import BenchSettings
from rig.model.sweeps import Timetable
from rig.procedures.assumed_delay import longest_delay_s
from rig.procedures.datum_check import NEAR_MM, TOUCHES
from rig.procedures.expectation import Expectation
from rig.procedures.face_search import slowly_mm
from rig.procedures.flank import Drive, lay_out
from rig.procedures.homing_check import HOME_EVERY_S
from rig.procedures.kinematics import move_s
from rig.procedures.locate import START_RATIO, START_ROOM_MM
from rig.procedures.mover import HOME_SLOW_MM_S
from rig.procedures.ready_bench import Bench
from rig.procedures.timetable import spacing_of_readings_s
from rig.procedures.touches import BACK_OFF_MM, CLEAR_MM, LEAST_SLOW_MM, SLOW_MM

# What stands here is assumed until the bench has shown it
_FACE_SHARE = 0.75  # of the travel: where the face is on a rig not seen before
_BACKLASH_MM = 0.05
_OPERATE_SHARE = 0.8  # of the rated distance: a sensor as it comes, on some target
_HALF_BAND_MM = 0.015
_DELAY_SHARE = 0.25  # of the longest that the data sheet allows
# Differential travel over rated distance (common practice, no source)
_TRAVEL_SHARE = {Principle.CAPACITIVE: 0.15, Principle.INDUCTIVE: 0.05}


@dataclass(frozen=True, slots=True, kw_only=True)
class Durations:
    """How long the parts of a procedure take on one rig.

    Attributes:
        traits: The rig.
        settings: How it is driven.
        face_mm: Distance from the home switch to the face; None if no touch-off has
            shown it.
        backlash_mm: Lost motion on reversal.
    """

    traits: RigTraits
    settings: BenchSettings
    face_mm: float | None = None
    backlash_mm: float = _BACKLASH_MM

    def touch_off_s(self, near: Sensor | None = None, *, homes: bool = True) -> float:
        """Return the time of a touch-off from the home switch.

        Args:
            near: The sensor, if the last of its kind told where its face is; else it is
                looked for all the way.
            homes: Whether it begins with homing.
        """
        quick, touches = self.settings.coarse_speed_mm_s, self.settings.touches
        leave_s = self._move_s(CLEAR_MM, quick) + 2.0 * self.traits.order_s
        home_s = self.home_s(0.0) if homes else 0.0
        operate_mm = 0.0 if near is None else _OPERATE_SHARE * near.rated_distance_mm
        slow_mm = slowly_mm(operate_mm, self.settings)
        if not slow_mm < self._face_mm:
            find_s = self.traits.order_s + self._move_s(
                self._face_mm, self._search_mm_s
            )
            return home_s + find_s + self.touches_s(touches) + leave_s
        find_s = (
            self._move_s(self._face_mm - max(operate_mm, slow_mm), quick)
            + self._move_s(max(0.0, operate_mm - slow_mm), quick)
            + self._move_s(slow_mm, self._search_mm_s)
            + 4.0 * self.traits.order_s
        )
        touches_s = self.touches_s(min(touches, LEAST_TOUCHES), known=True)
        return home_s + find_s + touches_s + leave_s

    def closing_s(
        self, gap_mm: float, *, homed_for_s: float = 0.0, near: bool = False
    ) -> float:
        """Return the time of touching the face again from so far, and of going away.

        Args:
            gap_mm: Gap at which the axis stands.
            homed_for_s: Time since the last homing, by then.
            near: Whether the way to the touch-off showed where the output operates.
        """
        quick = self.settings.coarse_speed_mm_s
        slow = min(self.settings.touch_speed_mm_s, self._start_speed_mm_s)
        way_s = self._move_s(abs(gap_mm - CLEAR_MM), quick)
        find_s = self._move_s(CLEAR_MM, self._search_mm_s)
        if near:
            find_s = self._move_s(CLEAR_MM - NEAR_MM, quick)
            find_s += self._move_s(NEAR_MM, self._search_mm_s)
        back_s = self._move_s(self.backlash_mm + LEAST_SLOW_MM, self._search_mm_s)
        touch_s = self._move_s(LEAST_SLOW_MM, slow) + 2.0 * back_s
        homes = homed_for_s > HOME_EVERY_S
        away_mm = self._face_mm
        limit_mm_s = self.traits.speed_limit_steps_s / self.traits.steps_per_mm
        retreat_mm_s = min(self.settings.retreat_speed_mm_s, limit_mm_s)
        away_s = self.home_s(away_mm) if homes else self._move_s(away_mm, retreat_mm_s)
        orders_s = (5.0 + 3.0 * TOUCHES) * self.traits.order_s  # soft limits among them
        return way_s + find_s + TOUCHES * touch_s + away_s + orders_s

    def touches_s(self, touches: int, *, known: bool = False) -> float:
        """Return the time of slow touches after a contact at the search speed.

        Args:
            touches: How many.
            known: Whether touches before showed what the probe needs to open.
        """
        slow = min(self.settings.touch_speed_mm_s, self._start_speed_mm_s)
        quick, order_s = self._search_mm_s, self.traits.order_s
        slow_mm = LEAST_SLOW_MM if known else SLOW_MM
        way_mm = self.backlash_mm + slow_mm
        # Up to the contact, and on both sides of the opening
        slow_s = self._move_s(3.0 * slow_mm, slow)
        quick_mm = max(0.0, self.backlash_mm - slow_mm) + self.backlash_mm
        next_s = slow_s + self._move_s(quick_mm, quick) + 4.0 * order_s
        if known:
            return self._move_s(way_mm, quick) + order_s + touches * next_s
        leave_s = self._move_s(2.0 * BACK_OFF_MM - way_mm, quick) + 2.0 * order_s
        first_s = 2.0 * (self._move_s(way_mm, slow) + order_s)
        return leave_s + first_s + (touches - 1) * next_s

    def home_s(self, from_mm: float) -> float:
        """Return the time of a homing from so far."""
        fast = self.settings.coarse_speed_mm_s
        scale = self.traits.steps_per_mm
        limit = self.traits.acceleration_limit_steps_s2 / scale
        slow = min(HOME_SLOW_MM_S, self._start_speed_mm_s)
        past_mm = fast**2 / (2.0 * limit) if from_mm > 0.0 else 0.0
        up_mm = past_mm + self.backlash_mm + self.traits.home_clear_steps / scale
        down_mm = self.backlash_mm + self.traits.home_clear_steps / scale
        fast_s = move_s(from_mm + past_mm, fast, limit) if from_mm > 0.0 else 0.0
        return self.traits.order_s + fast_s + (up_mm + down_mm) / slow

    def locate_s(self, sensor: Sensor, *, near: bool = False) -> float:
        """Return the time of the coarse out-and-back, from before the face.

        Args:
            sensor: What is measured.
            near: Whether a quick way to the face went over the band already, so that
                only the way out is lacking.
        """
        speed = self.settings.coarse_speed_mm_s
        if near:
            share = _OPERATE_SHARE * (1.0 + _TRAVEL_SHARE[sensor.principle])
            out_mm = share * sensor.rated_distance_mm - CLEAR_MM
            return self.traits.order_s + self._move_s(out_mm, speed)
        start_mm = START_RATIO * sensor.rated_distance_mm + START_ROOM_MM
        way_mm = start_mm - _OPERATE_SHARE * sensor.rated_distance_mm
        there_s = self._move_s(start_mm - CLEAR_MM, speed)
        return 3.0 * self.traits.order_s + there_s + 2.0 * self._move_s(way_mm, speed)

    def first_way_s(
        self, sensor: Sensor, speed_mm_s: float, *, near: bool = False
    ) -> float:
        """Return what the first sweep takes longer than a later one.

        It comes from further out, and how much the delay shifts the edge from that of
        the coarse pass is not known yet.

        Args:
            sensor: What is measured.
            speed_mm_s: Speed of the sweep.
            near: Whether it comes from the band itself, as `locate_s` has it.
        """
        quick = self.settings.coarse_speed_mm_s
        open_mm = abs(quick - speed_mm_s) * longest_delay_s(sensor)
        start_mm = START_RATIO * sensor.rated_distance_mm + START_ROOM_MM
        way_mm = start_mm - _OPERATE_SHARE * sensor.rated_distance_mm
        return (0.0 if near else way_mm / quick) + open_mm / speed_mm_s

    def pair_s(
        self, sensor: Sensor, speed_mm_s: float, *, travel_mm: float | None = None
    ) -> float:
        """Return the time of a sweep once the band is known.

        Args:
            sensor: What is measured.
            speed_mm_s: Speed of the sweep.
            travel_mm: Distance from operate to release point, backlash included, if it
                is known.
        """
        drive = self._drive
        scale = self.traits.steps_per_mm
        if travel_mm is None:
            travel_mm = _TRAVEL_SHARE[sensor.principle] * sensor.rated_distance_mm
            travel_mm += self.backlash_mm
        travel_mm += drive.ramp_steps(speed_mm_s) / scale
        ahead = Expectation(
            middle_steps=travel_mm * scale,
            half_steps=_HALF_BAND_MM * scale,
            delay_steps=_DELAY_SHARE * longest_delay_s(sensor) * speed_mm_s * scale,
        )
        flank = lay_out(ahead, speed_mm_s, drive)
        slow_from = flank.slow_from_steps or 0
        # The slow motion brakes beyond the edge
        slow_steps = ahead.middle_steps - slow_from + drive.ramp_steps(speed_mm_s)
        quick_s = drive.move_s(slow_from, drive.quick_mm_s)
        orders_s = drive.order_s * (2 if slow_from else 1)
        slow_s = drive.move_s(slow_steps, speed_mm_s)
        return 2.0 * (quick_s + slow_s + orders_s + self.settings.settle_s)

    def run_s(
        self,
        sensor: Sensor,
        speeds_mm_s: Sequence[float],
        *,
        first: int,
        sweeps: int,
        timetable: Timetable | None = None,
        near: bool = False,
    ) -> float:
        """Return the time of a run or of a part of it, touch-off not included.

        Args:
            sensor: What is measured.
            speeds_mm_s: Speeds in turn.
            first: Good sweeps that there are already.
            sweeps: Good sweeps that there are to be afterwards.
            timetable: When they are due, if not one after another.
            near: Whether the face was looked for near that of the last of the kind.
        """
        turn = [speeds_mm_s[i % len(speeds_mm_s)] for i in range(first, sweeps)]
        pairs_s = sum(self.pair_s(sensor, speed) for speed in turn)
        pairs_s = with_waits_s(pairs_s, timetable, first=first, sweeps=sweeps)
        way_s = self.first_way_s(sensor, turn[0], near=near) if turn else 0.0
        gap_mm = (1.0 + _TRAVEL_SHARE[sensor.principle]) * sensor.rated_distance_mm
        closing_s = self.closing_s(
            _OPERATE_SHARE * gap_mm, homed_for_s=pairs_s, near=near
        )
        return self.locate_s(sensor, near=near) + way_s + pairs_s + closing_s

    @property
    def _drive(self) -> Drive:
        scale = self.traits.steps_per_mm
        limit = self.traits.acceleration_limit_steps_s2 / scale
        return Drive(
            steps_per_mm=scale,
            quick_mm_s=self.settings.coarse_speed_mm_s,
            acceleration_mm_s2=min(self.settings.acceleration_mm_s2, limit),
            start_speed_mm_s=self._start_speed_mm_s,
            backlash_steps=self.backlash_mm * scale,
            order_s=self.traits.order_s,
        )

    @property
    def _face_mm(self) -> float:
        if self.face_mm is not None:
            return self.face_mm
        return _FACE_SHARE * self.traits.travel_high_steps / self.traits.steps_per_mm

    @property
    def _search_mm_s(self) -> float:
        return min(self.settings.search_speed_mm_s, self._start_speed_mm_s)

    @property
    def _start_speed_mm_s(self) -> float:
        return self.traits.start_speed_steps_s / self.traits.steps_per_mm

    def _move_s(self, way_mm: float, speed_mm_s: float) -> float:
        return move_s(
            way_mm,
            speed_mm_s,
            self._drive.acceleration_mm_s2,
            start_speed_mm_s=self._start_speed_mm_s,
        )


def with_waits_s(
    pairs_s: float, timetable: Timetable | None, *, first: int, sweeps: int
) -> float:
    """Return the time of sweeps with what a timetable has them wait.

    Args:
        pairs_s: Time of the sweeps to come, one after another.
        timetable: Timetable of the run; None for no waits.
        first: Good sweeps that there are already.
        sweeps: Good sweeps that the run is to have.
    """
    if timetable is None or first >= sweeps:
        return pairs_s
    each = sweeps // timetable.readings
    under_way = max(0, first - 1) // each
    spacing_s = spacing_of_readings_s(timetable)
    last_due_s = spacing_s * (timetable.readings - 1 - under_way)
    last_s = pairs_s * min(1.0, each / (sweeps - first))
    return max(pairs_s, last_due_s + last_s)


def durations_of(bench: Bench) -> Durations:
    """Return the durations of a bench whose face is known."""
    return Durations(
        traits=bench.mover.traits,
        settings=bench.settings,
        face_mm=bench.datum.position_steps / bench.axis.steps_per_mm,
        backlash_mm=bench.backlash.of_screw_mm,
    )
