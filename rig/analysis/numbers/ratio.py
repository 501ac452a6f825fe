"""Ratios and differences of two figures that may share contributions."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace

from rig.analysis.numbers.uncertainty import figure
from rig.errors import InputError
from rig.model.figures import Contribution, Figure


def ratio(
    numerator: Figure,
    denominator: Figure,
    *,
    shared: Collection[str] = (),
    labels: tuple[str, str] = ("numerator", "denominator"),
    percent: bool = False,
) -> Figure:
    """Divide one figure by another, using what they share once.

    Parameters
    ----------
    numerator, denominator : Figure
        Figures in one unit; the denominator stands out from 0.
    shared : collection of str
        Names of contributions that are one and the same quantity in both budgets. A
        name that stands in neither budget is passed over.
    labels : tuple of str
        What the two are, for the names in the budget.
    percent : bool
        Whether to give the ratio in % instead of as a number.

    Returns
    -------
    Figure
        Unit "1" or "%". A contribution that both share enters with the difference of
        its two sensitivities.

    Raises
    ------
    InputError
        If the units differ, the denominator is 0, or a shared contribution is not the
        same in both budgets.

    Notes
    -----
    JCGM 100:2008 (GUM), 5.2.2 with correlation coefficient 1 for what is shared
    (F.1.2.3), and G.4 for the degrees of freedom.
    """
    _one_unit(numerator, denominator)
    if denominator.value == 0.0:
        raise InputError(
            f"a share of 0 {denominator.unit} means nothing",
            hint=f"measure the {labels[1]} again",
        )
    scale = 100.0 if percent else 1.0
    value = numerator.value / denominator.value
    slopes = (scale / denominator.value, -scale * value / denominator.value)
    return _combined(
        (numerator, denominator),
        slopes,
        value=scale * value,
        unit="%" if percent else "1",
        shared=shared,
        labels=labels,
    )


def _one_unit(first: Figure, second: Figure) -> None:
    if first.unit != second.unit:
        raise InputError(
            f"one figure is in {first.unit}, the other in {second.unit}",
            hint="convert both to one unit",
        )


def _combined(
    figures: tuple[Figure, Figure],
    slopes: tuple[float, float],
    *,
    value: float,
    unit: str,
    shared: Collection[str],
    labels: tuple[str, str],
) -> Figure:
    first, second = figures
    common = _common_lines(first, second, shared)
    budget = [
        replace(
            mine,
            sensitivity=slopes[0] * mine.sensitivity + slopes[1] * other.sensitivity,
        )
        for mine, other in common
    ]
    names = {mine.name for mine, _ in common}
    budget += [
        replace(
            line, name=f"{line.name}, {label}", sensitivity=slope * line.sensitivity
        )
        for one, slope, label in zip(figures, slopes, labels, strict=True)
        for line in one.budget
        if line.name not in names
    ]
    return figure(
        value,
        unit,
        budget,
        n=first.n + second.n,
        why_none="; ".join(
            f"the {label} has none: {one.why_none}"
            for one, label in zip(figures, labels, strict=True)
            if one.expanded_uncertainty is None
        ),
    )


def _common_lines(
    first: Figure, second: Figure, shared: Collection[str]
) -> list[tuple[Contribution, Contribution]]:
    others = {line.name: line for line in second.budget}
    pairs = []
    for line in first.budget:
        other = others.get(line.name)
        if line.name not in shared or other is None:
            continue
        same = line.unit == other.unit and math.isclose(
            line.standard_uncertainty, other.standard_uncertainty, rel_tol=1e-9
        )
        if not same:
            raise InputError(
                f"{line.name!r} is said to be shared, but is"
                f" {line.standard_uncertainty:g} {line.unit} in one budget and"
                f" {other.standard_uncertainty:g} {other.unit} in the other",
                hint="share only what is one and the same quantity",
            )
        pairs.append((line, other))
    return pairs
