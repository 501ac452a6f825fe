"""How long the rest of a plan should take; moves nothing.

Mounting by hand counts as long as it took between the latest runs. Sweeps that turn out
void are not in it.
"""

from __future__ import annotations

import statistics
from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from typing import Final

from rig.link.traits import RigTraits
from rig.model.settings import BenchSettings
from rig.procedures.estimate import Durations
from rig.procedures.last_part import last_part
from rig.procedures.rounds import Visit
from rig.records import Reader
from rig.records.entries import ItemProgress, RunFilter, RunSummary

USUAL_MOUNTING_S: Final = 60.0
"""To take one pair off and mount the next by hand (common practice, no source)."""
_LONGEST_MOUNTING_S = 900.0  # what takes longer is a break
_RUNS_LOOKED_AT = 20


class PlanForecast:
    """Reckons the rest of a plan, and learns from each mounting that is done.

    Attributes:
        durations: Durations on the rig, with face and backlash as the latest touch-off
            or the records say.
        mounting_s: Time that a person takes to mount a pair; 0 on a rig that mounts
            them itself.
    """

    def __init__(
        self,
        order: Sequence[Visit],
        durations: Durations,
        known: Collection[tuple[str, str]] = (),
        *,
        mounting_s: float = 0.0,
    ) -> None:
        """Take what is known.

        Args:
            order: Mountings of the plan in order.
            durations: Durations on the rig.
            known: Names of sensor and target whose last part tells where the face is.
            mounting_s: Time that a person takes to mount a pair.
        """
        self.durations = durations
        self.mounting_s = mounting_s
        self._order = order
        self._known = set(known)
        self._homed = False
        self._expected_s = self._taken_s = 0.0

    def left_s(
        self, progress: Sequence[ItemProgress], *, without: Visit | None = None
    ) -> float:
        """Return the time that the mountings which are due take, the work by hand too.

        Args:
            progress: What is on record for each item of the plan.
            without: A mounting that is left out of the sum.
        """
        known, homed = set(self._known), self._homed or bool(without)
        left_s = by_hand_s = 0.0
        for visit in self._order:
            before = progress[visit.item.index]
            if not visit.is_due(before):
                continue
            if visit != without:
                near = _kind(visit) in known
                left_s += self._visit_s(visit, before, near=near, homed=homed)
                by_hand_s += self.mounting_s
                homed = True
            known.add(_kind(visit))
        return left_s * self._learnt + by_hand_s

    def visit_s(self, visit: Visit, progress: ItemProgress) -> float:
        """Return the time of one mounting once the pair is mounted.

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
                backlash_mm=conditions.backlash.of_screw_mm,
            )
    kinds = {_kind(visit): visit.item for visit in order}
    known = [
        kind
        for kind, item in kinds.items()
        if last_part(reader, traits.rig_id, item.sensor, item.target, now) is not None
    ]
    mounting_s = 0.0
    if not traits.simulated:
        latest = reader.runs(RunFilter(simulated=False, newest=_RUNS_LOOKED_AT))
        mounting_s = _mounting_s(latest, durations.touch_off_s())
    return PlanForecast(order, durations, known, mounting_s=mounting_s)


def _mounting_s(runs: Sequence[RunSummary], touch_off_s: float) -> float:
    """Return how long mounting took between runs of different pairs, as a median.

    A run begins once its pair has touched off, so that is taken off the time between.
    """
    took_s = []
    for before, after in pairwise(sorted(runs, key=lambda run: run.started_at)):
        if before.ended_at is None or _pair(before) == _pair(after):
            continue
        between_s = (after.started_at - before.ended_at).total_seconds() - touch_off_s
        if 0 < between_s <= _LONGEST_MOUNTING_S:
            took_s.append(between_s)
    return statistics.median(took_s) if took_s else USUAL_MOUNTING_S


def _pair(run: RunSummary) -> tuple[str, str, str]:
    return run.sensor, run.part, run.target
