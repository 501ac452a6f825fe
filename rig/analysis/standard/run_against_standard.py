"""A recorded run against the standard: verdicts, and the 8 h test if it was one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rig.analysis.edges.run_arrays import run_arrays, usable_sweeps
from rig.analysis.edges.sweep_points import points_of
from rig.analysis.limits.limit_table import LimitEntry, limits_for
from rig.analysis.limits.verdict import GUARDED, Limits, Rule, Verdict
from rig.analysis.run.quantities import run_quantities
from rig.analysis.standard.iec_60947_5_2 import (
    not_the_standard_target,
    repeat_accuracy_verdict,
    run_verdicts,
)
from rig.analysis.standard.repeat_accuracy import EightHourTest, eight_hour_test
from rig.analysis.standard.switching_delay import delay_verdict, switching_delay
from rig.model.figures import RunFigures
from rig.model.mounted import Sensor
from rig.model.sweeps import Run

# Figures of a run that have limits, with the symbol in the standard
LIMITED = {"operate": "s_r", "differential-travel-percent": "H"}


@dataclass(frozen=True, slots=True, kw_only=True)
class RunStandard:
    """What the standard makes of a run.

    Attributes:
        verdicts: By symbol: s_r, H, R; empty if there can be none.
        eight_hours: The 8 h test; None for a run without a timetable.
        delay: Both switching delays together against the data sheet's frequency; None
            if that is not known, or they cannot be told from fewer than two speeds.
        statements: Sentences that go wherever the verdicts go.
    """

    verdicts: dict[str, Verdict]
    eight_hours: EightHourTest | None
    delay: Verdict | None
    statements: tuple[str, ...]


def sensor_limits(sensor: Sensor) -> dict[str, LimitEntry]:
    """Limits of a sensor: the standard's, or those of its data sheet.

    Parameters
    ----------
    sensor : Sensor
        With the limits of its data sheet.

    Returns
    -------
    dict of str to LimitEntry
        By symbol.

    Raises
    ------
    InputError
        If a limit of the data sheet is of no use.
    """
    sheet = {one.symbol: (one.lower, one.upper) for one in sensor.data_sheet_limits}
    return limits_for(sensor, sheet)


def limits_of_figure(figure: str, sensor: Sensor) -> Limits:
    """Limits of a figure of each part that the standard or the data sheet limits.

    Parameters
    ----------
    figure : str
        One of `LIMITED`.
    sensor : Sensor
        With the limits of its data sheet.

    Returns
    -------
    Limits
        In mm or %.

    Raises
    ------
    InputError
        If a limit of the data sheet is of no use.
    """
    symbol = LIMITED[figure]
    scale = sensor.rated_distance_mm if symbol == "s_r" else 100.0
    unit = "mm" if symbol == "s_r" else "%"
    return sensor_limits(sensor)[symbol].limits(scale=scale, unit=unit)


def standard_of_run(run: Run, figures: RunFigures, rule: Rule = GUARDED) -> RunStandard:
    """Hold a run against the limits of its sensor.

    Parameters
    ----------
    run : Run
        With at least one usable sweep.
    figures : RunFigures
        Of that run.
    rule : Rule
        Decision rule.

    Returns
    -------
    RunStandard
        Without verdicts if the run is void or the target is not the standard one.

    Raises
    ------
    InputError
        If a limit of the data sheet is of no use.
    """
    header = run.header
    eight_hours = eight_hours_of_run(run, figures)
    delay = None if run.void else delay_of_run(run, rule)
    not_so = not_the_standard_target(header.target, header.sensor)
    if run.void:
        not_so = (f"the run is void: {run.void}",)
    if not_so:
        said = tuple(f"No verdict: {reason}." for reason in not_so)
        return RunStandard(
            verdicts={}, eight_hours=eight_hours, delay=delay, statements=said
        )
    limits = sensor_limits(header.sensor)
    step_mm = 1.0 / header.conditions.axis.steps_per_mm
    verdicts = run_verdicts(figures, header.sensor, limits, step_mm=step_mm, rule=rule)
    said = ("R is the short-term figure, not the 8 h test of the standard.",)
    if eight_hours is not None:
        found = eight_hours.repeat_accuracy
        verdicts["R"] = repeat_accuracy_verdict(found.percent, limits, rule)
        said = tuple(f"R: {words}." for words in found.statements)
    elif "R" not in verdicts:
        said = ("No R: one sweep has no spread.",)
    side = "The side of the target is not known to the records."
    return RunStandard(
        verdicts=verdicts,
        eight_hours=eight_hours,
        delay=delay,
        statements=(*said, side),
    )


def delay_of_run(run: Run, rule: Rule = GUARDED) -> Verdict | None:
    """Hold both switching delays of a run together against the data sheet.

    Parameters
    ----------
    run : Run
        With its sweeps.
    rule : Rule
        Decision rule.

    Returns
    -------
    Verdict or None
        In ms; None if no switching frequency is known, or with fewer than three
        sweeps or two speeds.

    Notes
    -----
    See `switching_delay.delay_verdict`.
    """
    frequency_hz = run.header.sensor.switching_frequency_hz
    sweeps = usable_sweeps(run)
    speeds = [sweep.speed_mm_s for sweep in sweeps]
    if frequency_hz is None or len(sweeps) < 3 or len(set(speeds)) < 2:
        return None
    points = [points_of(s, run.conditions[s.conditions_index]) for s in sweeps]
    found = switching_delay(
        speeds, [on for on, _ in points], [off for _, off in points]
    )
    return delay_verdict(found.both, frequency_hz, rule)


def eight_hours_of_run(run: Run, figures: RunFigures) -> EightHourTest | None:
    """Repeat accuracy over the timetable of a run.

    Parameters
    ----------
    run : Run
        With its timetable.
    figures : RunFigures
        Of that run; its operate point is s_r.

    Returns
    -------
    EightHourTest or None
        None without a timetable, or with fewer than two readings complete.

    Notes
    -----
    A reading is timed by the end of its first sweep. The temperature is known at the
    start only, so it is said that it was not recorded at every time.
    """
    timetable = run.header.timetable
    if timetable is None:
        return None
    each = run.header.sweeps_wanted // timetable.readings
    sweeps = usable_sweeps(run)
    whole = len(sweeps) // each
    if whole < 2:
        return None
    arrays = run_arrays(run)
    at_rest = run_quantities(
        arrays.operate_steps, arrays.release_steps, arrays.speed_mm_s, arrays.knowns
    ).operate_at_rest
    starts = [sweeps[each * k].ended_at for k in range(whole)]
    hours = [(at - starts[0]).total_seconds() / 3600.0 for at in starts]
    known = run.header.conditions.temperature_c
    return eight_hour_test(
        hours,
        np.asarray(at_rest)[: whole * each].reshape(whole, each),
        figures.operate,
        step_mm=1.0 / run.header.conditions.axis.steps_per_mm,
        temperature_c=[known, *[None] * (whole - 1)],
    )
