"""What is on record for a lesson: predictions, readings by hand, runs.

Reads and writes the records; for thread workers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from rig.analysis.edges.run_arrays import run_arrays, usable_sweeps
from rig.analysis.run.quantities import run_quantities
from rig.model.figures import RunFigures
from rig.model.mounted import Sensor, Target
from rig.model.sweeps import Run
from rig.records import Reader, Store
from rig.records.entries import RunFilter
from rig.records.hand_readings import HandBook, HandReading

PREDICTED: Final = "predicted operate"
READ: Final = "operate"
BEFORE: Final = "trimmer: before"
AFTER: Final = "trimmer: after"
_SOURCE: Final = "typed at the class's screen"
_NEWEST_RUNS: Final = 40  # more of them than a picture can tell apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What a step of the lesson is about.

    Attributes:
        sensor: The sensor that is mounted.
        target: The target that is mounted.
        part: Serial or sample number of the sensor; may be empty.
    """

    sensor: Sensor
    target: Target
    part: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRun:
    """A run on record that has its figures.

    Attributes:
        run: The run.
        figures: The latest.
        operate_at_rest_mm: Operate points of the good sweeps, delay removed.
    """

    run: Run
    figures: RunFigures
    operate_at_rest_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PairBook:
    """What is on record for a sensor against a target.

    Attributes:
        predicted: Predictions of each person, mm, in order of entry.
        read: Readings by hand of each person, mm, likewise.
        latest: The latest run; None if there is none.
        before: The latest run before the trimmer was turned.
        after: The latest run after.
    """

    predicted: dict[str, tuple[float, ...]]
    read: dict[str, tuple[float, ...]]
    latest: KeptRun | None = None
    before: KeptRun | None = None
    after: KeptRun | None = None


NOTHING: Final = PairBook(predicted={}, read={})


def read_pair(store: Store, subject: Subject) -> PairBook:
    """Read what is on record for a sensor against a target.

    Raises:
        RigError: The records cannot be read.
    """
    wanted = RunFilter(
        sensor=subject.sensor.name, target=subject.target.name, part=subject.part
    )
    runs = _kept(store, wanted)
    return PairBook(
        predicted=_typed(store, subject, PREDICTED),
        read=_typed(store, subject, READ),
        latest=runs[-1] if runs else None,
        before=_noted(runs, BEFORE),
        after=_noted(runs, AFTER),
    )


def read_materials(store: Store, subject: Subject) -> list[KeptRun]:
    """Return the latest run of a sensor against each target.

    Raises:
        RigError: The records cannot be read.
    """
    wanted = RunFilter(sensor=subject.sensor.name, part=subject.part)
    runs = _kept(store, wanted)
    # Turned on purpose, the trimmer makes another sensor of it
    plain = [kept for kept in runs if kept.run.header.conditions.note != AFTER]
    return list({kept.run.header.target.name: kept for kept in plain}.values())


def lesson_run_ids(store: Store, subject: Subject) -> list[str]:
    """Return the latest runs on each target, at each setting of the trimmer.

    Raises:
        RigError: The records cannot be read.
    """
    wanted = RunFilter(sensor=subject.sensor.name, part=subject.part)
    headers = [kept.run.header for kept in _kept(store, wanted)]
    latest = {(one.target.name, one.conditions.note): one.run_id for one in headers}
    return sorted(latest.values())


def keep(
    store: Store,
    typed: Sequence[tuple[str, float]],
    *,
    subject: Subject,
    figure: str,
    at: datetime,
) -> None:
    """Put what people typed on record.

    Raises:
        RigError: The records cannot be written.
    """
    HandBook(store).add(
        [
            HandReading(
                person=person,
                sensor=subject.sensor.name,
                part=subject.part,
                target=subject.target.name,
                figure=figure,
                value_mm=value_mm,
                source=_SOURCE,
                entered_at=at,
            )
            for person, value_mm in typed
        ]
    )


def _typed(store: Store, subject: Subject, figure: str) -> dict[str, tuple[float, ...]]:
    people: dict[str, tuple[float, ...]] = {}
    for one in HandBook(store).readings(
        sensor=subject.sensor.name,
        target=subject.target.name,
        part=subject.part,
        figure=figure,
    ):
        people[one.person] = (*people.get(one.person, ()), one.value_mm)
    return people


def _kept(store: Store, wanted: RunFilter) -> list[KeptRun]:
    """Return the newest ended runs with figures, oldest first."""
    reader = Reader(store)
    ended = [run for run in reader.runs(wanted) if run.ended_at and not run.void]
    ended = sorted(ended, key=lambda run: run.started_at)[-_NEWEST_RUNS:]
    kept = []
    for summary in ended:
        figures = reader.latest_figures(summary.run_id)
        run = reader.run(summary.run_id)
        if figures is not None and usable_sweeps(run):
            points = _at_rest(run)
            kept.append(KeptRun(run=run, figures=figures, operate_at_rest_mm=points))
    return kept


def _at_rest(run: Run) -> tuple[float, ...]:
    arrays = run_arrays(run)
    found = run_quantities(
        arrays.operate_steps, arrays.release_steps, arrays.speed_mm_s, arrays.knowns
    )
    return tuple(float(value) for value in found.operate_at_rest)


def _noted(runs: Sequence[KeptRun], note: str) -> KeptRun | None:
    noted = [kept for kept in runs if kept.run.header.conditions.note == note]
    return noted[-1] if noted else None
