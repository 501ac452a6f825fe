"""Variance components of a study that is nested, or crossed and not balanced."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column, probability, same_length
from rig.analysis.numbers.restricted_likelihood import likelihood_fit
from rig.analysis.numbers.sequential_sums import (
    LEFT,
    SequentialSum,
    left_over,
    sequential_bases,
    sequential_sums,
)
from rig.analysis.study.measurement_system import Spreads, spreads_of
from rig.analysis.study.study_results import (
    DRAWS,
    DRAWS_SEED,
    StudyIntervals,
    intervals_of_draws,
)
from rig.errors import InputError

_APPRAISER, _PART, _INTERACTION = "appraiser", "part", "part x appraiser"
_NESTED_PART = "part within appraiser"
_MOST_READINGS = 2000


class Design(StrEnum):
    """How parts and appraisers go together."""

    CROSSED = "crossed"
    NESTED = "nested"


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentStudy:
    """Spreads of a nested or unbalanced study.

    Attributes
    ----------
    design : Design
        Nested where no part was read by two appraisers, as in a test that destroys.
    balanced : bool
        Whether every part was read as often as every other by each of its appraisers.
    parts : int
        Number of different parts.
    appraisers : int
        Number of appraisers.
    readings : int
        Number of readings.
    mean : float
        Weighted mean, unit of the readings.
    rows : tuple[SequentialSum, ...]
        Analysis of variance, each effect after those above it.
    components : dict[str, float]
        Variances by restricted maximum likelihood, by source; none below 0.
    by_mean_squares : dict[str, float]
        Variances by equating mean squares to their expectations; may be below 0.
    spreads : Spreads
        Standard deviations from `components`.
    intervals : StudyIntervals
        Two-sided intervals of these.
    method : str
        How they were found.
    statements : tuple[str, ...]
        What the design cannot show.
    """

    design: Design
    balanced: bool
    parts: int
    appraisers: int
    readings: int
    mean: float
    rows: tuple[SequentialSum, ...]
    components: dict[str, float]
    by_mean_squares: dict[str, float]
    spreads: Spreads
    intervals: StudyIntervals
    method: str
    statements: tuple[str, ...]


def component_study(
    parts: Sequence[str],
    appraisers: Sequence[str],
    readings: Cells,
    *,
    nested: bool = False,
    confidence: float = 0.95,
    step: float = 0.0,
    draws: int = DRAWS,
) -> ComponentStudy:
    """Find the components of a study from readings in any number and order.

    Parameters
    ----------
    parts, appraisers : sequence of str, each of length n
        Part and appraiser of each reading.
    readings : array_like, shape (n,)
        Any unit.
    nested : bool
        Parts of one name are different parts where different appraisers read them.
    confidence : float
        Confidence of the intervals, 0 to 1.
    step : float
        Step of the readings in their unit; 0 if there is none.
    draws : int
        How many draws the intervals are taken from.

    Returns
    -------
    ComponentStudy
        In the unit of the readings.

    Raises
    ------
    InputError
        If there are fewer than 2 parts or appraisers, too many readings, no part was
        read twice by one appraiser in a nested study, or nothing is left for the
        repeatability.

    Notes
    -----
    Random effects throughout. Estimates by restricted maximum likelihood. Intervals
    are generalised ones, as in `study_intervals`, from the mean squares of the
    sequential analysis, each taken as chi-squared with its effective degrees of
    freedom: exact in the same sense in a balanced design, close in others.
    """
    probability("the confidence", confidence)
    x = column("the study", readings, at_least=4)
    same_length("parts", len(parts), "readings", x.size)
    same_length("appraisers", len(appraisers), "readings", x.size)
    _check_counts(parts, appraisers, x.size)
    nested = nested or _each_part_has_one(parts, appraisers)
    cells = list(zip(parts, appraisers, strict=True))
    effects = _effects(parts, appraisers, cells, nested=nested)
    bases = sequential_bases(effects)
    dof, scatter = left_over(x, bases)
    if dof < 1:
        raise InputError(
            "no part was read twice, so nothing is left for the repeatability",
            hint="have parts read twice by the same appraiser",
        )
    effects = {name: effect for name, effect in effects.items() if name in bases}
    if not scatter > 1e-20 * float(np.sum(np.square(x - x.mean()))):
        raise InputError(
            "all trials read alike, so repeatability is hidden by the resolution",
            hint="read with a finer step",
        )
    fit = likelihood_fit(x, list(effects.values()))
    found = dict(zip([*effects, LEFT], fit.variances.tolist(), strict=True))
    rows = sequential_sums(x, effects, bases, found)
    counts = Counter(cells)
    return ComponentStudy(
        design=Design.NESTED if nested else Design.CROSSED,
        balanced=_balanced(counts, parts, appraisers, nested=nested),
        parts=len(set(cells)) if nested else len(set(parts)),
        appraisers=len(set(appraisers)),
        readings=x.size,
        mean=fit.mean,
        rows=rows,
        components=found,
        by_mean_squares=_equated(rows, _mean_squares(rows)),
        spreads=_spreads(found),
        intervals=_intervals(rows, _spreads(found), confidence, step, draws),
        method="restricted maximum likelihood, all effects random",
        statements=_statements(effects, nested=nested),
    )


def _check_counts(parts: Sequence[str], appraisers: Sequence[str], n: int) -> None:
    for names, what in ((parts, "part"), (appraisers, "appraiser")):
        if len(set(names)) < 2:
            raise InputError(
                f"the study has {len(set(names))} {what}",
                hint=f"at least 2 {what}s are needed",
            )
    if n > _MOST_READINGS:
        raise InputError(
            f"the study has {n} readings", hint=f"at most {_MOST_READINGS} are taken"
        )


def _each_part_has_one(parts: Sequence[str], appraisers: Sequence[str]) -> bool:
    return len(set(zip(parts, appraisers, strict=True))) == len(set(parts))


def _effects(
    parts: Sequence[str],
    appraisers: Sequence[str],
    cells: Sequence[tuple[str, str]],
    *,
    nested: bool,
) -> dict[str, FloatArray]:
    if nested:
        return {_APPRAISER: _levels(appraisers), _NESTED_PART: _levels(cells)}
    effects = {_PART: _levels(parts), _APPRAISER: _levels(appraisers)}
    # Without a second reading in any cell the interaction is the repeatability's own
    if len(set(cells)) < len(cells):
        effects[_INTERACTION] = _levels(cells)
    return effects


def _levels(names: Sequence[object]) -> FloatArray:
    known = {name: k for k, name in enumerate(dict.fromkeys(names))}
    found = np.zeros((len(names), len(known)))
    found[np.arange(len(names)), [known[name] for name in names]] = 1.0
    return found


def _balanced(
    counts: Counter[tuple[str, str]],
    parts: Sequence[str],
    appraisers: Sequence[str],
    *,
    nested: bool,
) -> bool:
    alike = len(set(counts.values())) == 1
    if nested:
        return alike and len(set(Counter(who for _, who in counts).values())) == 1
    return alike and len(counts) == len(set(parts)) * len(set(appraisers))


def _mean_squares(rows: Sequence[SequentialSum]) -> FloatArray:
    return np.array([[row.mean_square] for row in rows])


def _equated(
    rows: Sequence[SequentialSum], mean_squares: FloatArray
) -> dict[str, float]:
    solved = _solved(rows, mean_squares)
    return {name: float(value[0]) for name, value in solved.items()}


def _solved(
    rows: Sequence[SequentialSum], mean_squares: FloatArray
) -> dict[str, FloatArray]:
    names = [row.source for row in rows]
    expected = np.array([[row.expected[name] for name in names] for row in rows])
    solved = np.linalg.solve(expected, mean_squares)
    return dict(zip(names, solved, strict=True))


def _by_kind(found: dict[str, float]) -> dict[str, float]:
    return {
        "repeatability": found[LEFT],
        "interaction": found.get(_INTERACTION, 0.0),
        "appraiser": found[_APPRAISER],
        "part": found[_NESTED_PART] if _NESTED_PART in found else found[_PART],
    }


def _spreads(found: dict[str, float]) -> Spreads:
    return spreads_of(_by_kind(found))


def _intervals(
    rows: Sequence[SequentialSum],
    spreads: Spreads,
    confidence: float,
    step: float,
    draws: int,
) -> StudyIntervals:
    rng = np.random.default_rng(DRAWS_SEED)
    drawn = [
        row.mean_square
        * row.effective_degrees_of_freedom
        / rng.chisquare(row.effective_degrees_of_freedom, draws)
        for row in rows
    ]
    solved = _solved(rows, np.array(drawn))
    none = np.zeros(draws)
    found = intervals_of_draws(
        {
            "repeatability": solved[LEFT],
            "interaction": solved.get(_INTERACTION, none),
            "appraiser": solved[_APPRAISER],
            "part": solved[_NESTED_PART] if _NESTED_PART in solved else solved[_PART],
        },
        confidence,
        hidden_step=step if spreads.repeatability < step else 0.0,
    )
    if any(
        not math.isclose(row.effective_degrees_of_freedom, row.degrees_of_freedom)
        for row in rows
    ):
        return replace(found, method=f"{found.method}, effective degrees of freedom")
    return found


def _statements(effects: dict[str, FloatArray], *, nested: bool) -> tuple[str, ...]:
    if nested:
        return (
            "No part was read by two appraisers: an interaction cannot be told from the"
            " parts, and what differs between the parts of different appraisers counts"
            " as reproducibility.",
        )
    if _INTERACTION not in effects:
        return (
            "No cell shows an interaction of parts and appraisers apart: it counts as"
            " repeatability.",
        )
    return ()
