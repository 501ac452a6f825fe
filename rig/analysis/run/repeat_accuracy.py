"""Repeat accuracy, short term and over 8 hours; knows no clock but the times given."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.bench_terms import EXPANSION
from rig.analysis.edges.datum_closing import DATUM_MOVED
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, block, column, same_length
from rig.analysis.numbers.one_way import OneWay, one_way
from rig.analysis.numbers.ratio import ratio
from rig.analysis.numbers.uncertainty import figure, mean_and_sd
from rig.analysis.run.repeat_conditions import LEAST_READINGS, TEMPERATURE_C
from rig.analysis.run.repeat_readings import range_grid
from rig.errors import InputError
from rig.model.figures import Contribution, Evaluation, Figure

TEST_HOURS = 8.0  # IEC 60947-5-2, 7.2.1.5, from memory
LONGEST_HOURS = 9.0  # own choice; the clause names no readings and no grace
LEAST_TIMES = 9  # own choice: one an hour
LARGEST_GAP_HOURS = 1.25  # own choice: one an hour, a quarter of an hour late
SUPPLY_SHARE = 0.05  # +- 5 % of the rated supply, the same clause, from memory
SEVERAL_DATUMS = (
    "the readings were taken under several datums, and what these differ by is in the"
    " range"
)


class RepeatKind(StrEnum):
    """Which repeat accuracy it is."""

    EIGHT_HOURS = "8 h test"
    TIMETABLE = "timetable, not the 8 h test"


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatAccuracy:
    """The repeat accuracy with the words that say which one it is.

    Attributes
    ----------
    kind : RepeatKind
        Kind of repeat accuracy.
    largest_difference : Figure or None
        Largest difference between any two readings (mm), with n; None for fewer than
        3 of them.
    percent : Figure or None
        Share of the effective operating distance (%), with n; None likewise.
    statements : tuple[str, ...]
        Sentences that go wherever the figure goes.
    """

    kind: RepeatKind
    largest_difference: Figure | None
    percent: Figure | None
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EightHourTest:
    """What the 8 h test gave.

    Attributes
    ----------
    repeat_accuracy : RepeatAccuracy
        Repeat accuracy; called the 8 h test only if the readings were spread over the
        8 h, all of them were taken and the conditions were kept.
    hours : float
        Hours from the first to the last reading.
    complete : bool
        Whether the test counts as the standard's.
    faults : tuple[str, ...]
        Why it does not count; empty if it does.
    unrecorded : tuple[str, ...]
        What was not recorded at every time.
    drift : Figure
        Slope of the means over time (mm/h), with k as its n.
    means_mm : ndarray of float
        Mean of the sweeps at each time, shape (k,).
    between_times : OneWay or None
        Analysis of variance between the times; None with one sweep each.
    """

    repeat_accuracy: RepeatAccuracy
    hours: float
    complete: bool
    faults: tuple[str, ...]
    unrecorded: tuple[str, ...]
    drift: Figure
    means_mm: FloatArray
    between_times: OneWay | None


def range_of_readings(
    readings_mm: Cells,
    *,
    step_mm: float,
    rig_moved: Sequence[Contribution] = (),
    why_none: str = "",
) -> Figure | None:
    """Largest less smallest of readings that can be compared as they came.

    Parameters
    ----------
    readings_mm : array_like, shape (n,)
        Operate points at one speed, mm.
    step_mm : float
        Step of the axis, mm, above 0.
    rig_moved : sequence of Contribution
        What the rig may have moved by while they were taken; empty if nobody looked.
    why_none : str
        Why the range has no uncertainty; empty if step grid and rig are all of it.

    Returns
    -------
    Figure or None
        In mm; None for fewer than 3 readings, which show no range.

    Raises
    ------
    InputError
        If the step is not above 0 or a reading is missing.

    Notes
    -----
    The range is that of these readings; others would have another. See `range_grid`.
    """
    if not step_mm > 0.0:
        raise InputError(f"a step of {step_mm:g} mm is not possible", hint="above 0")
    x = column("readings", readings_mm, at_least=1)
    if x.size < LEAST_READINGS:
        return None
    _, sd = mean_and_sd(x)
    return figure(
        float(np.ptp(x)),
        "mm",
        [range_grid(step_mm).contribution(), *rig_moved],
        n=x.size,
        standard_deviation=float(sd),
        why_none=why_none,
    )


def share_of_distance(spread: Figure, effective_distance: Figure) -> Figure:
    """Give a range as a share of the effective operating distance.

    Parameters
    ----------
    spread : Figure
        Range of readings, mm.
    effective_distance : Figure
        s_r, mm.

    Returns
    -------
    Figure
        In %, without an uncertainty where one of the two has none.

    Raises
    ------
    InputError
        If s_r is not in mm.
    """
    if effective_distance.unit != "mm":
        raise InputError(
            f"the operating distance is in {effective_distance.unit}",
            hint="give it in mm",
        )
    percent = ratio(
        spread, effective_distance, labels=("difference", "s_r"), percent=True
    )
    # The readings behind s_r are the same ones, so they are not counted twice
    return replace(percent, n=spread.n)


def eight_hour_test(
    hours: Cells,
    operate_mm: Cells,
    effective_distance: Figure,
    *,
    step_mm: float,
    readings_due: int | None = None,
    as_read: tuple[npt.NDArray[np.intp], FloatArray] | None = None,
    datums: int = 1,
    temperature_c: Sequence[float | None] = (),
    supply_share: Sequence[float | None] = (),
) -> EightHourTest:
    """Repeat accuracy over 8 hours.

    Parameters
    ----------
    hours : array_like, shape (k,)
        Time of each entry since the first, h, rising; at least 2.
    operate_mm : array_like, shape (k, m)
        Operate points at rest of the m sweeps at each time, mm.
    effective_distance : Figure
        s_r, mm, with its budget.
    step_mm : float
        Step of the axis, mm.
    readings_due : int or None
        How many times there should have been; None for k.
    as_read : tuple of ndarray, each of shape (j,), or None
        Index of the time and operate point (mm) of each reading that can be compared
        as it came; None for all of `operate_mm`.
    datums : int
        Number of datums that the readings were taken under.
    temperature_c : sequence of float or None, shape (k,)
        Ambient at each time, degrees Celsius; empty if not taken.
    supply_share : sequence of float or None, shape (k,)
        Supply over rated supply at each time; empty if not taken.

    Returns
    -------
    EightHourTest
        With the words why, if it does not count as the standard's test.

    Raises
    ------
    InputError
        If a reading is missing, times do not rise, or numbers do not go together.

    Notes
    -----
    IEC 60947-5-2, 7.2.1.5 and 8.3.2 (from memory): 8 h, 23 +- 5 degrees Celsius, supply
    within +- 5 %, any two readings. How many readings make it a test over 8 h, and how
    they have to be spread, is an own choice: 9 times or more, no two neighbours more
    than 1.25 h apart, 9 h in all at most. Between-time scatter as in the GUM, H.5.

    A rig that moves over the hours is in the readings, and is no property of the
    sensor: two readings differ by up to that much more or less, and the slope is off by
    it over the hours. By how much, the budget of s_r says: what the datum moved by, and
    the expansion of the way to it by the temperature, which no touch shows.
    """
    t = column("times", hours, at_least=2)
    x = block("operate points", operate_mm, dimensions=2)
    same_length("rows of operate points", x.shape[0], "times", t.size)
    if x.shape[1] < 1:
        raise InputError("no sweep at each time", hint="measure at least one")
    if np.any(np.diff(t) <= 0.0):
        late = int(np.argmax(np.diff(t) <= 0.0)) + 2
        raise InputError(
            f"times: entry {late} is not after the one before it", hint="sort the rows"
        )
    span = float(t[-1] - t[0])
    at, readings = (
        (np.repeat(np.arange(t.size), x.shape[1]), x.ravel())
        if as_read is None
        else as_read
    )
    faults = [
        *_spread_faults(t[np.unique(at)]),
        *_faults(t.size, temperature_c, supply_share),
    ]
    if readings_due is not None and t.size < readings_due:
        faults.append(f"{t.size} of {readings_due} readings were taken")
    kind = RepeatKind.TIMETABLE if faults else RepeatKind.EIGHT_HOURS
    unrecorded = _unrecorded(temperature_c, supply_share)
    notes = (
        f"largest difference between any two of {readings.size} readings over"
        f" {span:.3g} h",
        *(f"not the 8 h test of the standard: {fault}" for fault in faults),
        *unrecorded,
    )
    means = x.mean(axis=1)
    rig_moved = [
        line
        for line in effective_distance.budget
        if line.name == DATUM_MOVED or line.name.startswith(EXPANSION)
    ]
    return EightHourTest(
        repeat_accuracy=_dressed(
            range_of_readings(
                readings,
                step_mm=step_mm,
                rig_moved=rig_moved,
                why_none=SEVERAL_DATUMS if datums > 1 else "",
            ),
            effective_distance,
            kind,
            notes,
        ),
        hours=span,
        complete=not faults,
        faults=tuple(faults),
        unrecorded=unrecorded,
        drift=_drift(t, means, rig_moved),
        means_mm=means,
        between_times=one_way(list(x)) if x.shape[1] > 1 else None,
    )


def _drift(
    hours: FloatArray, means_mm: FloatArray, rig_moved: Sequence[Contribution]
) -> Figure:
    """Slope of the means over time by least squares, with its scatter as uncertainty.

    Variance of the slope: JCGM 100:2008 (GUM), H.3.
    """
    k = hours.size
    centred = hours - hours.mean()
    squares = float(centred @ centred)
    slope = float(centred @ (means_mm - means_mm.mean()) / squares)
    if k < 3:
        why = "two times leave no scatter about the line over time"
        return figure(slope, "mm/h", (), n=k, why_none=why)
    left = means_mm - means_mm.mean() - slope * centred
    scatter = Contribution(
        name="scatter of the means about the line over time",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=math.sqrt(float(left @ left) / (k - 2) / squares),
        unit="mm/h",
        degrees_of_freedom=float(k - 2),
    )
    per_hour = 1.0 / float(hours[-1] - hours[0])
    moved = [replace(one, sensitivity=one.sensitivity * per_hour) for one in rig_moved]
    return figure(slope, "mm/h", [scatter, *moved], n=k)


def _spread_faults(hours: FloatArray) -> list[str]:
    """Say why readings at some hours are not spread over the test's."""
    if hours.size < 2:
        return [f"readings at {hours.size} time span no hours"]
    faults = []
    span, gap = float(hours[-1] - hours[0]), float(np.diff(hours).max())
    # A minute of grace, since a sweep is timed at its end
    if span < TEST_HOURS - 1.0 / 60.0:
        faults.append(f"the readings span {span:.3g} h, not {TEST_HOURS:g} h")
    if span > LONGEST_HOURS:
        faults.append(f"the readings span {span:.3g} h, more than {LONGEST_HOURS:g} h")
    if hours.size < LEAST_TIMES:
        faults.append(f"it was read {hours.size} times, not {LEAST_TIMES} or more")
    if gap > LARGEST_GAP_HOURS:
        faults.append(
            f"two readings lie {gap:.3g} h apart, more than {LARGEST_GAP_HOURS:g} h"
        )
    return faults


