"""Readings by hand beside the rig's, and what more readings add to what is known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column
from rig.analysis.numbers.intervals import Interval, sd_interval
from rig.analysis.numbers.one_way import OneWay, one_way
from rig.analysis.numbers.readout import (
    assumed_step,
    readout_term,
    spread_in_steps,
)
from rig.analysis.numbers.uncertainty import figure, mean_and_sd
from rig.errors import InputError
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.rounding import format_significant, round_to_uncertainty


@dataclass(frozen=True, slots=True, kw_only=True)
class HandSummary:
    """What one person read.

    Attributes
    ----------
    person : str
        Name or number of the person.
    n : int
        Number of readings.
    mean_mm : float
        Mean of the readings.
    step_mm : float
        Step of the readout.
    step_assumed : bool
        Whether nobody stated that step and it follows from the readings.
    mean_interval : Interval
        Interval of the mean, two-sided, 95 %, from the readings and their step.
    sd_mm : float
        Standard deviation of a single reading.
    sd_interval : Interval
        Interval of the standard deviation, two-sided, 95 %.
    bias : Figure
        Mean less the rig's figure (mm); the rig's uncertainty is part of it.
    biased : bool
        Whether the bias is larger than its expanded uncertainty.
    spread_ratio : float or None
        Standard deviation over that of the rig; None if the rig's is 0 or not known, or
        the step of the readout hides it.
    sentence : str
        The comparison in words.
    """

    person: str
    n: int
    mean_mm: float
    step_mm: float
    step_assumed: bool
    mean_interval: Interval
    sd_mm: float
    sd_interval: Interval
    bias: Figure
    biased: bool
    spread_ratio: float | None
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandComparison:
    """All persons beside the rig.

    Attributes
    ----------
    people : tuple[HandSummary, ...]
        Everybody beside the rig, in the order given.
    between_people : OneWay or None
        Analysis of variance between them; None for one person.
    """

    people: tuple[HandSummary, ...]
    between_people: OneWay | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """How the mean settles as readings come in; element 0 is after two readings.

    Attributes
    ----------
    n : ndarray of float
        Number of readings so far, shape (N - 1,).
    mean : ndarray of float
        Mean of the readings so far, shape (N - 1,).
    sd : ndarray of float
        Standard deviation of a single reading, from those so far, shape (N - 1,).
    half_width : ndarray of float
        Half width of the 95 % interval of that mean, from the readings so far and their
        step, shape (N - 1,).
    expected_half_width : ndarray of float
        Half width had the final standard deviation been known all along, shape (N -
        1,): it shows what n alone does.
    """

    n: FloatArray
    mean: FloatArray
    sd: FloatArray
    half_width: FloatArray
    expected_half_width: FloatArray


def compare_by_hand(
    people: Mapping[str, Cells],
    rig: Figure,
    *,
    steps_mm: Mapping[str, float] | None = None,
) -> HandComparison:
    """Put readings by hand beside the rig's figure.

    Parameters
    ----------
    people : mapping of str to array_like of shape (n_i,)
        Readings of each person, mm; at least 2 each.
    rig : Figure
        Figure of the rig for the same quantity, mm, with its uncertainty.
    steps_mm : mapping of str to float, or None
        Step of each person's readout, mm; of people who are not in it, the coarsest
        usual one that the readings of all lie on.

    Returns
    -------
    HandComparison
        In mm.

    Raises
    ------
    InputError
        If nobody read, somebody read once only, a cell is missing, or the rig's figure
        is not in mm or has no uncertainty.

    Notes
    -----
    Bias and its uncertainty: GUM, 5.1 and G.4. The reading by hand and the rig are
    taken as independent. The step of the readout: `readout_term`.
    """
    if not people:
        raise InputError("no readings by hand given", hint="enter at least two")
    if rig.unit != "mm":
        raise InputError(f"the rig's figure is in {rig.unit}", hint="compare in mm")
    if rig.expanded_uncertainty is None:
        raise InputError(
            f"the rig's figure has no uncertainty: {rig.why_none}",
            hint="sweep more often",
        )
    arrays = {
        person: column(f"readings of {person}", cells, at_least=2)
        for person, cells in people.items()
    }
    stated = steps_mm or {}
    usual = assumed_step(np.concatenate(list(arrays.values())))
    return HandComparison(
        people=tuple(
            _summary(person, x, rig, stated.get(person), usual)
            for person, x in arrays.items()
        ),
        between_people=one_way(list(arrays.values())) if len(arrays) > 1 else None,
    )


def _summary(
    person: str, x: FloatArray, rig: Figure, stated_mm: float | None, usual_mm: float
) -> HandSummary:
    step_mm = usual_mm if stated_mm is None else stated_mm
    readout = readout_term(step_mm)
    mean, sd = (float(moment) for moment in mean_and_sd(x))
    own = Contribution(
        name="scatter of the readings by hand",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=sd / math.sqrt(x.size),
        unit="mm",
        degrees_of_freedom=float(x.size - 1),
    )
    bias = figure(
        mean - rig.value,
        "mm",
        [own, readout, *rig.budget],
        n=x.size + rig.n,
        standard_deviation=sd,
    )
    size = bias.expanded_uncertainty or 0.0
    biased = abs(bias.value) > size
    hidden = sd < 0.5 * step_mm
    known = rig.standard_deviation and not hidden
    ratio = sd / rig.standard_deviation if known and rig.standard_deviation else None
    alone = figure(mean, "mm", [own, readout], n=x.size).expanded_uncertainty or 0.0
    return HandSummary(
        person=person,
        n=x.size,
        mean_mm=mean,
        step_mm=step_mm,
        step_assumed=stated_mm is None,
        mean_interval=Interval(lower=mean - alone, upper=mean + alone, confidence=0.95),
        sd_mm=sd,
        sd_interval=spread_in_steps(sd_interval(sd, x.size - 1), sd, step_mm),
        bias=bias,
        biased=biased,
        spread_ratio=ratio,
        sentence=f"{person} {_verdict(bias.value, size, x.size)}"
        + (_hidden_words(step_mm) if hidden else _spread_words(ratio)),
    )


def _hidden_words(step_mm: float) -> str:
    return f"; the readout's step of {step_mm:g} mm hides the spread"


def _spread_words(ratio: float | None) -> str:
    if ratio is None:
        return ""
    return f"; spread {format_significant(ratio)} times the rig's"


def _verdict(bias_mm: float, size_mm: float, n: int) -> str:
    off, uncertainty = round_to_uncertainty(abs(bias_mm), size_mm)
    known = f"(U = {uncertainty} mm, n = {n})"
    if abs(bias_mm) <= size_mm:
        return f"shows no sure bias {known}"
    return f"reads {off} mm too {'far' if bias_mm > 0.0 else 'near'} {known}"


def growth_of_knowledge(readings: Cells, *, step_mm: float = 0.0) -> Growth:
    """Follow the mean and its interval from two readings to all of them.

    Parameters
    ----------
    readings : array_like, shape (N,)
        Readings in the order taken, any unit; at least 2.
    step_mm : float
        Step of their readout in that unit.

    Returns
    -------
    Growth
        Shape (N - 1,), in the unit of the readings.

    Raises
    ------
    InputError
        If a reading is missing or there is one only.

    Notes
    -----
    Student's t with n - 1 degrees of freedom; the second width is z s/sqrt n with the
    final s. The step of the readout is part of both, and no reading takes it away.
    """
    from scipy.special import ndtri, stdtrit

    x = column("readings", readings, at_least=2)
    n = np.arange(2, x.size + 1, dtype=np.float64)
    # Sums about the first reading keep the digits of a large common offset
    y = x - x[0]
    sums, squares = np.cumsum(y)[1:], np.cumsum(y * y)[1:]
    sd = np.sqrt(np.maximum(squares - sums * sums / n, 0.0) / (n - 1.0))
    z = float(ndtri(0.975))
    readout = z * readout_term(step_mm).standard_uncertainty
    return Growth(
        n=n,
        mean=sums / n + x[0],
        sd=sd,
        half_width=np.hypot(
            np.asarray(stdtrit(n - 1.0, 0.975)) * sd / np.sqrt(n), readout
        ),
        expected_half_width=np.hypot(z * sd[-1] / np.sqrt(n), readout),
    )
