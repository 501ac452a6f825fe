"""The readings of a run with a timetable over its hours: repeat accuracy and drift."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.edges.run_arrays import run_arrays, usable_sweeps
from rig.analysis.numbers.gaps import operate_gap_mm
from rig.analysis.run.operate_at_rest import operate_at_rest_mm
from rig.analysis.run.repeat_accuracy import EightHourTest, eight_hour_test
from rig.analysis.run.repeat_readings import repeat_sweeps
from rig.errors import InputError
from rig.model.figures import Figure
from rig.model.sweeps import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedReadings:
    """What the timetable of a run gave.

    Attributes
    ----------
    test : EightHourTest or None
        Result over its hours; None if there is none.
    why_none : str
        Why a run with a timetable has no result; empty otherwise.
    """

    test: EightHourTest | None
    why_none: str = ""


def timed_readings(run: Run, operate: Figure) -> TimedReadings:
    """Evaluate a run over its timetable.

    Parameters
    ----------
    run : Run
        Run with its sweeps.
    operate : Figure
        Operate point of that run, mm.

    Returns
    -------
    TimedReadings
        Empty for a run without a timetable.

    Notes
    -----
    A reading is timed by the end of its first sweep. The temperature is known at the
    start only, so it is said that it was not recorded at every time.
    """
    timetable = run.header.timetable
    if timetable is None:
        return TimedReadings(test=None)
    each = run.header.sweeps_wanted // timetable.readings
    sweeps = usable_sweeps(run)
    whole = len(sweeps) // each
    if whole < 2:
        why = f"{whole} of {timetable.readings} readings are complete"
        return TimedReadings(test=None, why_none=why)
    at_rest = operate_at_rest_mm(run)
    alike = repeat_sweeps([sweep.speed_mm_s for sweep in sweeps[: whole * each]])
    arrays = run_arrays(run)
    as_they_came = operate_gap_mm(
        arrays.operate_steps,
        datum_steps=arrays.knowns.datum_steps,
        steps_per_mm=arrays.knowns.steps_per_mm,
    )
    starts = [sweeps[each * k].ended_at for k in range(whole)]
    known = run.header.conditions.ambient_c
    try:
        test = eight_hour_test(
            [(at - starts[0]).total_seconds() / 3600.0 for at in starts],
            at_rest[: whole * each].reshape(whole, each),
            operate,
            step_mm=1.0 / run.header.conditions.axis.steps_per_mm,
            readings_due=timetable.readings,
            as_read=(alike // each, as_they_came[alike]),
            datums=len({sweep.conditions_index for sweep in sweeps}),
            temperature_c=[known, *[None] * (whole - 1)],
        )
    except InputError as exc:
        # A clock that was set back over the hours must not cost the other figures
        return TimedReadings(test=None, why_none=str(exc))
    return TimedReadings(test=test)


def about_the_timetable(timed: TimedReadings) -> tuple[str, ...]:
    """Say what the reader of a run's figures has to know of its timetable.

    Parameters
    ----------
    timed : TimedReadings
        What it gave.

    Returns
    -------
    tuple of str
        Whole sentences; empty if there is nothing to say.
    """
    test = timed.test
    if test is None:
        why = timed.why_none
        return (f"No repeat accuracy over the timetable: {why}.",) if why else ()
    if not test.complete:
        faults = "; ".join(test.faults)
        return (f"The timetable is not the standard's 8 h test: {faults}.",)
    said = "; ".join(test.unrecorded)
    return (f"8 h test: {said}.",) if said else ()
