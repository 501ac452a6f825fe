"""A recorded run against the standard: verdicts, and the 8 h test if it was one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rig.analysis.limits.limit_table import LimitEntry, limits_for
from rig.analysis.limits.verdict import GUARDED, Limits, Rule, Verdict
from rig.analysis.run.home_shift import home_finding_of
from rig.analysis.standard.iec_60947_5_2 import (
    repeat_accuracy_field,
    run_verdicts,
    worst_case_release_mm,
)
from rig.analysis.standard.product_match import (
    condition_differences,
    sensor_differences,
    why_no_verdict,
)
from rig.analysis.standard.switching_delay import delay_verdict
from rig.model.figure_kinds import applicable, why_missing
from rig.model.figures import Figure, RunFigures
from rig.model.mounted import Principle, Sensor
from rig.model.product import ProductVersion
from rig.model.sweeps import Conditions, Run, RunHeader

if TYPE_CHECKING:
    from rig.analysis.run.repeat_accuracy import EightHourTest
    from rig.analysis.run.timed_readings import TimedReadings

# Figures of a run that have limits, with the symbol in the standard
LIMITED = {"operate": "s_r", "differential-travel-percent": "H"}
NO_PRODUCT = (
    "No product was named, so nothing checks that the sensor is what was wanted."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunStandard:
    """What the standard, the data sheet or the product specification makes of a run.

    Attributes
    ----------
    verdicts : dict[str, Verdict]
        Verdicts by symbol: s_r, H, R; empty if there can be none.
    repeat_accuracy_field : str
        Field of `RunFigures` that R rests on; empty without R.
    eight_hours : EightHourTest or None
        What the timetable gave; None for a run without one.
    delay : Verdict or None
        Verdict on both switching delays together against the data sheet's frequency;
        None if that is not known, or they cannot be told from fewer than two speeds.
    statements : tuple[str, ...]
        Sentences that go wherever the verdicts go.
    """

    verdicts: dict[str, Verdict]
    repeat_accuracy_field: str
    eight_hours: EightHourTest | None
    delay: Verdict | None
    statements: tuple[str, ...]


def sensor_limits(sensor: Sensor) -> dict[str, LimitEntry]:
    """Limits of a sensor: the standard's, or those of its data sheet.

    Parameters
    ----------
    sensor : Sensor
        Sensor with the limits of its data sheet.

    Returns
    -------
    dict of str to LimitEntry
        By symbol.

    Raises
    ------
    InputError
        If a limit of the data sheet is invalid.
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
        Sensor with the limits of its data sheet.

    Returns
    -------
    Limits
        In mm or %.

    Raises
    ------
    InputError
        If a limit of the data sheet is invalid.
    """
    return limits_of_sensor(sensor)[LIMITED[figure]]


def limits_of_sensor(sensor: Sensor) -> dict[str, Limits]:
    """Limits that figures of a run can be held against.

    Parameters
    ----------
    sensor : Sensor
        Sensor with the limits of its data sheet.

    Returns
    -------
    dict of str to Limits
        s_r in mm, H and R in %.

    Raises
    ------
    InputError
        If a limit of the data sheet is invalid.
    """
    known = sensor_limits(sensor)
    return {
        "s_r": known["s_r"].limits(scale=sensor.rated_distance_mm, unit="mm"),
        "H": known["H"].limits(scale=100.0, unit="%"),
        "R": known["R"].limits(scale=100.0, unit="%"),
    }


def standard_of_run(
    run: Run,
    figures: RunFigures,
    rule: Rule = GUARDED,
    product: ProductVersion | None = None,
) -> RunStandard:
    """Hold a run against the limits of its product, or of its sensor without one.

    Parameters
    ----------
    run : Run
        Run with at least one usable sweep.
    figures : RunFigures
        Figures of that run.
    rule : Rule
        Decision rule.
    product : ProductVersion or None
        Product to hold it against; None for the one that the run was made for.

    Returns
    -------
    RunStandard
        Without verdicts if the run is void, its home switch moved by more than it
        scatters, or sensor, target or conditions are not those that the limits are
        for.

    Raises
    ------
    InputError
        If a limit of the data sheet is invalid.
    """
    header = run.header
    product = product or header.product
    figures = applicable(figures, header.timetable)
    # Deferred: decisions about long lists need no arrays
    from rig.analysis.run.timed_readings import timed_readings

    timed = timed_readings(run, figures.operate)
    verdicts: dict[str, Verdict] = {}
    field = ""
    if run.void:
        said = [f"No verdict: the run is void: {run.void}."]
    elif finding := home_finding_of(run):
        said = [f"No verdict: {finding}."]
    elif not_so := why_no_verdict_of(header, run.later_conditions, product):
        held = "" if product is None else f" against {product.title}"
        said = [f"No verdict{held}: {reason}." for reason in not_so]
    else:
        verdicts = verdicts_of_figures(
            header, figures, rule, later=run.later_conditions, product=product
        )
        field = repeat_accuracy_field(figures)
        said = [
            _about_repeat_accuracy(
                figures, field, timed, timetable=header.timetable is not None
            ),
            *_about_fewer_sweeps(run),
            *_about_the_release(header.sensor),
            *_about_what_was_measured(header, product),
        ]
    return RunStandard(
        verdicts=verdicts,
        repeat_accuracy_field=field,
        eight_hours=timed.test,
        delay=None
        if run.void or home_finding_of(run)
        else delay_of_figures(
            header, figures, rule, later=run.later_conditions, product=product
        ),
        statements=tuple(said),
    )


def verdicts_of_figures(
    header: RunHeader,
    figures: RunFigures,
    rule: Rule = GUARDED,
    *,
    later: Sequence[Conditions] = (),
    product: ProductVersion | None = None,
) -> dict[str, Verdict]:
    """Hold the figures of a run that is not void against its limits.

    Parameters
    ----------
    header : RunHeader
        What was measured.
    figures : RunFigures
        Those that apply to the run.
    rule : Rule
        Decision rule.
    later : sequence of Conditions
        Conditions that the run was resumed under.
    product : ProductVersion or None
        Product to hold it against; None for the one that the run was made for.

    Returns
    -------
    dict of str to Verdict
        By symbol: s_r, H, R; empty if sensor, target or conditions are not those that
        the limits are for.

    Raises
    ------
    InputError
        If a limit of the data sheet is invalid.
    """
    product = product or header.product
    if why_no_verdict_of(header, later, product):
        return {}
    sensor = header.sensor if product is None else product.specification.sensor
    return run_verdicts(figures, sensor, sensor_limits(sensor), rule=rule)


def why_no_verdict_of(
    header: RunHeader, later: Sequence[Conditions], product: ProductVersion | None
) -> tuple[str, ...]:
    """Why the limits are not for what a run measured.

    Parameters
    ----------
    header : RunHeader
        What was measured.
    later : sequence of Conditions
        Conditions that the run was resumed under.
    product : ProductVersion or None
        Product that the run is held against; None for none.

    Returns
    -------
    tuple of str
        Clauses; empty if the limits hold.
    """
    specified = None if product is None else product.specification
    conditions = (header.conditions, *later)
    return why_no_verdict(header.sensor, header.target, conditions, specified)


def _about_what_was_measured(
    header: RunHeader, product: ProductVersion | None
) -> list[str]:
    """Say what the verdicts rest on besides figures."""
    if product is not None:
        approval = product.approval
        by = "" if approval is None else f", approved by {approval.approved_by}"
        return [f"Held against {product.title}{by}."]
    unknown = [
        words
        for words, known in (
            ("the side of the target", header.target.side_mm),
            ("the temperature", header.conditions.ambient_c),
        )
        if known is None
    ]
    if not unknown:
        return [NO_PRODUCT]
    verb = "is" if len(unknown) == 1 else "are"
    words = " and ".join(unknown)
    return [f"{words[:1].upper()}{words[1:]} {verb} not recorded.", NO_PRODUCT]


def _about_fewer_sweeps(run: Run) -> list[str]:
    """Say what an early end of the sweeps leaves open."""
    good = sum(1 for sweep in run.sweeps if not sweep.void)
    wanted = run.header.sweeps_wanted
    if run.ended_at is None or run.header.until_mm is not None or good >= wanted:
        return []
    return [
        f"The sweeps ended after {good} of {wanted}, when operate point and H were"
        " clear of their limits: R, which grows with the readings, and the switching"
        " delays are not those of a whole run."
    ]


def _about_the_release(sensor: Sensor) -> list[str]:
    """Say where every sensor of the type has released, as far as that is known."""
    if sensor.principle is not Principle.INDUCTIVE:
        return []
    gap_mm = worst_case_release_mm(sensor)
    return [
        f"Beyond {gap_mm:g} mm every inductive sensor of this size has released on its"
        " standard target (1.43 s_n, common practice, no source)."
    ]


def _about_repeat_accuracy(
    figures: RunFigures, field: str, timed: TimedReadings, *, timetable: bool
) -> str:
    """Say which repeat accuracy R is, or why there is none."""
    if not field:
        timed_field = "repeat_accuracy_8_h_percent"
        wanted = timed_field if timetable else "repeat_accuracy_short_term"
        why = timed.why_none or why_missing(wanted, figures)
        return f"No R: {why}."
    n = getattr(figures, field).n
    if field == "repeat_accuracy_short_term":
        return (
            f"R is the short-term figure from {n} readings, not the 8 h test of the"
            " standard."
        )
    over = "" if timed.test is None else f" over {timed.test.hours:.3g} h"
    largest = f"R: largest difference between any two of {n} readings{over}"
    if field == "repeat_accuracy_8_h_percent":
        return f"{largest}, the 8 h test of the standard."
    faults = "" if timed.test is None else f": {'; '.join(timed.test.faults)}"
    return f"{largest}, not the 8 h test of the standard{faults}."


def delay_of_figures(
    header: RunHeader,
    figures: RunFigures,
    rule: Rule = GUARDED,
    *,
    later: Sequence[Conditions] = (),
    product: ProductVersion | None = None,
) -> Verdict | None:
    """Hold both switching delays of a run that is not void against the data sheet.

    Parameters
    ----------
    header : RunHeader
        What was measured.
    figures : RunFigures
        Those that apply to the run.
    rule : Rule
        Decision rule.
    later : sequence of Conditions
        Conditions that the run was resumed under.
    product : ProductVersion or None
        Product to hold it against; None for the one that the run was made for.

    Returns
    -------
    Verdict or None
        In ms; None if the frequency or the uncertainty of the delays is not known, or
        sensor or conditions are not those that the limits are for. Any target does.

    Raises
    ------
    InputError
        If the frequency of the data sheet is not possible.
    """
    product = product or header.product
    held = delay_to_hold(header, figures, later=later, product=product)
    return None if held is None else delay_verdict(*held, rule)


def delay_to_hold(
    header: RunHeader,
    figures: RunFigures,
    *,
    later: Sequence[Conditions] = (),
    product: ProductVersion | None = None,
) -> tuple[Figure, float] | None:
    """Both delays of a run and the frequency to hold them against.

    Parameters
    ----------
    header : RunHeader
        What was measured.
    figures : RunFigures
        Those that apply to the run.
    later : sequence of Conditions
        Conditions that the run was resumed under.
    product : ProductVersion or None
        Product that the run is held against; None for none.

    Returns
    -------
    tuple of Figure and float, or None
        In ms and Hz; None as for `delay_of_figures`.
    """
    sensor, specified = header.sensor, None
    if product is not None:
        specified = product.specification
        if sensor_differences(specified.sensor, sensor):
            return None
        sensor = specified.sensor
    if condition_differences((header.conditions, *later), specified):
        return None
    frequency_hz = sensor.switching_frequency_hz
    both = figures.response_time_both
    if frequency_hz is None or both is None or both.expanded_uncertainty is None:
        return None
    return both, frequency_hz
