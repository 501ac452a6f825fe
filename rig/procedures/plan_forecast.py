"""How long the rest of a plan should take; moves nothing.

Mounting by hand is not in it, nor are sweeps that turn out void.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime

from rig.link.traits import RigTraits
from rig.model.settings import BenchSettings
from rig.procedures.estimate import Durations
from rig.procedures.last_part import last_part
from rig.procedures.rounds import Visit
from rig.records import Reader
from rig.records.entries import ItemProgress, RunFilter


class PlanForecast:
    """Reckons the rest of a plan, and learns from each mounting that is done.

    Attributes:
        durations: Durations on the rig, with face and backlash as the latest touch-off
            or the records say.
    """

    def __init__(
        self,
        order: Sequence[Visit],
        durations: Durations,
        known: Collection[tuple[str, str]] = (),
    ) -> None:
        """Take what is known.

        Args:
            order: Mountings of the plan in order.
            durations: Durations on the rig.
            known: Names of sensor and target whose last part tells where the face is.
        """
        self.durations = durations
        self._order = order
        self._known = set(known)
        self._homed = False
        self._expected_s = self._taken_s = 0.0

    def left_s(
        self, progress: Sequence[ItemProgress], *, without: Visit | None = None
    ) -> float:
        """Return the time that the mountings which are due take.

        Args:
            progress: What is on record for each item of the plan.
            without: A mounting that is left out of the sum.
        """
        known, homed, left_s = set(self._known), self._homed or bool(without), 0.0
        for visit in self._order:
            before = progress[visit.item.index]
            if not visit.is_due(before):
                continue
            if visit != without:
                near = _kind(visit) in known
                left_s += self._visit_s(visit, before, near=near, homed=homed)
                homed = True
            known.add(_kind(visit))
        return left_s * self._learnt

    def visit_s(self, visit: Visit, progress: ItemProgress) -> float:
        """Return the time of one mounting.

        Args:
            visit: The mounting.
            progress: What is on record for its item.
        """
        near = _kind(visit) in self._known
        return (
            self._visit_s(visit, progress, near=near, homed=self._homed) * self._learnt
        )

    def learn(self, visit: Visit, progress: ItemProgress, took_s: float) -> None:
        """Learn from a mounting that is done.

        Args:
            visit: The mounting.
            progress: What was on record for its item before.
            took_s: How long it took.
        """
        near = _kind(visit) in self._known
        self._expected_s += self._visit_s(visit, progress, near=near, homed=self._homed)
        self._homed = True
        self._taken_s += took_s
        self._known.add(_kind(visit))

    @property
    def _learnt(self) -> float:
        return self._taken_s / self._expected_s if self._expected_s else 1.0

    def _visit_s(
        self, visit: Visit, progress: ItemProgress, *, near: bool, homed: bool
    ) -> float:
        item = visit.item
        begun = progress.to_resume(again=visit.again)
        good = 0 if begun is None else begun.good_sweeps
        run_s = self.durations.run_s(
            item.sensor,
            item.speeds_mm_s,
            first=max(good, visit.first),
            sweeps=visit.sweeps,
            timetable=item.timetable,
            near=near,
        )
        touch_off_s = self.durations.touch_off_s(
            item.sensor if near else None, homes=not (near and homed)
        )
        return touch_off_s + run_s


def _kind(visit: Visit) -> tuple[str, str]:
    return visit.item.sensor.name, visit.item.target.name


def forecast_from_records(
    order: Sequence[Visit],
    traits: RigTraits,
    settings: BenchSettings,
    reader: Reader,
    now: datetime,
) -> PlanForecast:
    """Return a forecast with what the newest run shows, if it was on this rig.

    Args:
        order: Mountings of the plan in order.
        traits: The rig.
        settings: How it is driven.
        reader: Reads the records.
        now: The time, UTC.

    Raises:
        RecordsError: The records cannot be read.
    """
    durations = Durations(traits=traits, settings=settings)
    for newest in reader.runs(RunFilter(simulated=traits.simulated, newest=1)):
        conditions = reader.run(newest.run_id).conditions[-1]
        if conditions.rig_id == traits.rig_id:
            datum, scale = conditions.datum, conditions.axis.steps_per_mm
            durations = replace(
                durations,
                face_mm=datum.position_steps / scale,
                backlash_mm=conditions.backlash.value_mm,
            )
    kinds = {_kind(visit): visit.item for visit in order}
    known = [
        kind
        for kind, item in kinds.items()
        if last_part(reader, traits.rig_id, item.sensor, item.target, now) is not None
    ]
    return PlanForecast(order, durations, known)
