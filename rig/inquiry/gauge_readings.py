"""Readings for a study of the measurement, wherever they come from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

from rig.errors import InputError
from rig.inquiry.runs_behind import RunBehind

READING, RATING = "reading", "rating"
Value = TypeVar("Value", float, str)


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeReading(Generic[Value]):
    """One reading of one part.

    Attributes:
        part: Name of the part; empty if nobody gave it.
        appraiser: Who read it; empty if nobody said.
        value: What was read, in the unit of all, or the category.
        occasion: What the reading shares with others taken at the same time.
        reference: Reference value or category as the table has it; None without one.
    """

    part: str
    appraiser: str
    value: Value
    occasion: str
    reference: Value | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeReadings(Generic[Value]):
    """Readings of one figure, in order of time or of the table.

    Attributes:
        title: Where they come from, in words.
        figure: Option name of the figure, "reading" or "rating".
        unit: Unit of all; "1" for ratings.
        readings: The readings.
        runs: The runs behind them.
        simulated: How many of them a simulated rig made.
        statements: What was left out.
        tolerance: Upper minus lower limit that the study on record was laid out with;
            None for none.
    """

    title: str
    figure: str
    unit: str
    readings: tuple[GaugeReading[Value], ...]
    runs: tuple[RunBehind, ...] = ()
    simulated: int = 0
    statements: tuple[str, ...] = ()
    tolerance: float | None = None

    @property
    def parts(self) -> tuple[str, ...]:
        """Part of each reading."""
        return tuple(one.part for one in self.readings)

    @property
    def appraisers(self) -> tuple[str, ...]:
        """Appraiser of each reading."""
        return tuple(one.appraiser for one in self.readings)

    @property
    def values(self) -> tuple[Value, ...]:
        """Value of each reading."""
        return tuple(one.value for one in self.readings)


def of_row(number: int) -> str:
    """Return the occasion of a reading that shares it with no other."""
    return f"row {number}"


def check_said(
    readings: GaugeReadings[Value],
    what: Callable[[GaugeReading[Value]], str],
    word: str,
) -> GaugeReadings[Value]:
    """Return readings if each of them says a thing.

    Raises:
        InputError: One of them does not.
    """
    silent = sum(not what(one) for one in readings.readings)
    if silent:
        raise InputError(
            f"{silent} of {len(readings.readings)} readings do not say which {word}"
            " they are of",
            hint=f"fill in the {word}, or leave these readings out",
        )
    return readings


def one_part(readings: GaugeReadings[float]) -> GaugeReadings[float]:
    """Return readings if all are of one part.

    Raises:
        InputError: They are of several.
    """
    names = sorted(set(readings.parts))
    if len(names) > 1:
        raise InputError(
            f"the readings are of {len(names)} parts: {', '.join(names[:5])}",
            hint="choose one of them with --parts",
        )
    return readings


def references_of(
    readings: GaugeReadings[float], given: Mapping[str, float]
) -> list[float]:
    """Return the reference value of each reading's part.

    Args:
        readings: The readings.
        given: Reference value by part; those of a table of readings come first.

    Raises:
        InputError: A part has none.
    """
    found = []
    for one in readings.readings:
        value = given.get(one.part) if one.reference is None else one.reference
        if value is None:
            raise InputError(
                f"part {one.part or '(no name)'} has no reference value",
                hint="give one for every part: --references FILE",
            )
        found.append(value)
    return found
