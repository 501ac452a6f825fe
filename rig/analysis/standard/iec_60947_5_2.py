"""Sensor figures against IEC 60947-5-2 or a data sheet; knows no edge and no axis."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from rig.analysis.limits.limit_table import LimitEntry
from rig.analysis.limits.verdict import (
    GUARDED,
    Decision,
    Rule,
    Verdict,
    decision_about,
    not_tested,
    verdict,
)
from rig.analysis.run.repeat_conditions import LEAST_READINGS
from rig.errors import InputError
from rig.model.figures import Figure, RunFigures
from rig.model.mounted import Principle, Sensor, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardTarget:
    """The target that operating distances are stated for.

    Attributes
    ----------
    side_mm : float
        Side of the square.
    thickness_mm : float
        Thickness of the plate.
    material : str
        Material of the plate.
    earthed : bool
        Whether it is connected to earth.
    source : str
        Where this comes from.
    """

    side_mm: float
    thickness_mm: float
    material: str
    earthed: bool
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UsableDistance:
    """The usable operating distance over the conditions that were tried.

    Attributes
    ----------
    smallest, largest : tuple[str, Verdict]
        Smallest and largest s_u over s_r, each with its condition.
    assured : Verdict
        Smallest s_u against the assured operating distance.
    statements : tuple[str, ...]
        What was not tried, in words.
    """

    smallest: tuple[str, Verdict]
    largest: tuple[str, Verdict]
    assured: Verdict
    statements: tuple[str, ...]


def standard_target(sensor: Sensor) -> StandardTarget:
    """Size of the standard target of a sensor.

    Parameters
    ----------
    sensor : Sensor
        Sensor with its size and rated operating distance.

    Returns
    -------
    StandardTarget
        A square plate.

    Raises
    ------
    InputError
        If the size or the rated distance is not above 0.

    Notes
    -----
    IEC 60947-5-2, 8.3.2.1 (from memory): 1 mm carbon steel Fe 360 (ISO 630), rolled
    finish, side the larger of the active face's diameter and 3 s_n; for a capacitive
    sensor connected to earth.
    """
    if not (sensor.size_mm > 0.0 and sensor.rated_distance_mm > 0.0):
        raise InputError(
            f"{sensor.name}: size {sensor.size_mm:g} mm and s_n"
            f" {sensor.rated_distance_mm:g} mm have to be above 0",
            hint="take both from the data sheet",
        )
    return StandardTarget(
        side_mm=max(sensor.size_mm, 3.0 * sensor.rated_distance_mm),
        thickness_mm=1.0,
        material="carbon steel Fe 360",
        earthed=sensor.principle is Principle.CAPACITIVE,
        source="IEC 60947-5-2, 8.3.2.1, from memory",
    )


def effective_distance(
    operate: Figure,
    sensor: Sensor,
    limits: Mapping[str, LimitEntry],
    rule: Rule = GUARDED,
) -> Verdict:
    """Hold s_r against its limits around s_n.

    Parameters
    ----------
    operate : Figure
        Observed operate point on the standard target, mm.
    sensor : Sensor
        Sensor with its rated operating distance s_n.
    limits : mapping of str to LimitEntry
        Limits by symbol, from `limits_for`.
    rule : Rule
        Decision rule.

    Returns
    -------
    Verdict
        In mm.

    Raises
    ------
    InputError
        If the figure is not in mm.
    """
    return verdict(
        operate, limits["s_r"].limits(scale=sensor.rated_distance_mm, unit="mm"), rule
    )


def differential_travel(
    percent: Figure, limits: Mapping[str, LimitEntry], rule: Rule = GUARDED
) -> Verdict:
    """Hold H against its limit.

    Parameters
    ----------
    percent : Figure
        Differential travel as a share of s_r, %.
    limits : mapping of str to LimitEntry
        Limits by symbol, from `limits_for`.
    rule : Rule
        Decision rule.

    Returns
    -------
    Verdict
        In %.

    Raises
    ------
    InputError
        If the figure is not in %.
    """
    return verdict(percent, limits["H"].limits(scale=100.0, unit="%"), rule)


def repeat_accuracy_verdict(
    percent: Figure, limits: Mapping[str, LimitEntry], rule: Rule = GUARDED
) -> Verdict:
    """Hold R of the 8 h test against its limit.

    Parameters
    ----------
    percent : Figure
        Largest difference as a share of s_r, %.
    limits : mapping of str to LimitEntry
        Limits by symbol, from `limits_for`.
    rule : Rule
        Decision rule.

    Returns
    -------
    Verdict
        In %.

    Raises
    ------
    InputError
        If the figure is not in %.
    """
    return verdict(percent, limits["R"].limits(scale=100.0, unit="%"), rule)


def usable_distance(
    effective: Figure,
    under_conditions: Mapping[str, Figure],
    sensor: Sensor,
    limits: Mapping[str, LimitEntry],
    *,
    shared: Collection[str] = (),
    rule: Rule = GUARDED,
) -> UsableDistance:
    """Hold s_u and s_a against their limits.

    Parameters
    ----------
    effective : Figure
        s_r, mm.
    under_conditions : mapping of str to Figure
        Operate points at the ends of the temperature and supply range, mm, by a name
        of the condition.
    sensor : Sensor
        Sensor with its rated operating distance s_n.
    limits : mapping of str to LimitEntry
        Limits by symbol, from `limits_for`.
    shared : collection of str
        Contributions common to all these runs; see `shared_contributions`.
    rule : Rule
        Decision rule.

    Returns
    -------
    UsableDistance
        Ratios have unit "1"; the assured distance is in mm.

    Raises
    ------
    InputError
        If no condition was tried or units differ.

    Notes
    -----
    IEC 60947-5-2, 7.2.1.3.2 and 7.2.1.3.3 (from memory). A sensor has the assured
    operating distance if it operates at every gap up to 0.81 s_n (capacitive 0.72 s_n)
    under all conditions, so the smallest s_u decides.
    """
    if not under_conditions:
        raise InputError(
            f"{sensor.name}: no operate point under other conditions",
            hint="measure at the ends of the temperature and supply range",
        )
    # Deferred likewise
    from rig.analysis.numbers.ratio import ratio

    ratios = {
        name: ratio(operate, effective, shared=shared, labels=(name, "s_r"))
        for name, operate in under_conditions.items()
    }
    low = min(ratios, key=lambda name: ratios[name].value)
    high = max(ratios, key=lambda name: ratios[name].value)
    share = limits["s_u"].limits()
    reach = limits["s_a"].limits(scale=sensor.rated_distance_mm, unit="mm")
    return UsableDistance(
        smallest=(low, verdict(ratios[low], share, rule)),
        largest=(high, verdict(ratios[high], share, rule)),
        assured=verdict(under_conditions[low], reach, rule),
        statements=(_tried(sorted(under_conditions)),),
    )


def run_verdicts(
    figures: RunFigures,
    sensor: Sensor,
    limits: Mapping[str, LimitEntry],
    *,
    rule: Rule = GUARDED,
) -> dict[str, Verdict]:
    """Hold what one run gives against the limits.

    Parameters
    ----------
    figures : RunFigures
        Figures of a run on the standard target.
    sensor : Sensor
        Sensor that was measured.
    limits : mapping of str to LimitEntry
        Limits by symbol, from `limits_for`.
    rule : Rule
        Decision rule.

    Returns
    -------
    dict of str to Verdict
        s_r, H and, with three readings or more, R: by `repeat_accuracy_field`, and
        "not tested" unless that is the 8 h test.

    Raises
    ------
    InputError
        If a unit is not the one expected.
    """
    found = {
        "s_r": effective_distance(figures.operate, sensor, limits, rule),
        "H": differential_travel(figures.differential_travel_percent, limits, rule),
    }
    field = repeat_accuracy_field(figures)
    share: Figure | None = getattr(figures, field) if field else None
    if share is not None and share.unit == "mm":
        # Deferred: the decisions of a long list of runs need no arrays
        from rig.analysis.run.repeat_accuracy import share_of_distance

        share = share_of_distance(share, figures.operate)
    if share is not None and field == "repeat_accuracy_8_h_percent":
        found["R"] = repeat_accuracy_verdict(share, limits, rule)
    elif share is not None:
        wanted = limits["R"].limits(scale=100.0, unit="%")
        found["R"] = not_tested(share, wanted, "the limit is that of the 8 h test")
    return found


def run_decisions(
    figures: RunFigures,
    sensor: Sensor,
    limits: Mapping[str, LimitEntry],
    *,
    rule: Rule = GUARDED,
) -> dict[str, Decision]:
    """Decisions of `run_verdicts` alone, for lists of many runs.

    Parameters
    ----------
    figures : RunFigures
        Figures of a run on the standard target.
    sensor : Sensor
        Sensor that was measured.
    limits : mapping of str to LimitEntry
        Limits by symbol, from `limits_for`.
    rule : Rule
        Decision rule.

    Returns
    -------
    dict of str to Decision
        By symbol, as `run_verdicts`.

    Raises
    ------
    InputError
        If a unit is not the one expected.
    """
    reach = limits["s_r"].limits(scale=sensor.rated_distance_mm, unit="mm")
    percent, travel = figures.differential_travel_percent, limits["H"]
    found = {
        "s_r": decision_about(figures.operate, reach, rule),
        "H": decision_about(percent, travel.limits(scale=100.0, unit="%"), rule),
    }
    tested = figures.repeat_accuracy_8_h_percent
    if tested is not None:
        wanted = limits["R"].limits(scale=100.0, unit="%")
        found["R"] = decision_about(tested, wanted, rule)
    elif repeat_accuracy_field(figures):
        found["R"] = Decision.NOT_TESTED
    return found


def repeat_accuracy_field(figures: RunFigures) -> str:
    """Which of a run's figures R rests on.

    Parameters
    ----------
    figures : RunFigures
        Those that apply to the run.

    Returns
    -------
    str
        Field of `RunFigures`: the 8 h test, else a timetable, else the short-term
        figure; empty if there is none or it rests on fewer than three readings.
    """
    for field in ("repeat_accuracy_8_h_percent", "repeat_accuracy_timetable_percent"):
        if getattr(figures, field) is not None:
            return field
    short = figures.repeat_accuracy_short_term
    # Earlier analyses gave it for one sweep and for two
    enough = short is not None and short.n >= LEAST_READINGS
    return "repeat_accuracy_short_term" if enough else ""


def not_the_standard_target(target: Target, sensor: Sensor) -> tuple[str, ...]:
    """Say in what a target differs from the standard one.

    Parameters
    ----------
    target : Target
        Target that was mounted; a side that is not known passes.
    sensor : Sensor
        Sensor that was measured.

    Returns
    -------
    tuple of str
        Sentences; empty if thickness, material, earth and, as far as it is known, the
        side are those of the standard.

    Notes
    -----
    s_r, H and R of the standard hold for the standard target; see `standard_target`.
    """
    wanted = standard_target(sensor)
    said = []
    if "steel" not in target.material.lower() or "stainless" in target.material.lower():
        said.append(f"the target is {target.material}, not {wanted.material}")
    if target.thickness_mm != wanted.thickness_mm:
        said.append(
            f"the target is {target.thickness_mm:g} mm thick, not"
            f" {wanted.thickness_mm:g} mm"
        )
    if target.wall_mm > 0.0:
        said.append("the target stands behind a wall")
    if wanted.earthed and not target.earthed:
        said.append("the target is not earthed")
    if target.side_mm is not None and target.side_mm < wanted.side_mm:
        said.append(
            f"the target has a side of {target.side_mm:g} mm, not {wanted.side_mm:g} mm"
        )
    return tuple(said)


def _tried(names: Sequence[str]) -> str:
    return (
        f"conditions tried: {', '.join(names)}; it says nothing of others"
        " within the rated range"
    )


def worst_case_release_mm(sensor: Sensor) -> float:
    """Gap beyond which every inductive sensor of the type has released.

    Parameters
    ----------
    sensor : Sensor
        Inductive sensor.

    Returns
    -------
    float
        1.43 s_n, mm.

    Raises
    ------
    InputError
        If the sensor is not inductive: the figure is known for that principle only.

    Notes
    -----
    1.21 s_n + 0.2 x 1.1 s_n; common practice, no source.
    """
    if sensor.principle is not Principle.INDUCTIVE:
        raise InputError(
            f"{sensor.name} is {sensor.principle.value}",
            hint="the worst-case release is common practice for inductive sensors only",
        )
    share = Decimal("1.21") + Decimal("0.2") * Decimal("1.1")
    return float(share * Decimal(repr(sensor.rated_distance_mm)))
