"""Layout sheet of a measurement-system study, and its filled rows as an array."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import one_unit
from rig.errors import InputError
from rig.model.number_input import number


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """One reading to be taken.

    Attributes
    ----------
    order : int
        Running number, from 1, in which the readings are to be taken.
    trial : int
        Number of the trial, from 1.
    appraiser : str
        Person or set-up that takes it.
    part : str
        Name of the part.
    """

    order: int
    trial: int
    appraiser: str
    part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledRow:
    """One reading that was taken.

    Attributes
    ----------
    row : SheetRow
        Row of the sheet.
    reading : object
        Reading as written: a number, or text that reads as one.
    unit : str
        Unit of the reading.
    """

    row: SheetRow
    reading: object
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyReadings:
    """A full, balanced study.

    Attributes
    ----------
    parts : tuple[str, ...]
        Names of the p parts.
    appraisers : tuple[str, ...]
        Names of the o appraisers.
    readings : ndarray of float
        Shape (p, o, r) with r trials.
    unit : str
        Unit of the readings.
    """

    parts: tuple[str, ...]
    appraisers: tuple[str, ...]
    readings: FloatArray
    unit: str


def layout_rows(
    parts: Sequence[str], appraisers: Sequence[str], trials: int, *, seed: int
) -> tuple[SheetRow, ...]:
    """Lay out a crossed study.

    Parameters
    ----------
    parts : sequence of str
        Names of the parts, at least 2, all different; better 10.
    appraisers : sequence of str
        Persons or set-ups; at least 2, all different.
    trials : int
        Readings of each part by each appraiser, at least 2.
    seed : int
        Seed of the order, so that a sheet can be printed again.

    Returns
    -------
    tuple of SheetRow
        Trial by trial; within a trial the appraisers in random order, and each of them
        the parts in an order of their own.

    Raises
    ------
    InputError
        If there are too few of anything or a name comes twice.

    Notes
    -----
    Random order within a trial: AIAG, Measurement Systems Analysis, 4th ed. (from
    memory).
    """
    _check_names("parts", parts)
    _check_names("appraisers or set-ups", appraisers)
    if trials < 2:
        raise InputError(
            f"{trials} trial shows no repeatability", hint="at least 2 trials, better 3"
        )
    rng = np.random.default_rng(seed)
    rows: list[SheetRow] = []
    for trial in range(1, trials + 1):
        for a in rng.permutation(len(appraisers)):
            rows += [
                SheetRow(
                    order=len(rows) + place,
                    trial=trial,
                    appraiser=appraisers[a],
                    part=parts[p],
                )
                for place, p in enumerate(rng.permutation(len(parts)), start=1)
            ]
    return tuple(rows)


def _check_names(what: str, names: Sequence[str]) -> None:
    if len(names) < 2:
        raise InputError(
            f"{len(names)} of the {what} make no crossed study",
            hint=f"at least 2 {what}",
        )
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise InputError(
            f"{twice!r} stands among the {what} twice", hint="give each its own name"
        )


def readings_of_sheet(filled: Sequence[FilledRow]) -> StudyReadings:
    """Turn a filled sheet into an array.

    Parameters
    ----------
    filled : sequence of FilledRow
        Filled rows in any order; every part as often by every appraiser.

    Returns
    -------
    StudyReadings
        Parts and appraisers in the order of their names' first appearance.

    Raises
    ------
    InputError
        If a cell is empty or text, units are mixed, a reading stands twice, or the
        study is not balanced.
    """
    unit = one_unit((row.unit for row in filled), "the study")
    parts = tuple(dict.fromkeys(row.row.part for row in filled))
    appraisers = tuple(dict.fromkeys(row.row.appraiser for row in filled))
    trials = max(row.row.trial for row in filled)
    values = np.full((len(parts), len(appraisers), trials), np.nan)
    for one in filled:
        row = one.row
        place = f"part {row.part}, appraiser {row.appraiser}, trial {row.trial}"
        if row.trial < 1:
            raise InputError(f"{place}: trials are counted from 1", hint="1, 2, 3, …")
        cell = (parts.index(row.part), appraisers.index(row.appraiser), row.trial - 1)
        if not np.isnan(values[cell]):
            raise InputError(f"{place} stands twice", hint="one row a reading")
        values[cell] = number(one.reading, place)
    missing = np.argwhere(np.isnan(values))
    if missing.size:
        p, a, r = missing[0].tolist()
        raise InputError(
            f"the study is not balanced: part {parts[p]}, appraiser {appraisers[a]},"
            f" trial {r + 1} is missing",
            hint="take that reading, leave the trial out for all, or ask for the"
            " components of what there is: `gapsweep study components`",
        )
    return StudyReadings(parts=parts, appraisers=appraisers, readings=values, unit=unit)
