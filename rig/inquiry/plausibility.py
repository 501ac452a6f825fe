"""What somebody typed that is hardly meant so: it is asked about, or refused.

A slip of the hand can reject a lot: 7900 for 7.9, or a reading in µm.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from statistics import median

from rig.analysis.limits.plausible import doubt_by_limits, doubt_by_others
from rig.analysis.limits.verdict import Limits
from rig.errors import Implausible
from rig.model.mounted import Sensor
from rig.records.hand_readings import HandReading
from rig.records.studies import StudyReading

_FARTHEST_SHARE = 2.0  # of s_n: no target is seen from farther (1.43, and a margin)
_FEWEST_OTHERS = 3
_TOLD_AT_MOST = 3


def check_value(value: float, expanded: float | None, limits: Limits) -> None:
    """Ask about a value given for a part.

    Args:
        value: The value, in the unit of the limits.
        expanded: Expanded uncertainty (95 %) of it; None if it has none.
        limits: Limits that it is held against.

    Raises:
        Implausible: It is far outside them or off by a power of ten, or its
            uncertainty is larger than itself.
    """
    named = f"the value {value:g} {limits.unit}"
    doubt = doubt_by_limits(value, limits)
    if doubt:
        raise Implausible(f"{named} {doubt}")
    if expanded is not None and value and expanded > abs(value):
        raise Implausible(f"{named} has an uncertainty of {expanded:g} {limits.unit}")


def doubt_about_gap(value_mm: float, sensor: Sensor) -> str:
    """Say why a gap read by hand is hardly meant so; empty for a plausible one."""
    limits = Limits(
        lower=0.0,
        upper=_FARTHEST_SHARE * sensor.rated_distance_mm,
        unit="mm",
        source=f"{_FARTHEST_SHARE:g} times the rated distance",
    )
    return doubt_by_limits(value_mm, limits)


def check_by_hand(
    readings: Sequence[HandReading], sensor_of: Callable[[str], Sensor]
) -> None:
    """Ask about readings by hand.

    Args:
        readings: Readings that are to go on record.
        sensor_of: Returns a sensor by its name.

    Raises:
        Implausible: One is far beyond what its sensor can see, or off by a power of
            ten.
        InputError: A sensor is not known.
    """
    doubts = [
        f"{one.source}: {one.value_mm:g} mm {doubt}"
        for one in readings
        if (doubt := doubt_about_gap(one.value_mm, sensor_of(one.sensor)))
    ]
    _raise(doubts)


def check_study_readings(
    readings: Sequence[StudyReading], known: Mapping[int, StudyReading]
) -> None:
    """Ask about readings of a study that are off from the others.

    Args:
        readings: Readings that are to go on record, of one unit.
        known: Readings on record by their row.

    Raises:
        Implausible: One is 5 times the median of the others or more, or 1/5 or less.
    """
    every = {**known, **{one.order: one for one in readings}}
    doubts = [
        f"row {one.order}: {one.value:g} {one.unit} {doubt}"
        for one in readings
        if (doubt := doubt_about_reading(one.value, one.order, every))
    ]
    _raise(doubts)


def doubt_about_reading(
    value: float, order: int, readings: Mapping[int, StudyReading]
) -> str:
    """Say why a reading of a study is hardly meant so; empty for a plausible one.

    Args:
        value: The reading.
        order: Row that it is of.
        readings: Readings by their row, in the same unit; too few of other rows tell
            nothing.
    """
    others = [one for row, one in readings.items() if row != order]
    if len(others) < _FEWEST_OTHERS:
        return ""
    return doubt_by_others(value, median(o.value for o in others), others[0].unit)


def _raise(doubts: Sequence[str]) -> None:
    if doubts:
        more = len(doubts) - _TOLD_AT_MOST
        rest = [f"and {more} more"] if more > 0 else []
        raise Implausible("; ".join([*doubts[:_TOLD_AT_MOST], *rest]))
