"""Readings and ratings for a study of the measurement, from what is on record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rig.analysis.limits.verdict import GUARDED
from rig.errors import InputError
from rig.inquiry.gauge_readings import RATING, GaugeReading, GaugeReadings, of_row
from rig.inquiry.part_verdict import verdict_on_part
from rig.inquiry.runs_behind import RunBehind, runs_behind
from rig.inquiry.tried import tried_on_record
from rig.inquiry.trimmer_setting import AS_IT_CAME, setting_of
from rig.model.attempts import Outcome
from rig.model.figure_kinds import KIND_OF_OPTION, figure_of
from rig.model.part_number import one_spelling
from rig.records import Reader, RunFilter, Store
from rig.records.hand_readings import HandBook
from rig.records.studies import StudyBook

HAND_FIGURES = ("operate", "release")


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordChoice:
    """Which readings on record a study is made of.

    Attributes:
        sensor: Name of the sensor.
        target: Name of the target.
        parts: The only parts to take; empty for all.
        appraisers: The only operators or persons to take; empty for all.
        figure: Option name of the figure that is read.
        by_hand: Whether people's readings are taken in place of runs.
    """

    sensor: str
    target: str
    parts: tuple[str, ...] = ()
    appraisers: tuple[str, ...] = ()
    figure: str = "operate"
    by_hand: bool = False


def readings_of_study(store: Store, study_id: str) -> GaugeReadings[float]:
    """Take the readings that a study on record has so far.

    Raises:
        InputError: It has none.
        RecordsError: It is not on record.
    """
    with store.snapshot() as moment:
        book = StudyBook(moment)
        entry, found = book.study(study_id), book.readings(study_id)
        runs = runs_behind(Reader(moment), [one.run_id for one in found.values()])
    if not found:
        raise InputError(
            f"the study {study_id} has no readings",
            hint="`gapsweep study fill` or `gapsweep study measure` enters them",
        )
    left = len(entry.rows) - len(found)
    return GaugeReadings(
        title=entry.title,
        figure=entry.figure,
        unit=entry.unit,
        readings=tuple(
            GaugeReading(
                part=row.part,
                appraiser=row.appraiser,
                value=found[row.order].value,
                occasion=of_row(row.order),
            )
            for row in entry.rows
            if row.order in found
        ),
        runs=runs,
        simulated=sum(one.simulated for one in found.values()),
        statements=(f"Rows of the study without a reading: {left}.",) if left else (),
        tolerance=entry.tolerance,
    )


def readings_on_record(store: Store, choice: RecordChoice) -> GaugeReadings[float]:
    """Take one figure of every run that fits, or every reading by hand.

    Args:
        store: Open records.
        choice: What to take.

    Raises:
        InputError: Nothing fits, a run does not give the figure, or it is not read by
            hand.
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        if choice.by_hand:
            return _by_hand(moment, choice)
        runs, left_out = _runs(moment, choice)
    readings = tuple(
        GaugeReading(
            part=one_spelling(one.run.header.part),
            appraiser=one.run.header.conditions.operator,
            value=figure_of(one.computation.figures, choice.figure).value,
            occasion=one.run.header.run_id,
        )
        for one in runs
        if one.computation is not None
    )
    return GaugeReadings(
        title=f"{choice.sensor} against {choice.target}",
        figure=choice.figure,
        unit=KIND_OF_OPTION[choice.figure].unit,
        readings=readings,
        runs=runs,
        simulated=_simulated(runs),
        statements=left_out,
    )


def ratings_on_record(store: Store, choice: RecordChoice) -> GaugeReadings[str]:
    """Take the verdict of every run that fits as a rating of its part.

    Args:
        store: Open records.
        choice: What to take; its figure counts for nothing, for a verdict is on all
            limits.

    Raises:
        InputError: Nothing fits, or readings by hand are asked for.
        RecordsError: The records cannot be read.
    """
    if choice.by_hand:
        raise InputError(
            "readings by hand are no ratings", hint="take ratings from a table: --from"
        )
    with store.snapshot() as moment:
        runs, left_out = _runs(moment, choice)
    verdicts = [(one, verdict_on_part(one, GUARDED).decision) for one in runs]
    judged = tuple(one for one, decision in verdicts if decision is not None)
    without = len(runs) - len(judged)
    return GaugeReadings(
        title=f"verdicts on {choice.sensor} against {choice.target}",
        figure=RATING,
        unit="1",
        readings=tuple(
            GaugeReading(
                part=one_spelling(one.run.header.part),
                appraiser=one.run.header.conditions.operator,
                value=decision.value,
                occasion=one.run.header.run_id,
            )
            for one, decision in verdicts
            if decision is not None
        ),
        runs=judged,
        simulated=_simulated(judged),
        statements=(*left_out, *_left_out(without, "runs without a verdict")),
    )


