"""Repeat accuracy over 8 h: is what is stated of it true of benches that drift?

Sensor, room and supply change over the hours as they were drawn. The truth is the range
of the gaps at which the sensor operated in these very readings: what moved the rig
meanwhile is no part of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from rig.analysis.edges.datum_closing import FLOOR_MM, UNCERTAINTIES
from rig.analysis.numbers.gaps import operate_gap_mm
from rig.analysis.run.quantities import run_quantities
from rig.analysis.run.repeat_accuracy import eight_hour_test
from rig.analysis.run.repeat_readings import repeat_sweeps
from rig.model.figures import Figure
from rig.procedures.datum_check import TOUCHES as CHECK_TOUCHES
from tests.campaigns.benches import Array, Benches
from tests.campaigns.coverage import PAIRS, Tally, figures_of, tally_of
from tests.campaigns.edges import (
    FIRST_SWEEP_S,
    SWEEP_S,
    TOUCH_S,
    TOUCHES,
    Mounted,
    Swept,
    Touched,
    mount,
    sweep_at,
    touch,
    touch_again,
)
from tests.campaigns.knowledge import Read, State

READINGS: Final = 9  # one an hour, the least that makes it the test
EACH: Final = 2  # sweeps of a reading, at both speeds
HOURS: Final = np.arange(READINGS) * (8.0 / (READINGS - 1))
REPEAT: Final = "repeat_accuracy_8_h"
REPEAT_PERCENT: Final = "repeat_accuracy_8_h_percent"
DRIFT: Final = "operate_drift"
_AFTER_S: Final = 5.0  # from a reading to the touches of the face behind it
_AT_ONCE: Final = 250


@dataclass(frozen=True, kw_only=True)
class Day:
    """Readings of k benches over 8 h.

    Attributes:
        touched: Touches before them.
        checks: The face touched again behind every reading, steps, shape
            (k, readings, touches).
        swept: The sweeps.
        true_range_mm: Range of the gaps at which the sensor operated, shape (k,).
        true_operate_mm: Mean operate point over the hours, shape (k,).
        true_drift_mm_h: Slope of the operate points over the hours, shape (k,).
    """

    touched: Touched
    checks: Array
    swept: Swept
    true_range_mm: Array
    true_operate_mm: Array
    true_drift_mm_h: Array


def eight_hours(
    states: Sequence[State], benches: Benches, *, seed: int = 1
) -> Iterator[Tally]:
    """Carry out the 8 h test for every pair on every bench, and read it in each state.

    A run whose face moved by more than a run can bear is void, as in the product, and
    counts among the runs, but not among those with an uncertainty.
    """
    for index, (kind, target, _) in enumerate(PAIRS):
        rng = np.random.default_rng([seed, 8, index])
        figures: list[list[tuple[Figure, ...]]] = [[] for _ in states]
        truths: list[Array] = []
        for first in range(0, benches.count, _AT_ONCE):
            part = benches.some(slice(first, first + _AT_ONCE))
            day = _spend(part, mount(part, kind, target), rng)
            differences = _closing_differences_mm(part, day)
            void = _void(part, day, differences)
            truths.append(
                np.stack(
                    [
                        day.true_range_mm,
                        100.0 * day.true_range_mm / day.true_operate_mm,
                        day.true_drift_mm_h,
                        np.where(void, 1.0, 0.0),
                    ]
                )
            )
            for state, found in zip(states, figures, strict=True):
                read = state.read(part, day.touched, day.swept)
                found += _repeat_accuracies(part, read, day, differences)
        spread, percent, drift, void = np.concatenate(truths, axis=1)
        for state, found in zip(states, figures, strict=True):
            for place, (name, truth) in enumerate(
                ((REPEAT, spread), (REPEAT_PERCENT, percent), (DRIFT, drift))
            ):
                yield tally_of(
                    state.name,
                    f"{kind}, {target}",
                    READINGS,
                    name,
                    [each[place] for each in found],
                    truth,
                    void=void > 0.0,
                )


def _spend(benches: Benches, mounted: Mounted, rng: np.random.Generator) -> Day:
    """Touch off, then sweep and touch the face again every hour."""
    touched = touch(benches, rng)
    begun_s = FIRST_SWEEP_S + 3600.0 * HOURS
    times = (begun_s[:, np.newaxis] + SWEEP_S * np.arange(EACH)).ravel()
    swept = sweep_at(benches, mounted, touched, times, rng)
    checks = [
        touch_again(
            benches,
            touched.home_steps,
            at_s + SWEEP_S * EACH + _AFTER_S + TOUCH_S * np.arange(CHECK_TOUCHES),
            rng,
        ).closings
        for at_s in begun_s
    ]
    alike = repeat_sweeps(swept.speeds_mm_s)
    operate = mounted.operate_mm[:, np.newaxis] * benches.reach(swept.time_s)
    return Day(
        touched=touched,
        checks=np.stack(checks, axis=1),
        swept=swept,
        true_range_mm=np.ptp(swept.operated_mm[:, alike], axis=1),
        true_operate_mm=operate.mean(axis=1),
        true_drift_mm_h=np.polyfit(times / 3600.0, operate.T, 1)[0],
    )


def _closing_differences_mm(benches: Benches, day: Day) -> Array:
    """Return where the face was found behind each reading less the datum."""
    datum = day.touched.closings.mean(axis=1, keepdims=True)
    scale = benches.of("steps_per_mm", datum)
    return (day.checks.mean(axis=2) - datum) / scale


def _void(benches: Benches, day: Day, differences_mm: Array) -> Array:
    """Whether a run would have been ended, as its face had moved too far."""
    scale = benches.of("steps_per_mm")
    of_datum = day.touched.closings.std(axis=1, ddof=1) / np.sqrt(TOUCHES)
    of_check = day.checks.std(axis=2, ddof=1) / np.sqrt(CHECK_TOUCHES)
    own = np.hypot(of_datum[:, np.newaxis], of_check) / scale[:, np.newaxis]
    bound = np.maximum(FLOOR_MM, UNCERTAINTIES * own)
    return (np.abs(differences_mm) > bound).any(axis=1)


def _repeat_accuracies(
    benches: Benches, read: Read, day: Day, differences_mm: Array
) -> list[tuple[Figure, ...]]:
    speeds = day.swept.speeds_mm_s
    knowns = replace(read.knowns, datum_moved_mm=np.abs(differences_mm).max(axis=1))
    quantities = run_quantities(read.operate_steps, read.release_steps, speeds, knowns)
    gaps = operate_gap_mm(
        read.operate_steps,
        datum_steps=knowns.datum_steps,
        steps_per_mm=knowns.steps_per_mm,
    )
    operate = [
        each.operate for each in figures_of(quantities, benches.count, speeds.size)
    ]
    alike = repeat_sweeps(speeds)
    scale = benches.of("steps_per_mm")
    at_rest = quantities.operate_at_rest.reshape(benches.count, READINGS, EACH)
    found = []
    for bench in range(benches.count):
        test = eight_hour_test(
            HOURS,
            at_rest[bench],
            operate[bench],
            step_mm=1.0 / float(scale[bench]),
            readings_due=READINGS,
            as_read=(alike // EACH, gaps[bench, alike]),
        )
        assert test.complete
        spread = test.repeat_accuracy.largest_difference
        percent = test.repeat_accuracy.percent
        assert spread is not None
        assert percent is not None
        found.append((spread, percent, test.drift))
    return found
