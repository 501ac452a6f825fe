"""A batch of parts: table, outliers, tolerance interval, capability, verdicts."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rig.analysis.batch.capability import Capability, capability
from rig.analysis.batch.common_errors import CommonError, half_width
from rig.analysis.batch.normal_plot import NormalPlot, normal_plot
from rig.analysis.batch.outliers import OutlierTest, find_outliers
from rig.analysis.batch.tolerance import ToleranceInterval, tolerance_interval
from rig.analysis.limits.many_decisions import decide
from rig.analysis.limits.verdict import GUARDED, Decision, Limits, Rule
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column, same_length
from rig.analysis.numbers.intervals import Interval, sd_interval
from rig.analysis.numbers.readout import assumed_step, spread_in_steps
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.errors import InputError
from rig.model.rounding import format_p, format_significant

SUSPECT_P = 0.05  # below it the batch is said not to look normal


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """One part in the table of one figure.

    Attributes
    ----------
    part : str
        Name.
    value : float
        Value of the part, in the unit of the table.
    expanded_uncertainty : float or None
        None if there is none.
    outlier : bool
        Whether the test flags it; it is counted all the same.
    decision : Decision or None
        Against the limits of this figure alone; None without limits.
    """

    part: str
    value: float
    expanded_uncertainty: float | None
    outlier: bool
    decision: Decision | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchSummary:
    """One figure of all parts.

    Attributes
    ----------
    name : str
        Name of the figure.
    unit : str
        Unit of every value that has one.
    rows : tuple[PartRow, ...]
        Every part, in the order given.
    n : int
        Number of parts.
    mean : float
        Mean of all parts.
    mean_interval : Interval
        Two-sided interval of the mean.
    sd : float
        Standard deviation of all parts, divides by n - 1; measurement scatter is part
        of it.
    sd_interval : Interval
        Two-sided interval of the standard deviation.
    smallest : float
        Smallest value of all parts.
    largest : float
        Largest value of all parts.
    outliers : OutlierTest
        The test, with those flagged.
    normal_plot : NormalPlot or None
        None below 3 parts.
    tolerance : ToleranceInterval
        Tolerance interval for the content and confidence asked for.
    capability : Capability or None
        None without limits, or if all parts read the same.
    decisions : dict[str, int]
        How many parts have each decision by this figure alone; empty without limits.
    rule : str
        Rule of the decisions; empty without limits.
    statements : tuple[str, ...]
        Sentences that go wherever the summary goes.
    """

    name: str
    unit: str
    rows: tuple[PartRow, ...]
    n: int
    mean: float
    mean_interval: Interval
    sd: float
    sd_interval: Interval
    smallest: float
    largest: float
    outliers: OutlierTest
    normal_plot: NormalPlot | None
    tolerance: ToleranceInterval
    capability: Capability | None
    decisions: dict[str, int]
    rule: str
    statements: tuple[str, ...]


def summarise_parts(
    name: str,
    parts: Sequence[str],
    values: Cells,
    expanded: Cells | None = None,
    *,
    unit: str,
    limits: Limits | None = None,
    rule: Rule = GUARDED,
    content: float = 0.95,
    confidence: float = 0.95,
    common: Sequence[CommonError] | None = None,
) -> BatchSummary:
    """Summarise one figure of a batch.

    Parameters
    ----------
    name : str
        Name of the figure, for messages.
    parts : sequence of str, shape (n,)
        Names, all different; at least 2.
    values : array_like, shape (n,)
        The figure of each part, in `unit`.
    expanded : array_like, shape (n,), or None
        Expanded uncertainties (95 %) in `unit`; None if there are none, and then parts
        cannot be decided about.
    unit : str
        Unit of the values, uncertainties and limits.
    limits : Limits or None
        Limits for every part.
    rule : Rule
        Decision rule.
    content : float
        Proportion of parts that the tolerance interval must cover, 0 to 1.
    confidence : float
        Confidence level of every interval and bound, 0 to 1.
    common : sequence of CommonError or None
        What is common to all parts, in their mean; None if nobody knows.

    Returns
    -------
    BatchSummary
        Outliers are flagged and stay in every number.

    Raises
    ------
    InputError
        If there is one part only, a name comes twice, a cell is missing, or units
        differ.

    Notes
    -----
    See the modules of each part.
    """
    x = column(name, values)
    _check_parts(name, parts, x)
    _check_unit(name, unit, limits)
    u = None if expanded is None else column(f"uncertainty of {name}", expanded)
    test = find_outliers(x)
    words = decided_parts(x, u, limits, rule)
    mean, sd = (float(moment) for moment in mean_and_sd(x))
    plot = normal_plot(x) if x.size >= 3 else None
    step = assumed_step(x)
    return BatchSummary(
        name=name,
        unit=unit,
        rows=_rows(parts, x, u, test, words),
        n=x.size,
        mean=mean,
        mean_interval=_mean_interval(
            mean, sd, x.size, step=step, common=common or (), confidence=confidence
        ),
        sd=sd,
        sd_interval=spread_in_steps(sd_interval(sd, x.size - 1, confidence), sd, step),
        smallest=float(x.min()),
        largest=float(x.max()),
        outliers=test,
        normal_plot=plot,
        tolerance=_widened(
            tolerance_interval(x, content=content, confidence=confidence), common or ()
        ),
        capability=None
        if limits is None or sd == 0.0
        else capability(x, limits, confidence=confidence),
        decisions=dict(Counter(words or [])),
        rule="" if limits is None else rule.name,
        statements=(
            *_statements(x.size, test, plot, u is None and limits is not None),
            *_about_the_step(sd, step, unit),
            *_about_what_is_common(unit, common),
        ),
    )


def _mean_interval(
    mean: float,
    sd: float,
    n: int,
    *,
    step: float,
    common: Sequence[CommonError],
    confidence: float,
) -> Interval:
    """Interval of the mean, with the step where it is wider than the scatter."""
    half = half_width(sd / math.sqrt(n), float(n - 1), common, confidence)
    if sd < step:
        from scipy.special import ndtri

        normal = float(ndtri(0.5 * (1.0 + confidence)))
        half = math.hypot(half, normal * step / math.sqrt(12.0))
    return Interval(lower=mean - half, upper=mean + half, confidence=confidence)


def _common(common: Sequence[CommonError], confidence: float) -> float:
    """Half-width of the interval of what is common alone."""
    return half_width(0.0, 1.0, common, confidence)


def _widened(
    found: ToleranceInterval, common: Sequence[CommonError]
) -> ToleranceInterval:
    """Move both limits out by what all parts may be off by together."""
    out = _common(common, found.confidence)
    return replace(found, lower=found.lower - out, upper=found.upper + out)


def _about_what_is_common(
    unit: str, common: Sequence[CommonError] | None
) -> tuple[str, ...]:
    if common is None:
        return (
            "what all parts have in common (touch probe, axis) is not known here, and"
            " the intervals of mean and tolerance leave it out",
        )
    if not common:
        return ()
    out = format_significant(_common(common, 0.95))
    return (
        f"what all parts have in common (touch probe, axis) is up to {out} {unit}"
        " (95 %); more parts do not lower it, and it is in the intervals of mean and"
        " tolerance",
    )


def _about_the_step(sd: float, step: float, unit: str) -> list[str]:
    if sd >= step:
        return []
    return [
        f"the values lie on steps of {step:g} {unit}, wider than their scatter: what"
        " the step hides is part of every interval"
    ]


def _rows(
    parts: Sequence[str],
    x: FloatArray,
    u: FloatArray | None,
    test: OutlierTest,
    words: list[str] | None,
) -> tuple[PartRow, ...]:
    flagged = {outlier.index for outlier in test.outliers}
    return tuple(
        PartRow(
            part=part,
            value=float(x[i]),
            expanded_uncertainty=None if u is None else float(u[i]),
            outlier=i in flagged,
            decision=None if words is None else Decision(words[i]),
        )
        for i, part in enumerate(parts)
    )


def _check_unit(name: str, unit: str, limits: Limits | None) -> None:
    if limits is not None and limits.unit != unit:
        raise InputError(
            f"{name} is in {unit} and its limits are in {limits.unit}",
            hint="give both in one unit",
        )


def _check_parts(name: str, parts: Sequence[str], x: FloatArray) -> None:
    same_length(name, x.size, "parts", len(parts))
    if len(parts) < 2:
        raise InputError(
            f"{name}: {len(parts)} part makes no batch", hint="measure at least 2 parts"
        )
    twice = [part for part, count in Counter(parts).items() if count > 1]
    if twice:
        raise InputError(
            f"{name}: part {twice[0]!r} stands in the table twice",
            hint="one row a part, or different names",
        )


def decided_parts(
    x: FloatArray, u: FloatArray | None, limits: Limits | None, rule: Rule
) -> list[str] | None:
    """Decide about each part by one figure alone.

    Parameters
    ----------
    x : ndarray, shape (n,)
        The figure of each part, in the unit of the limits.
    u : ndarray, shape (n,), or None
        Expanded uncertainty (95 %) of each, in the same unit; None if there are none.
    limits : Limits or None
        Limits for every part.
    rule : Rule
        Decision rule.

    Returns
    -------
    list of str or None
        Word of each decision; None without limits.
    """
    if limits is None:
        return None
    if u is None and rule.guard_factor > 0.0:
        return [Decision.UNDECIDED.value] * x.size
    known = np.zeros_like(x) if u is None else u
    return [str(word) for word in decide(x, known, limits, rule).tolist()]


def _statements(
    n: int, test: OutlierTest, plot: NormalPlot | None, unknown: bool
) -> tuple[str, ...]:
    said = []
    if test.outliers:
        said.append(
            f"{len(test.outliers)} of {n} parts flagged as outliers ({test.test} test,"
            f" {test.significance:g}); they are counted in every figure"
        )
    if plot is None or plot.p is None:
        said.append(f"{n} parts are too few to tell whether the batch is normal")
    elif plot.p < SUSPECT_P:
        said.append(
            f"the batch does not look normal (Anderson-Darling, {format_p(plot.p)}),"
            " so tolerance interval and capability mislead"
        )
    if unknown:
        said.append("no uncertainty is known, so no part is decided about")
    return tuple(said)
