"""How long the rest of a plan should take; moves nothing.

Mounting by hand is not in it, nor are sweeps that turn out void.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rig.link.traits import RigTraits
from rig.model.settings import BenchSettings
from rig.procedures.estimate import Durations
from rig.procedures.rounds import Visit
from rig.records import Reader
from rig.records.entries import ItemProgress, RunFilter


class PlanForecast:
    """Reckons the rest of a plan, and learns from each mounting that is done.

    Attributes:
        durations: Durations on the rig, with face and backlash as the latest touch-off
            or the records say.
    """

    def __init__(self, order: Sequence[Visit], durations: Durations) -> None:
        self.durations = durations
        self._order = order
        self._expected_s = self._taken_s = 0.0

    def left_s(
        self, progress: Sequence[ItemProgress], *, without: Visit | None = None
    ) -> float:
        """Return the time that the mountings which are due take.

        Args:
            progress: What is on record for each item of the plan.
            without: A mounting that is left out of the sum.
        """
        left_s = sum(
            self._visit_s(visit, progress[visit.item.index])
            for visit in self._order
            if visit != without and visit.is_due(progress[visit.item.index])
        )
        return left_s * self._learnt

    def visit_s(self, visit: Visit, progress: ItemProgress) -> float:
        """Return the time of one mounting.

        Args:
            visit: The mounting.
            progress: What is on record for its item.
        """
        return self._visit_s(visit, progress) * self._learnt

    def learn(self, visit: Visit, progress: ItemProgress, took_s: float) -> None:
        """Learn from a mounting that is done.

        Args:
            visit: The mounting.
            progress: What was on record for its item before.
            took_s: How long it took.
        """
        self._expected_s += self._visit_s(visit, progress)
        self._taken_s += took_s

    @property
    def _learnt(self) -> float:
        return self._taken_s / self._expected_s if self._expected_s else 1.0

    def _visit_s(self, visit: Visit, progress: ItemProgress) -> float:
        item = visit.item
        begun = progress.to_resume(again=visit.again)
        good = 0 if begun is None else begun.good_sweeps
        run_s = self.durations.run_s(
            item.sensor,
            item.speeds_mm_s,
            first=max(good, visit.first),
            sweeps=visit.sweeps,
            timetable=item.timetable,
        )
        return self.durations.touch_off_s() + run_s


def forecast_from_records(
    order: Sequence[Visit], traits: RigTraits, settings: BenchSettings, reader: Reader
) -> PlanForecast:
    """Return a forecast with what the newest run shows, if it was on this rig.

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
    return PlanForecast(order, durations)
