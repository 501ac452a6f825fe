"""What the bench adds to the points of a run, each cause with its sensitivity."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from rig.analysis.edges.bench_causes import BenchCauses, bench_causes
from rig.analysis.edges.budget import Knowns, Term
from rig.analysis.numbers.gaps import FloatArray
from rig.model.bench_declaration import BenchKnowledge, ValueSource
from rig.model.figures import Evaluation

EXPANSION: Final = "thermal expansion"
_LATE: Final = "touch probe, what is left of its delay"
_AT_DATUM: Final = "periodic error of the screw, at the datum"
_SCALE_AT_DATUM: Final = "error of the scale, at the datum"
# Cause in the budget: field of `BenchCauses`, and whether it is the same one for all
# runs of a rig (else for those under one datum)
_CAUSES: Final = {
    "periodic error of the screw, sine part": ("periodic_mm", True),
    "periodic error of the screw, cosine part": ("periodic_mm", True),
    _AT_DATUM: ("periodic_mm", False),
    "periodic error of the screw, at the operate point": ("periodic_mm", None),
    "periodic error of the screw, at the release point": ("periodic_mm", None),
    "linear error of the screw": ("linear", True),
    _SCALE_AT_DATUM: ("scale_mm", False),
    "error of the scale, at the operate point": ("scale_mm", None),
    "error of the scale, at the release point": ("scale_mm", None),
    "linear error of the scale": ("scale_linear", True),
    "angle between axis and face": ("cosine", True),
    EXPANSION: ("expansion", True),
    "touch probe, repeatability": ("repeatability_mm", False),
    "touch probe, offset": ("offset_mm", True),
    "touch probe, pre-travel": ("pretravel_mm", True),
    "touch probe, delay": ("delay_mm", True),
    _LATE: ("delay_mm", False),
    "touch probe, hysteresis": ("hysteresis_mm", True),
    "plate out of parallel": ("tilt_mm", False),
    "flatness of the plate": ("plate_mm", False),
    "flatness of the face": ("face_mm", True),
    "change of the backlash": ("backlash_change_mm", False),
}
_PERIODIC: Final = "periodic error of the screw"
_IN_PARTS: Final = {"periodic_mm": _PERIODIC, "scale_mm": "error of the scale"}
_OF_PLACE: Final = (_AT_DATUM, _SCALE_AT_DATUM)
_ANEW: Final = ("touch probe, repeatability", _LATE, "plate out of parallel")
# Leads that a screw may have of which nobody said it
_LEADS_MM: Final = (1.0, 10.0)
_NEAREST_MM: Final = 1e-6  # nearer places count as one; the integrals end there
_PER_MM: Final = ("linear", "scale_linear", "cosine", "expansion")


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchTerms:
    """Terms of a run's points and of their difference.

    Attributes
    ----------
    operate : tuple[Term, ...]
        Terms of the operate point.
    release : tuple[Term, ...]
        Terms of the release point.
    travel : tuple[Term, ...]
        Terms of release less operate.
    """

    operate: tuple[Term, ...]
    release: tuple[Term, ...]
    travel: tuple[Term, ...]


def bench_terms(
    knowns: Knowns, operate_mm: FloatArray, release_mm: FloatArray
) -> BenchTerms:
    """Say what the bench adds to the points of runs.

    Parameters
    ----------
    knowns : Knowns
        What is known of the bench.
    operate_mm, release_mm : ndarray, shape (...)
        Points at rest, mm.

    Returns
    -------
    BenchTerms
        A cause that leaves a figure alone is not among its terms.

    Notes
    -----
    A gap is the way from the place of the edge to that of the datum, so a screw that
    stands off by e(x) adds e(x) - e(datum), on both flanks at the place of the nut. The
    touches see a delay tau as v tau: the datum lies that much too far, and the backlash
    is too large by twice as much, so the differential travel is short by 2 v tau. Where
    touches at two speeds measured it, both are corrected, and what the measurement left
    of v tau stands in place of the bound.

    A screw of unknown lead has its error at each place, and the closer two places lie
    the more of it they share. Leads between 1 and 10 mm, even in their logarithm, are
    taken for possible (common practice, no source): over them the mean of
    cos(2 pi D/p), a difference of cosine integrals, is the correlation of two places D
    apart. Datum and points count as far apart.
    """
    found: dict[str, list[Term]] = {"operate": [], "release": [], "travel": []}
    for name, (on, off) in _sensitivities(knowns, operate_mm, release_mm).items():
        cause, _ = _CAUSES[name]
        uncertainty = _uncertainty(knowns, name, cause)
        freedom = (
            np.asarray(knowns.datum_dof, dtype=np.float64)
            if name == _LATE
            else knowns.bench.degrees_of_freedom(cause)
        )
        both = _difference(off, on)
        for figure, sensitivity in (
            ("operate", on),
            ("release", off),
            ("travel", both),
        ):
            if sensitivity is not None:
                found[figure].append(
                    Term(
                        name=_line(name, knowns.bench),
                        evaluation=Evaluation.TYPE_B,
                        standard_uncertainty=uncertainty,
                        degrees_of_freedom=freedom,
                        unit="mm/mm" if cause in _PER_MM else "mm",
                        sensitivity=sensitivity,
                        common=True,
                        optional=True,
                    )
                )
    return BenchTerms(**{figure: tuple(terms) for figure, terms in found.items()})


def common_names(
    known: BenchKnowledge, *, one_datum: bool, one_place: bool
) -> Iterator[str]:
    """Yield the names of what two runs have in common that rest on the same knowledge.

    Parameters
    ----------
    known : BenchKnowledge
        What both rest on.
    one_datum : bool
        Whether they were taken under one datum too.
    one_place : bool
        Whether their datums lie so close together that the screw's error is the same
        at both.

    Yields
    ------
    str
        Names as they stand in the budgets.
    """
    causes = bench_causes(known, screw=True)
    common = causes_of_rig(one_datum=one_datum, one_place=one_place)
    for name in _CAUSES:
        if name in common:
            yield _line(name, causes)


def causes_of_rig(*, one_datum: bool, one_place: bool) -> frozenset[str]:
    """Return the causes that are one and the same quantity for two runs of a rig.

    Parameters
    ----------
    one_datum : bool
        Whether they were taken under one datum.
    one_place : bool
        Whether their datums lie so close together that the screw's error is the same
        at both.

    Returns
    -------
    frozenset of str
        Causes as `parted_name` gives them.
    """
    return frozenset(
        name
        for name, (_, of_rig) in _CAUSES.items()
        if of_rig
        or (of_rig is False and (one_place if name in _OF_PLACE else one_datum))
    )


def parted_name(name: str) -> tuple[str, str]:
    """Part the name of a line of a budget into cause and source.

    Returns
    -------
    cause, source : str
        The source is empty where the line does not rest on the bench.
    """
    for source in ValueSource:
        if name.endswith(end := f" ({source.value})"):
            return name.removesuffix(end), source.value
    return name, ""


def names_common_to_parts(known: BenchKnowledge, *, one_datum: bool) -> Iterator[str]:
    """Yield the names of what parts of one kind have in common on one bench.

    Their edges lie near one another, so the screw's error is the same for all; the
    sensor is mounted anew for each, and so are tilt and touch-off, unless all were
    measured from one datum.

    Parameters
    ----------
    known : BenchKnowledge
        What all of them rest on.
    one_datum : bool
        Whether all were measured from one datum.

    Yields
    ------
    str
        Names as they stand in the budgets.
    """
    causes = bench_causes(known, screw=True)
    for name in _CAUSES:
        if one_datum or name not in _ANEW:
            yield _line(name, causes)


def bench_cause(line: str) -> tuple[str, ValueSource] | None:
    """Return the cause on the bench that a line of a budget is about, and its source.

    Parameters
    ----------
    line : str
        Name of the line.

    Returns
    -------
    tuple or None
        Cause in words, one for all parts of an error of screw or scale; None for a line
        that is not about the bench, or whose number was stated without a source.
    """
    name, source = parted_name(line)
    if not source or name not in _CAUSES:
        return None
    cause, _ = _CAUSES[name]
    return _IN_PARTS.get(cause, name), ValueSource(source)


def _line(name: str, causes: BenchCauses) -> str:
    """Name a line of a budget: a cause and where its number comes from."""
    cause, _ = _CAUSES[name]
    source = ValueSource.MEASURED if name == _LATE else causes.source(cause)
    return f"{name} ({source})"


_Sensitivity = FloatArray | float | None


def _sensitivities(
    knowns: Knowns, operate_mm: FloatArray, release_mm: FloatArray
) -> dict[str, tuple[_Sensitivity, _Sensitivity]]:
    """Return what each cause does to the operate and to the release point."""
    by_probe = np.asarray(knowns.backlash_by_probe, dtype=np.float64)
    alike = _correlation(release_mm - operate_mm)
    found: dict[str, tuple[_Sensitivity, _Sensitivity]] = {
        _AT_DATUM: (-1.0, -1.0),
        f"{_PERIODIC}, at the operate point": (1.0, alike),
        f"{_PERIODIC}, at the release point": (None, np.sqrt(1.0 - alike * alike)),
        "linear error of the screw": (operate_mm, release_mm),
        _SCALE_AT_DATUM: (-1.0, -1.0),
        "error of the scale, at the operate point": (1.0, None),
        "error of the scale, at the release point": (None, 1.0),
        "linear error of the scale": (operate_mm, release_mm),
        "angle between axis and face": (operate_mm, release_mm),
        EXPANSION: (operate_mm, release_mm),
        "touch probe, delay": (1.0, 1.0 - 2.0 * by_probe),
        _LATE: (1.0, 1.0 - 2.0 * by_probe),
        "touch probe, hysteresis": (None, -by_probe),
        "change of the backlash": (None, 1.0),
    }
    for name in (
        "touch probe, repeatability",
        "touch probe, offset",
        "touch probe, pre-travel",
        "plate out of parallel",
        "flatness of the plate",
        "flatness of the face",
    ):
        found[name] = (1.0, 1.0)
    lead = np.asarray(knowns.bench.lead_mm, dtype=np.float64)
    if np.any(lead > 0.0):
        turn = np.where(
            lead > 0.0, 2.0 * math.pi / np.where(lead > 0.0, lead, 1.0), 0.0
        )
        datum = np.asarray(knowns.datum_steps) / np.asarray(knowns.steps_per_mm)
        for part, wave in (("sine", math.sin), ("cosine", math.cos)):
            zero = _each(wave, turn * datum)
            found[f"{_PERIODIC}, {part} part"] = (
                _each(wave, turn * (datum - operate_mm)) - zero,
                _each(wave, turn * (datum - release_mm)) - zero,
            )
    return {name: found[name] for name in _CAUSES if name in found}


def _correlation(apart_mm: FloatArray) -> FloatArray:
    """Return how far the error of a screw of unknown lead is the same at two places."""
    from scipy.special import sici

    least, most = _LEADS_MM
    turn = 2.0 * math.pi * np.maximum(np.abs(apart_mm), _NEAREST_MM)
    mean = (sici(turn / least)[1] - sici(turn / most)[1]) / math.log(most / least)
    return np.asarray(np.clip(mean, -1.0, 1.0))


def _each(wave: Callable[[float], float], values: FloatArray) -> FloatArray:
    """Apply a function number by number: one run and many give the same bits."""
    flat = [wave(value) for value in np.ravel(values).tolist()]
    return np.reshape(np.array(flat), np.shape(values))


def _difference(off: _Sensitivity, on: _Sensitivity) -> _Sensitivity:
    if on is None or off is None:
        return off if on is None else -on
    # Numbers that hold for every run; an array may be 0 for some of them alone
    if type(on) is float and type(off) is float:
        return off - on or None
    return off - on


def _uncertainty(knowns: Knowns, name: str, cause: str) -> FloatArray:
    size = np.asarray(getattr(knowns.bench, cause), dtype=np.float64)
    late = np.asarray(knowns.late_mm, dtype=np.float64)
    if name == _LATE:
        return late
    if cause == "delay_mm":
        return np.where(late > 0.0, 0.0, size)
    if cause != "periodic_mm":
        return size
    by_place = np.asarray(knowns.bench.lead_mm, dtype=np.float64) == 0.0
    return np.where(by_place == ("part" not in name), size, 0.0)