def _faults(
    k: int,
    temperature_c: Sequence[float | None],
    supply_share: Sequence[float | None],
) -> list[str]:
    faults = []
    for name, given, (low, high), unit in (
        ("temperature", temperature_c, TEMPERATURE_C, " °C"),
        (
            "supply over rated supply",
            supply_share,
            (1 - SUPPLY_SHARE, 1 + SUPPLY_SHARE),
            "",
        ),
    ):
        if given:
            same_length(name, len(given), "times", k)
        known = [value for value in given if value is not None]
        out = [value for value in known if not low <= value <= high]
        if out:
            faults.append(
                f"{name} reached {out[0]:g}{unit}, outside {low:g} to {high:g}{unit}"
            )
    return faults


def _unrecorded(
    temperature_c: Sequence[float | None], supply_share: Sequence[float | None]
) -> tuple[str, ...]:
    return tuple(
        f"the {name} was not recorded at every time"
        for name, given in (("temperature", temperature_c), ("supply", supply_share))
        if not given or any(value is None for value in given)
    )


def _dressed(
    spread: Figure | None,
    effective_distance: Figure,
    kind: RepeatKind,
    statements: tuple[str, ...],
) -> RepeatAccuracy:
    share = None if spread is None else share_of_distance(spread, effective_distance)
    return RepeatAccuracy(
        kind=kind,
        largest_difference=spread,
        percent=share,
        statements=statements,
    )
