"""People's readings by hand beside the rig's figure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from rig.analysis.classroom.hand_comparison import (
    Growth,
    HandSummary,
    compare_by_hand,
    growth_of_knowledge,
)
from rig.analysis.numbers.one_way import OneWay
from rig.analysis.numbers.readout import assumed_step
from rig.errors import InputError
from rig.inquiry.measured_run import MeasuredRun, measured_run
from rig.inquiry.plausibility import check_by_hand
from rig.inquiry.trimmer_setting import TURNED, setting_of
from rig.model.figure_kinds import figure_of
from rig.model.figures import Figure
from rig.model.mounted import Sensor
from rig.records import Reader, Store
from rig.records.hand_readings import HandBook, HandReading

RIG = "rig"
Readings = Mapping[str, Sequence[float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOptions:
    """Which run the readings stand beside.

    Attributes:
        run_id: Identity of the run.
        figure: Option name of the figure that was read: operate or release.
    """

    run_id: str
    figure: str = "operate"


@dataclass(frozen=True, slots=True, kw_only=True)
class HandResult:
    """Readings by hand beside a run.

    Attributes:
        simulated: Whether a simulated rig made the run.
        run_id: Identity of the run.
        figure: Option name of the figure.
        setting: Setting of the trimmer that run and readings belong to; empty for the
            sensor as it came.
        rig: The figure as the rig has it.
        people: Everybody who read at least twice, in order of their first reading.
        between_people: Analysis of variance between them; None for one person.
        growth_of_knowledge: How the mean settles as readings come in, by person, and
            under "rig" that of the rig's sweeps.
        statements: Who was left out, and why.
        warnings: Sentences that go with the run's figures.
    """

    simulated: bool
    run_id: str
    figure: str
    setting: str
    rig: Figure
    people: tuple[HandSummary, ...]
    between_people: OneWay | None
    growth_of_knowledge: dict[str, Growth]
    statements: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandEntry:
    """Readings that were put on record.

    Attributes:
        entered: Number of readings.
        people: People who read, in order of their first reading.
    """

    entered: int
    people: tuple[str, ...]


def compare_hand(store: Store, options: HandOptions) -> HandResult:
    """Put the readings on record of a run's sensor, part and target beside that run.

    They are those at the run's setting of the trimmer.

    Raises:
        InputError: There are none, nobody read twice, or the run has no figures.
        RecordsError: The run is not on record, or the records cannot be read.
    """
    with store.snapshot() as records:
        measured = measured_run(Reader(records), options.run_id)
        header = measured.run.header
        readings = HandBook(records).readings(
            sensor=header.sensor.name,
            target=header.target.name,
            part=header.part,
            figure=options.figure,
            label=setting_of(header),
        )
    if not readings:
        turned = ", trimmer turned," if setting_of(header) == TURNED else ""
        raise InputError(
            f"nobody's reading of {header.sensor.name} {header.part} against"
            f" {header.target.name}{turned} is on record",
            hint="`gapsweep hand add` enters them; --part must be the same too",
        )
    steps_mm = stated_steps(readings)
    result = hand_beside(
        by_person(readings), measured, options.figure, steps_mm=steps_mm
    )
    if not result.people:
        raise InputError(
            f"readings of {readings[0].person}: 1 given, at least 2 needed",
            hint="two readings of a person show a spread; enter more",
        )
    return result


def hand_beside(
    readings: Readings,
    measured: MeasuredRun,
    figure: str = "operate",
    *,
    steps_mm: Mapping[str, float] | None = None,
) -> HandResult:
    """Put readings of people, mm, beside a run.

    Args:
        readings: Readings of each person.
        measured: The run.
        figure: Option name of the figure that was read.
        steps_mm: Step of each person's readout as stated last, where it was.

    Raises:
        InputError: The run does not give the figure, or gives it no uncertainty.
    """
    rig = figure_of(measured.figures, figure)
    often = {who: values for who, values in readings.items() if len(values) > 1}
    comparison = compare_by_hand(often, rig, steps_mm=steps_mm) if often else None
    people = comparison.people if comparison else ()
    header = measured.run.header
    return HandResult(
        simulated=header.conditions.simulated,
        run_id=header.run_id,
        figure=figure,
        setting=setting_of(header),
        rig=rig,
        people=people,
        between_people=comparison.between_people if comparison else None,
        growth_of_knowledge=growth_of(readings, measured, figure, steps_mm=steps_mm),
        statements=(
            *(
                f"{who} read once: two readings show a spread"
                for who in readings
                if who not in often
            ),
            *_about_assumed_steps(people),
        ),
        warnings=measured.figures.warnings,
    )


def _about_assumed_steps(people: Sequence[HandSummary]) -> list[str]:
    assumed = {one.step_mm for one in people if one.step_assumed and one.step_mm}
    return [
        f"the step of the readout is assumed to be {step:g} mm, the coarsest usual one"
        " that the readings lie on; state it with --step"
        for step in sorted(assumed)
    ]


def growth_of(
    readings: Readings,
    measured: MeasuredRun | None,
    figure: str = "operate",
    *,
    steps_mm: Mapping[str, float] | None = None,
) -> dict[str, Growth]:
    """Follow the mean of everybody who read at least twice, and that of a run.

    Steps of readouts are those stated, or the one that `compare_by_hand` assumes.
    """
    values = dict(readings)
    stated = steps_mm or {}
    often = [x for points in readings.values() if len(points) > 1 for x in points]
    usual_mm = assumed_step(often) if often else 0.0
    steps = {who: stated.get(who, usual_mm) for who in readings}
    if measured is not None and figure == "operate":
        values[RIG] = measured.operate_at_rest_mm
    return {
        who: growth_of_knowledge(points, step_mm=steps.get(who, 0.0))
        for who, points in values.items()
        if len(points) > 1
    }


def by_person(readings: Sequence[HandReading]) -> dict[str, tuple[float, ...]]:
    """Return the readings of each person, mm, in order of entry."""
    people: dict[str, tuple[float, ...]] = {}
    for one in readings:
        people[one.person] = (*people.get(one.person, ()), one.value_mm)
    return people


def stated_steps(readings: Sequence[HandReading]) -> dict[str, float]:
    """Return the step of each person's readout as stated last, mm, where it was."""
    return {one.person: one.step_mm for one in readings if one.step_mm is not None}


def enter_readings(
    store: Store,
    readings: Sequence[HandReading],
    sensor_of: Callable[[str], Sensor] | None = None,
) -> HandEntry:
    """Put readings on record, all or none.

    Args:
        store: Open records.
        readings: The readings.
        sensor_of: Returns a sensor by its name, so that readings can be asked about
            that are hardly meant so; None for readings that somebody is sure of.

    Raises:
        Implausible: A reading is hardly meant so.
        RecordsError: The records cannot be written.
    """
    if sensor_of is not None:
        check_by_hand(readings, sensor_of)
    HandBook(store).add(readings)
    return HandEntry(
        entered=len(readings), people=tuple(dict.fromkeys(o.person for o in readings))
    )