def mean_of_runs(store: Store, choice: RecordChoice) -> dict[str, float]:
    """Return the mean figure of each part's runs, as a reference for other readings.

    Raises:
        InputError: No run fits, or one does not give the figure.
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        runs, _ = _runs(moment, choice, appraisers=())
    values: dict[str, list[float]] = {}
    for one in runs:
        if one.computation is not None:
            figure = figure_of(one.computation.figures, choice.figure)
            part = one_spelling(one.run.header.part)
            values.setdefault(part, []).append(figure.value)
    return {part: sum(own) / len(own) for part, own in values.items()}


def _runs(
    store: Store,
    choice: RecordChoice,
    *,
    appraisers: tuple[str, ...] | None = None,
) -> tuple[tuple[RunBehind, ...], tuple[str, ...]]:
    """Return the runs that fit, oldest first, and what was left out of them."""
    reader = Reader(store)
    wanted = RunFilter(sensor=choice.sensor, target=choice.target)
    tried = [
        one
        for one in tried_on_record(store, wanted)
        if _is_one_of(one.part, choice.parts)
    ]
    fitting = [one.run_id for one in tried if one.outcome is Outcome.FIGURES]
    people = choice.appraisers if appraisers is None else appraisers
    found = [
        one
        for one in runs_behind(reader, fitting)
        if _among(one.run.header.conditions.operator, people)
    ]
    as_it_came = [one for one in found if setting_of(one.run.header) == AS_IT_CAME]
    known = tuple(one for one in as_it_came if one.computation is not None)
    if not known:
        raise InputError(
            f"no ended run of {choice.sensor} against {choice.target} with figures"
            " fits",
            hint="`gapsweep results` lists what is there",
        )
    turned, bare = len(found) - len(as_it_came), len(as_it_came) - len(known)
    said = (
        *_left_out(len(tried) - len(fitting), "attempts without figures"),
        *_left_out(turned, "runs with the trimmer turned"),
        *_left_out(bare, "runs without figures"),
    )
    return known, said


def _left_out(count: int, what: str) -> tuple[str, ...]:
    return (f"Left out, {what}: {count}.",) if count else ()


def _simulated(runs: Iterable[RunBehind]) -> int:
    return sum(one.run.header.conditions.simulated for one in runs)


def _by_hand(store: Store, choice: RecordChoice) -> GaugeReadings[float]:
    if choice.figure not in HAND_FIGURES:
        raise InputError(
            f"the figure {choice.figure} is not read by hand",
            hint=f"give one of: {', '.join(HAND_FIGURES)}",
        )
    found = [
        one
        for one in HandBook(store).every()
        if (one.sensor, one.target) == (choice.sensor, choice.target)
        and (one.figure, one.label) == (choice.figure, AS_IT_CAME)
        and _is_one_of(one.part, choice.parts)
        and _among(one.person, choice.appraisers)
    ]
    if not found:
        raise InputError(
            f"nobody's reading of {choice.sensor} against {choice.target} fits",
            hint="`gapsweep hand add` enters them",
        )
    return GaugeReadings(
        title=f"readings by hand of {choice.sensor} against {choice.target}",
        figure=choice.figure,
        unit="mm",
        readings=tuple(
            GaugeReading(
                part=one_spelling(one.part),
                appraiser=one.person,
                value=one.value_mm,
                occasion=of_row(number),
            )
            for number, one in enumerate(found, start=1)
        ),
    )


def _among(name: str, wanted: Sequence[str]) -> bool:
    return not wanted or name in wanted


def _is_one_of(part: str, wanted: Sequence[str]) -> bool:
    """Whether a part is wanted, in whatever spelling earlier records have it."""
    return _among(one_spelling(part), [one_spelling(name) for name in wanted])
