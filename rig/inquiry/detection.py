"""Which sensor detects which target: a result of its own, found or not."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from rig.inquiry.plan import PlanResult
from rig.inquiry.tried import tried_on_record
from rig.model.attempts import Outcome
from rig.model.figures import Figure
from rig.records import Reader, RunFilter, Store


class Detection(StrEnum):
    """Whether a sensor detects a target."""

    DETECTS = "detects"
    DOES_NOT_DETECT = "does not detect"
    PARTS_DIFFER = "parts differ"
    NO_RESULT = "no result"


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectionCell:
    """What one kind of sensor makes of one target.

    Attributes:
        sensor: Name of the sensor.
        target: Name of the target.
        detection: Whether it detects it.
        detected: Number of parts whose newest telling outcome is that they detect it;
            runs that name no part count as one.
        tried: Number of parts that told either.
        outcome: Newest outcome in a word or two.
        operate_mm: Operate point of the newest run that detects it; None without one.
        run_id: Identity of the run behind the newest outcome.
        simulated: Whether a simulated rig made any of it.
    """

    sensor: str
    target: str
    detection: Detection
    detected: int
    tried: int
    outcome: str
    operate_mm: Figure | None
    run_id: str
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectionTable:
    """Sensors against targets.

    Attributes:
        simulated: Whether a simulated rig made any of it.
        sensors: Names of the sensors, in order of their first attempt.
        targets: Names of the targets, in order of their first attempt.
        cells: Every pair that was tried, by sensor and then target.
    """

    simulated: bool
    sensors: tuple[str, ...]
    targets: tuple[str, ...]
    cells: tuple[DetectionCell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """One attempt, in order of time."""

    sensor: str
    target: str
    part: str
    outcome: Outcome
    words: str
    operate_mm: Figure | None
    run_id: str
    simulated: bool

    @property
    def tells(self) -> bool:
        """Whether it tells that the target is detected or is not."""
        return self.outcome in (Outcome.FIGURES, Outcome.NEVER_SWITCHES)


def detection_on_record(store: Store, wanted: RunFilter) -> DetectionTable:
    """Return which sensor detects which target, by all that was tried.

    The newest outcome of each part counts. What ends an attempt otherwise, such as
    chatter or lost steps, tells neither.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        tried = tried_on_record(moment, wanted)
        run_ids = [one.run_id for one in tried if one.run is not None]
        latest = Reader(moment).latest_computations(run_ids)
    by_time = sorted(tried, key=lambda one: one.last_tried)
    return _table(
        _Seen(
            sensor=one.sensor.name,
            target=one.target.name,
            part=one.part,
            outcome=one.outcome,
            words=one.words,
            operate_mm=latest[one.run_id].figures.operate
            if one.run_id in latest
            else None,
            run_id=one.run_id,
            simulated=one.simulated,
        )
        for one in by_time
    )


def detection_of_plan(result: PlanResult) -> DetectionTable:
    """Return which sensor detects which target, by the items of a plan."""
    seen = []
    for one in result.items:
        item, ending = one.progress.item, one.ending
        if ending is None:
            continue
        counts, tried = one.progress.counting, one.progress.attempts
        last = tried[-1].run_id if tried else ""
        seen.append(
            _Seen(
                sensor=item.sensor.name,
                target=item.target.name,
                part=item.part,
                outcome=ending.outcome,
                words=one.result,
                operate_mm=None if one.figures is None else one.figures.operate,
                run_id=last if counts is None else counts.run_id,
                simulated=result.entry.simulated,
            )
        )
    return _table(seen)


def _table(seen: Iterable[_Seen]) -> DetectionTable:
    of_pair: dict[tuple[str, str], list[_Seen]] = {}
    for one in seen:
        of_pair.setdefault((one.sensor, one.target), []).append(one)
    sensors = tuple(dict.fromkeys(sensor for sensor, _ in of_pair))
    targets = tuple(dict.fromkeys(target for _, target in of_pair))
    return DetectionTable(
        simulated=any(one.simulated for every in of_pair.values() for one in every),
        sensors=sensors,
        targets=targets,
        cells=tuple(
            _cell(of_pair[sensor, target])
            for sensor in sensors
            for target in targets
            if (sensor, target) in of_pair
        ),
    )


def _cell(every: Sequence[_Seen]) -> DetectionCell:
    newest = {one.part: one for one in every if one.tells}
    detecting = [one for one in newest.values() if one.outcome is Outcome.FIGURES]
    last = ([one for one in every if one.tells] or every)[-1]
    return DetectionCell(
        sensor=last.sensor,
        target=last.target,
        detection=_detection(len(detecting), len(newest)),
        detected=len(detecting),
        tried=len(newest),
        outcome=last.words,
        operate_mm=detecting[-1].operate_mm if detecting else None,
        run_id=last.run_id,
        simulated=any(one.simulated for one in every),
    )


def _detection(detected: int, tried: int) -> Detection:
    if not tried:
        return Detection.NO_RESULT
    if not detected:
        return Detection.DOES_NOT_DETECT
    return Detection.DETECTS if detected == tried else Detection.PARTS_DIFFER
