"""What each person of a class predicted and read, beside the rig: their work."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from rig.analysis.classroom.hand_comparison import HandSummary
from rig.errors import InputError
from rig.inquiry.hand import hand_beside, stated_steps
from rig.inquiry.lesson import PREDICTED, READ
from rig.inquiry.measured_run import MeasuredRun, measured_runs
from rig.inquiry.trimmer_setting import setting_of
from rig.model.part_number import one_spelling
from rig.records import Reader, RunFilter, Store
from rig.records.hand_readings import HandBook, HandReading

_NEWEST_RUNS = 200  # of a sensor; a lesson has some twenty


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkPair:
    """What one person did at one target and one setting of the trimmer.

    Attributes:
        target: Name of the target.
        setting: Setting of the trimmer.
        predicted_mm: Prediction that counts: the last; None for none.
        read_mm: Readings by hand, in order of entry.
        rig: The latest run of the rig there; None if it has not measured.
        beside: The readings beside the rig; None below two of them or without a run
            that has an uncertainty.
    """

    target: str
    setting: str
    predicted_mm: float | None
    read_mm: tuple[float, ...]
    rig: MeasuredRun | None
    beside: HandSummary | None

    @property
    def simulated(self) -> bool:
        """Whether a simulated rig measured there."""
        return self.rig is not None and self.rig.run.header.conditions.simulated


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassWork:
    """The work of one person.

    Attributes:
        person: Name of the person.
        sensor: Name of the sensor.
        part: Serial or sample number of it; may be empty.
        pairs: Targets and settings, in order of the person's first entry.
    """

    person: str
    sensor: str
    part: str
    pairs: tuple[WorkPair, ...]

    @property
    def simulated(self) -> bool:
        """Whether a simulated rig measured any of it."""
        return any(pair.simulated for pair in self.pairs)


def class_work(
    store: Store,
    *,
    sensor: str,
    part: str = "",
    person: str = "",
    since: datetime | None = None,
) -> tuple[ClassWork, ...]:
    """Return the work of each person, by name.

    Args:
        store: Open records.
        sensor: Name of the sensor.
        part: Serial or sample number of it; empty for runs that name none.
        person: Name of one person; empty for everybody.
        since: When the class began; what was entered before is left out.

    Raises:
        InputError: Nobody has put anything on record, or not that person.
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as records:
        reader = Reader(records)
        ended = [
            run.run_id
            for run in reader.runs(RunFilter(sensor=sensor, part=part))
            if run.ended_at and not run.void
        ]
        runs = measured_runs(reader, ended[-_NEWEST_RUNS:])
        entries = [
            one
            for one in HandBook(records).every()
            if (one.sensor, one.part) == (sensor, one_spelling(part))
            and one.figure in (PREDICTED, READ)
            and (since is None or one.entered_at >= since)
        ]
    people = sorted({one.person for one in entries}, key=str.casefold)
    named = f"{sensor}, part {part}," if part else f"{sensor} without a part number"
    if not people:
        raise InputError(
            f"no prediction or reading of {named} is on record",
            hint="type them in the lesson, or enter a table with `gapsweep hand add`",
        )
    if person and person not in people:
        raise InputError(
            f"{person!r} has nothing of {named} on record",
            hint=f"known: {', '.join(people)}",
        )
    latest = {
        (one.run.header.target.name, setting_of(one.run.header)): one for one in runs
    }
    return tuple(
        ClassWork(
            person=who,
            sensor=sensor,
            part=part,
            pairs=tuple(_pairs((e for e in entries if e.person == who), latest)),
        )
        for who in people
        if person in ("", who)
    )


def _pairs(
    entries: Iterable[HandReading], latest: dict[tuple[str, str], MeasuredRun]
) -> Iterable[WorkPair]:
    by_pair: dict[tuple[str, str], list[HandReading]] = {}
    for one in entries:
        by_pair.setdefault((one.target, one.label), []).append(one)
    for (target, setting), own in by_pair.items():
        predicted = [one.value_mm for one in own if one.figure == PREDICTED]
        read = [one for one in own if one.figure == READ]
        rig = latest.get((target, setting))
        yield WorkPair(
            target=target,
            setting=setting,
            predicted_mm=predicted[-1] if predicted else None,
            read_mm=tuple(one.value_mm for one in read),
            rig=rig,
            beside=_beside(read, rig),
        )


def _beside(read: list[HandReading], rig: MeasuredRun | None) -> HandSummary | None:
    if rig is None or len(read) < 2:
        return None
    readings = {read[0].person: tuple(one.value_mm for one in read)}
    try:
        found = hand_beside(readings, rig, steps_mm=stated_steps(read))
    except InputError:
        return None  # the run states no uncertainty to stand beside
    return found.people[0] if found.people else None
