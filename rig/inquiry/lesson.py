"""What is on record for a lesson: predictions, readings by hand, runs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, NamedTuple

from rig.analysis.batch.compare import compare_batches
from rig.analysis.numbers.intervals import Interval
from rig.inquiry.hand import by_person, enter_readings, stated_steps
from rig.inquiry.measured_run import MeasuredRun, measured_runs
from rig.inquiry.prediction import PredictionResult, beside_theory
from rig.inquiry.theory import NoTheory, Theory, theory_for
from rig.inquiry.trimmer_setting import AS_IT_CAME, BEFORE, TURNED, setting_of
from rig.model.mounted import Sensor, Target
from rig.records import Reader, RunFilter, Store
from rig.records.hand_readings import HandBook, HandReading

PREDICTED: Final = "predicted operate"
READ: Final = "operate"
_SOURCE: Final = "typed at the class's screen"
_NEWEST_RUNS: Final = 40  # more of them than a picture can tell apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What a step of the lesson is about.

    Attributes:
        sensor: The sensor that is mounted.
        target: The target that is mounted.
        part: Serial or sample number of the sensor; may be empty.
        setting: Setting of its trimmer: AS_IT_CAME or TURNED.
    """

    sensor: Sensor
    target: Target
    part: str = ""
    setting: str = AS_IT_CAME


class TypedReading(NamedTuple):
    """What one person typed.

    Attributes:
        person: Who typed it.
        value_mm: Gap that was predicted or read.
        step_mm: Smallest difference that the ruler or gauge shows; None if nobody said.
    """

    person: str
    value_mm: float
    step_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsDifference:
    """What turning the trimmer did to the operate point.

    Attributes:
        difference_mm: Mean after the turn less mean before it.
        interval: Confidence interval of that difference, from the scatter alone.
        sure: Whether the interval leaves 0 out.
        same_datum: Whether both runs stand on one datum.
    """

    difference_mm: float
    interval: Interval
    sure: bool
    same_datum: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PairRecords:
    """What is on record for a sensor against a target.

    Attributes:
        predicted: Predictions of each person at this setting, mm, in order of entry.
        read: Readings by hand of each person at this setting, mm, likewise.
        read_steps_mm: Step of the readout of each person who stated one, the last.
        theory: What theory says; None while nothing was asked.
        at_setting: The latest run at this setting; None if there is none.
        before: The latest run before the turn that is to be compared.
        after: The latest run after the turn.
        difference: After less before; None without two sweeps of each.
    """

    predicted: dict[str, tuple[float, ...]]
    read: dict[str, tuple[float, ...]]
    read_steps_mm: dict[str, float] = field(default_factory=dict)
    theory: Theory | NoTheory | None = None
    at_setting: MeasuredRun | None = None
    before: MeasuredRun | None = None
    after: MeasuredRun | None = None
    difference: SettingsDifference | None = None


NOTHING: Final = PairRecords(predicted={}, read={})


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRecords:
    """The latest run of a sensor against each target, beside theory.

    Attributes:
        runs: The runs, all at the setting that was asked for.
        beside_theory: Those runs beside theory.
    """

    runs: tuple[MeasuredRun, ...]
    beside_theory: PredictionResult


NO_MATERIALS: Final = MaterialRecords(runs=(), beside_theory=beside_theory(()))


def read_pair(store: Store, subject: Subject) -> PairRecords:
    """Read what is on record for a sensor against a target.

    Raises:
        RecordsError: The records cannot be read.
    """
    wanted = RunFilter(
        sensor=subject.sensor.name, target=subject.target.name, part=subject.part
    )
    with store.snapshot() as records:
        runs = _newest(records, wanted)
        predicted = by_person(_typed(records, subject, PREDICTED))
        read = _typed(records, subject, READ)
    before = _last(one for one in runs if one.run.header.label == BEFORE)
    after = _last(one for one in runs if _setting(one) == TURNED)
    return PairRecords(
        predicted=predicted,
        read=by_person(read),
        read_steps_mm=stated_steps(read),
        theory=theory_for(subject.sensor, subject.target, setting=subject.setting),
        at_setting=_last(one for one in runs if _setting(one) == subject.setting),
        before=before,
        after=after,
        difference=settings_difference(before, after) if before and after else None,
    )


def read_materials(store: Store, subject: Subject) -> MaterialRecords:
    """Return the latest run of a sensor against each target, at one setting.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as records:
        runs = _newest(
            records, RunFilter(sensor=subject.sensor.name, part=subject.part)
        )
    # Turned on purpose, the trimmer makes another sensor of it
    alike = [one for one in runs if _setting(one) == subject.setting]
    latest = tuple({one.run.header.target.name: one for one in alike}.values())
    return MaterialRecords(runs=latest, beside_theory=beside_theory(latest))


def lesson_run_ids(store: Store, subject: Subject) -> list[str]:
    """Return the latest runs on each target, at each setting of the trimmer.

    Raises:
        RecordsError: The records cannot be read.
    """
    wanted = RunFilter(sensor=subject.sensor.name, part=subject.part)
    with store.snapshot() as records:
        headers = [one.run.header for one in _newest(records, wanted)]
    latest = {(one.target.name, one.label): one.run_id for one in headers}
    return sorted(latest.values())


def settings_difference(
    before: MeasuredRun, after: MeasuredRun
) -> SettingsDifference | None:
    """Say by how much the operate point moved; None without two sweeps of each."""
    points = {"before": before.operate_at_rest_mm, "after": after.operate_at_rest_mm}
    if min(map(len, points.values())) < 2:
        return None
    (pair,) = compare_batches(points).pairs
    datums = {one.run.header.conditions.datum.found_at for one in (before, after)}
    return SettingsDifference(
        difference_mm=pair.difference,
        interval=pair.interval,
        sure=pair.interval.lower > 0.0 or pair.interval.upper < 0.0,
        same_datum=len(datums) == 1,
    )


def enter_typed(
    store: Store,
    typed: Sequence[TypedReading],
    *,
    subject: Subject,
    figure: str,
    at: datetime,
) -> None:
    """Put what people typed on record.

    Raises:
        RecordsError: The records cannot be written.
    """
    enter_readings(
        store,
        [
            HandReading(
                person=one.person,
                sensor=subject.sensor.name,
                part=subject.part,
                target=subject.target.name,
                figure=figure,
                value_mm=one.value_mm,
                source=_SOURCE,
                entered_at=at,
                label=subject.setting,
                step_mm=one.step_mm,
            )
            for one in typed
        ],
    )


def _typed(store: Store, subject: Subject, figure: str) -> list[HandReading]:
    return HandBook(store).readings(
        sensor=subject.sensor.name,
        target=subject.target.name,
        part=subject.part,
        figure=figure,
        label=subject.setting,
    )


def _newest(store: Store, wanted: RunFilter) -> list[MeasuredRun]:
    """Return the newest ended runs with figures, oldest first."""
    reader = Reader(store)
    ended = [run for run in reader.runs(wanted) if run.ended_at and not run.void]
    return measured_runs(reader, [run.run_id for run in ended[-_NEWEST_RUNS:]])


def _setting(one: MeasuredRun) -> str:
    return setting_of(one.run.header)


def _last(runs: Iterable[MeasuredRun]) -> MeasuredRun | None:
    return next(iter(reversed(list(runs))), None)
