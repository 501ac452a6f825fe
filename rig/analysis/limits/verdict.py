"""A figure against its limit: conforms, does not, undecided; knows no sensor."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from rig.errors import InputError
from rig.model.figures import Figure
from rig.model.rounding import round_to_uncertainty

# Figures and limits meet on this grid, so that 0.9 x 4 is 3.6 to the last digit
GRID = Decimal("1e-9")


class Decision(StrEnum):
    """What the uncertainty allows to say."""

    CONFORMS = "conforms"
    DOES_NOT_CONFORM = "does not conform"
    UNDECIDED = "undecided"
    NOT_TESTED = "not tested"


_PARTS_THAT = {
    Decision.CONFORMS: "conforming",
    Decision.DOES_NOT_CONFORM: "nonconforming",
    Decision.UNDECIDED: "undecided",
}
# What is not tested decides nothing beside what is
GRAVITY = {
    Decision.DOES_NOT_CONFORM: 0,
    Decision.UNDECIDED: 1,
    Decision.CONFORMS: 2,
    Decision.NOT_TESTED: 3,
}


def gravest(decisions: Iterable[Decision]) -> Decision | None:
    """Return the gravest of several decisions; None if there are none.

    Parameters
    ----------
    decisions : iterable of Decision
        Decisions about one part.

    Returns
    -------
    Decision or None
        That which stands first in `GRAVITY`.
    """
    return min(decisions, key=GRAVITY.__getitem__, default=None)


# What a part can come out as; no part is only not tested
PART_DECISIONS = tuple(_PARTS_THAT)


def counts_words(decisions: Iterable[str], *, with_zeros: bool = True) -> str:
    """Say how many parts have each decision.

    Parameters
    ----------
    decisions : iterable of str
        One for each part, as `Decision` spells them.
    with_zeros : bool
        Whether to tell of decisions that no part has.

    Returns
    -------
    str
        Such as "3 conforming, 1 nonconforming, 0 undecided" (words of ISO 3534-2, from
        memory).
    """
    found = Counter(decisions)
    return ", ".join(
        f"{found[one]} {word}"
        for one, word in _PARTS_THAT.items()
        if with_zeros or found[one]
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A decision rule: how wide the guard band is.

    Attributes
    ----------
    name : str
        Name of the rule in words, printed beside every verdict.
    guard_factor : float
        Guard band over expanded uncertainty, 0 or more.
    """

    name: str
    guard_factor: float


