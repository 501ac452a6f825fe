"""Figures with their budgets out of the quantities of runs, one run or thousands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.budget import Term
from rig.analysis.numbers.equal_rows import equal_rows
from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.numbers.uncertainty import expand
from rig.analysis.run.quantities import Quantity, RunQuantities
from rig.model.figure_forms import (
    OPTIONAL_NUMBERS,
    FigureBlock,
    FigureForm,
    LineForm,
)
from rig.version import ANALYSIS_VERSION

_NOTHING = 1e-12  # mm, % or ms: what rounding leaves of sensitivities that cancel
BoolArray = npt.NDArray[np.bool_]

_LEAST_DOF = 3  # of the scatter; see `_why_no_scatter`
_NO_PERCENT = (
    "the operate point does not stand out from 0, so a share of it means nothing"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draft:
    """A figure of k runs before it is known which of them have the same form.

    Attributes
    ----------
    name : str
        Field of `RunFigures`.
    unit : str
        Unit of the figure.
    n : int
        Number of readings behind it.
    quantity : Quantity
        Arrays of shape (k,), or numbers that all runs share.
    why_none : str
        Why none of the runs has an uncertainty; empty if they may have one.
    without : ndarray of bool
        Runs that have none for another reason, shape (k,).
    why_without : str
        Reason why those runs have none.
    """

    name: str
    unit: str
    n: int
    quantity: Quantity
    why_none: str
    without: BoolArray
    why_without: str = ""


def figure_blocks(
    run_ids: Sequence[str],
    quantities: RunQuantities,
    n: int,
    warnings: Sequence[tuple[str, ...]],
) -> Iterator[FigureBlock]:
    """Put the figures of runs together that were worked out together.

    Parameters
    ----------
    run_ids : sequence of str
        The runs, k of them.
    quantities : RunQuantities
        Arrays of shape (k,), or numbers that all of them share.
    n : int
        Number of sweeps of each.
    warnings : sequence of tuple of str
        Sentences that go with the figures of each.

    Yields
    ------
    FigureBlock
        One for each form that the figures of these runs take.

    Raises
    ------
    ValueError
        If a figure is not finite.
    """
    k = len(run_ids)
    drafts = _drafts(quantities, n, k)
    differences = np.column_stack([_differences(draft, k) for draft in drafts])
    for runs in equal_rows(differences):
        forms, columns = [], []
        for draft in drafts:
            form, numbers = _figure(draft, runs, k)
            forms.append(form)
            columns += numbers
        yield FigureBlock(
            run_ids=tuple(run_ids[run] for run in runs),
            forms=tuple(forms),
            numbers=np.column_stack(columns),
            warnings=tuple(warnings[run] for run in runs),
            analysis_version=ANALYSIS_VERSION,
        )


def _drafts(q: RunQuantities, n: int, k: int) -> list[_Draft]:
    why = _why_no_scatter(n, q)
    why_bias = f"{why}; the noise bias is taken as 0" if _hides_scatter(q) else why
    beside = np.zeros(k, dtype=np.bool_)
    named: list[tuple[str, str, Quantity | None, str, int]] = [
        ("operate", "mm", q.operate, why, n),
        ("release", "mm", q.release, why, n),
        ("differential_travel", "mm", q.differential_travel, why, n),
        ("differential_travel_percent", "%", q.differential_travel_percent, why, n),
        ("first_passage_bias_operate", "mm", q.bias_operate, why_bias, n),
        ("first_passage_bias_release", "mm", q.bias_release, why_bias, n),
        ("threshold_operate", "mm", q.threshold_operate, why_bias, n),
        ("threshold_release", "mm", q.threshold_release, why_bias, n),
        ("response_time_operate", "ms", q.response_time_operate, why, n),
        ("response_time_release", "ms", q.response_time_release, why, n),
        ("response_time_both", "ms", q.response_time_both, why, n),
        ("repeat_accuracy_short_term", "mm", q.repeat_accuracy, "", q.repeat_n),
    ]
    return [
        _Draft(
            name=name,
            unit=unit,
            n=count,
            quantity=quantity,
            why_none=words,
            without=_beside_zero(q, k) if unit == "%" and not words else beside,
            why_without=_NO_PERCENT,
        )
        for name, unit, quantity, words, count in named
        if quantity is not None
    ]


def _hides_scatter(q: RunQuantities) -> bool:
    return q.degrees_of_freedom < 1


def _why_no_scatter(n: int, q: RunQuantities) -> str:
    """Say why the scatter of the sweeps carries no uncertainty; empty if it does.

    Below 3 degrees of freedom a scatter that comes out small by chance makes the
    effective degrees of freedom look many, and what is stated holds too rarely.
    """
    dof = q.degrees_of_freedom
    if dof >= _LEAST_DOF:
        return ""
    if n == 1:
        return "one sweep shows no scatter, so no uncertainty can be stated"
    fitted = n - dof
    if _hides_scatter(q):
        return (
            f"{n} sweeps at {n} speeds leave no degrees of freedom: the line over speed"
            " goes through every point, so no scatter shows"
        )
    degrees = "degree" if dof == 1 else "degrees"
    return (
        f"{dof} {degrees} of freedom of the scatter of {n} sweeps cannot carry one:"
        f" sweep {fitted + _LEAST_DOF} times or more"
    )


def _beside_zero(q: RunQuantities, k: int) -> BoolArray:
    """Runs whose operate point does not stand out from 0."""
    clear = q.operate.value > q.operate.expanded().expanded_uncertainty
    return np.broadcast_to(~clear, (k,))


def _differences(draft: _Draft, k: int) -> BoolArray:
    """What makes forms of this figure differ from run to run, shape (k, m)."""
    quantity = draft.quantity
    return np.column_stack(
        [
            draft.without,
            *(_all(np.isfinite(each), k) for each in (quantity.value, quantity.sd)),
            *(_all(_stands(term), k) for term in quantity.terms),
        ]
    )


def _stands(term: Term) -> BoolArray:
    """Whether the term is a line of the budget."""
    known = np.isfinite(term.standard_uncertainty) & np.isfinite(term.sensitivity)
    return np.asarray(known & (term.effect > _NOTHING) if term.optional else known)


def _all(values: npt.ArrayLike, k: int) -> npt.NDArray[np.bool_]:
    return np.broadcast_to(np.asarray(values), (k,))


def _figure(
    draft: _Draft, runs: npt.NDArray[np.intp], k: int
) -> tuple[FigureForm, list[FloatArray]]:
    """Form and columns of a figure for runs that take the same form."""

    def of_runs(values: npt.ArrayLike) -> FloatArray:
        return np.broadcast_to(np.asarray(values, dtype=np.float64), (k,))[runs]

    first = runs[0]
    why = draft.why_none or (draft.why_without if draft.without[first] else "")
    value, sd = of_runs(draft.quantity.value), of_runs(draft.quantity.sd)
    if why and not np.isfinite(value[0]):
        value, why = np.zeros_like(value), f"{why}; written as 0"
    terms = [t for t in draft.quantity.terms if _all(_stands(t), k)[first]]
    lines = [
        (
            of_runs(t.standard_uncertainty),
            of_runs(t.sensitivity),
            of_runs(t.degrees_of_freedom),
        )
        for t in terms
    ]
    given = {} if why else _expanded(lines)
    if np.isfinite(sd[0]):
        given["standard_deviation"] = sd
    form = FigureForm(
        name=draft.name,
        unit=draft.unit,
        n=draft.n,
        why_none=why,
        given=tuple(name for name in OPTIONAL_NUMBERS if name in given),
        budget=tuple(
            LineForm(name=t.name, evaluation=t.evaluation, unit=t.unit) for t in terms
        ),
        pooled_runs=draft.quantity.pooled_runs,
    )
    columns = [require_finite("value", value), *(given[name] for name in form.given)]
    return form, [*columns, *(number for line in lines for number in line)]


def _expanded(
    lines: Sequence[tuple[FloatArray, FloatArray, FloatArray]],
) -> dict[str, FloatArray]:
    """Combine and expand the lines of a budget."""
    if not lines:
        raise ValueError("a budget needs at least one contribution")
    effects = require_finite("budget", [sens * u for u, sens, _ in lines])
    whole = expand([abs(effect) for effect in effects], [dof for *_, dof in lines])
    return {
        "expanded_uncertainty": whole.expanded_uncertainty,
        "coverage_factor": whole.coverage_factor,
        "effective_degrees_of_freedom": whole.degrees_of_freedom,
    }