GUARDED = Rule(
    name="guarded acceptance and guarded rejection, guard band w = U (95 %), JCGM 106",
    guard_factor=1.0,
)
SIMPLE = Rule(
    name="simple acceptance, no guard band, JCGM 106",
    guard_factor=0.0,
)
# As people name them
RULES = {"guarded": GUARDED, "simple": SIMPLE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """An interval that a figure has to lie in.

    Attributes
    ----------
    lower : float
        Lower limit, in `unit`; -inf without a lower limit.
    upper : float
        Upper limit, in `unit`; inf without an upper limit.
    unit : str
        Unit of both limits.
    source : str
        Where the limits come from, in words.
    inclusive : bool
        Whether a figure exactly on a limit is still allowed.
    """

    lower: float
    upper: float
    unit: str
    source: str
    inclusive: bool = True

    def __post_init__(self) -> None:
        if math.isnan(self.lower) or math.isnan(self.upper):
            raise InputError("a limit is not a number", hint="give it as a number")
        if math.isinf(self.lower) and math.isinf(self.upper):
            raise InputError(
                "there is neither a lower nor an upper limit", hint="give one of them"
            )
        if self.lower >= self.upper:
            raise InputError(
                f"the lower limit {self.lower:g} is not below the upper {self.upper:g}",
                hint="exchange them",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """A decision with all that it rests on.

    Attributes
    ----------
    decision : Decision
        One of three.
    rule : str
        Name of the decision rule.
    limits : Limits
        What the figure was held against.
    figure : Figure
        The figure itself, with its uncertainty or the words why none.
    conformance_probability : float or None
        Probability that the true value lies within the limits given this figure alone
        (JCGM 106, 7); None without an uncertainty.
    sentence : str
        The verdict in words.
    """

    decision: Decision
    rule: str
    limits: Limits
    figure: Figure
    conformance_probability: float | None
    sentence: str


def decision(
    value: float, expanded: float, limits: Limits, rule: Rule = GUARDED
) -> Decision:
    """Decide by a value and its uncertainty.

    Parameters
    ----------
    value : float
        Finite number in the unit of the limits.
    expanded : float
        Expanded uncertainty (95 %), 0 or more.
    limits : Limits
        What it has to lie in.
    rule : Rule
        Decision rule; its guard band lies on both sides of each limit.

    Returns
    -------
    Decision
        One of `PART_DECISIONS`.

    Notes
    -----
    JCGM 106:2012, 8.3.2 (guarded acceptance) and 8.3.3 (guarded rejection), w = r U;
    in between neither holds. Numbers meet on a grid of 1e-9 of the unit, so rounding
    in the last bit does not push a figure over a limit that it lies on.
    """
    # How far inside the nearer limit the value lies, in grid steps
    inside = min(_grid_steps(value - limits.lower), _grid_steps(limits.upper - value))
    band = _grid_steps(rule.guard_factor * expanded)
    at_limit = inside == band
    if inside > band or (limits.inclusive and at_limit):
        return Decision.CONFORMS
    if inside < -band or (not limits.inclusive and inside == -band):
        return Decision.DOES_NOT_CONFORM
    return Decision.UNDECIDED


def _grid_steps(distance: float) -> float:
    steps = distance / float(GRID)
    return float(round(steps)) if math.isfinite(steps) else steps


def decision_about(figure: Figure, limits: Limits, rule: Rule = GUARDED) -> Decision:
    """Decide about one figure, without the words and the probability of `verdict`.

    Parameters
    ----------
    figure : Figure
        Figure in the unit of the limits.
    limits : Limits
        What it has to lie in.
    rule : Rule
        Guard band; a figure without an uncertainty stays undecided if one is asked for.

    Returns
    -------
    Decision
        One of `PART_DECISIONS`.

    Raises
    ------
    InputError
        If the units differ.
    """
    _same_unit(figure, limits)
    known = figure.expanded_uncertainty
    if known is None and rule.guard_factor > 0.0:
        return Decision.UNDECIDED
    return decision(figure.value, known or 0.0, limits, rule)


def verdict(figure: Figure, limits: Limits, rule: Rule = GUARDED) -> Verdict:
    """Decide about one figure.

    Parameters
    ----------
    figure : Figure
        Figure in the unit of the limits.
    limits : Limits
        What it has to lie in.
    rule : Rule
        Guard band; a figure without an uncertainty stays undecided if one is asked for.

    Returns
    -------
    Verdict
        With the rule named beside the decision.

    Raises
    ------
    InputError
        If the units differ.

    Notes
    -----
    See `decision`.
    """
    decided = decision_about(figure, limits, rule)
    return Verdict(
        decision=decided,
        rule=rule.name,
        limits=limits,
        figure=figure,
        conformance_probability=conformance_probability(figure, limits),
        sentence=_sentence(figure, limits, decided, rule),
    )


def not_tested(figure: Figure, limits: Limits, why: str) -> Verdict:
    """Show a figure beside limits that are not for it, and decide nothing.

    Parameters
    ----------
    figure : Figure
        Figure in the unit of the limits.
    limits : Limits
        What another test would hold against them.
    why : str
        Why the figure is not what the limits are for.

    Returns
    -------
    Verdict
        Without a decision rule and without a probability.

    Raises
    ------
    InputError
        If the units differ.
    """
    _same_unit(figure, limits)
    words = f"{_shown(figure)} {Decision.NOT_TESTED.value} against {_span(limits)}"
    return Verdict(
        decision=Decision.NOT_TESTED,
        rule="",
        limits=limits,
        figure=figure,
        conformance_probability=None,
        sentence=f"{words} ({limits.source}): {why}",
    )


def _same_unit(figure: Figure, limits: Limits) -> None:
    if figure.unit != limits.unit:
        raise InputError(
            f"the figure is in {figure.unit} and its limits are in {limits.unit}",
            hint="give both in one unit",
        )


def conformance_probability(figure: Figure, limits: Limits) -> float | None:
    """Probability that the true value lies within the limits.

    Parameters
    ----------
    figure : Figure
        Figure with its uncertainty.
    limits : Limits
        Limits in the unit of the figure.

    Returns
    -------
    float or None
        0 to 1; None if the figure has no uncertainty.

    Notes
    -----
    JCGM 106:2012, 7.2, with Student's t for the effective degrees of freedom in place
    of the normal distribution, and nothing known beforehand of the true value.
    """
    from scipy.special import ndtr, stdtr

    if figure.expanded_uncertainty is None or not figure.coverage_factor:
        return None
    u = figure.expanded_uncertainty / figure.coverage_factor
    if u == 0.0:
        inside = decision(figure.value, 0.0, limits, SIMPLE) is Decision.CONFORMS
        return 1.0 if inside else 0.0
    nu = figure.effective_degrees_of_freedom
    ends = [(end - figure.value) / u for end in (limits.lower, limits.upper)]
    if nu is None or math.isinf(nu):
        below, above = (float(ndtr(end)) for end in ends)
    else:
        below, above = (float(stdtr(nu, end)) for end in ends)
    return above - below


def _sentence(figure: Figure, limits: Limits, decided: Decision, rule: Rule) -> str:
    return (
        f"{_shown(figure)} {decided.value} against {_span(limits)}"
        f" ({limits.source}); rule: {rule.name}"
    )


def _shown(figure: Figure) -> str:
    if figure.expanded_uncertainty is None:
        return f"{figure.value:.6g} {figure.unit} (no uncertainty: {figure.why_none})"
    value, size = round_to_uncertainty(figure.value, figure.expanded_uncertainty)
    return f"({value} ± {size}) {figure.unit}"


def _span(limits: Limits) -> str:
    if math.isinf(limits.lower):
        return f"at most {limits.upper:.6g} {limits.unit}"
    if math.isinf(limits.upper):
        return f"at least {limits.lower:.6g} {limits.unit}"
    return f"{limits.lower:.6g} to {limits.upper:.6g} {limits.unit}"
