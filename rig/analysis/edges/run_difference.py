"""The difference of one figure of one part between two runs."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from rig.analysis.edges.bench_terms import parted_name
from rig.analysis.edges.shared_causes import TWICE
from rig.analysis.numbers.uncertainty import figure
from rig.errors import InputError
from rig.model.figures import Contribution, Figure

_EARLIER, _LATER = "earlier run", "later run"


def difference_of_runs(
    earlier: Figure, later: Figure, common: Collection[str]
) -> Figure:
    """Subtract a figure of the earlier run from that of the later one.

    Parameters
    ----------
    earlier, later : Figure
        One kind of figure, in one unit.
    common : collection of str
        Causes that are one and the same quantity in both runs, without their source.

    Returns
    -------
    Figure
        In the same unit. A common cause enters with the difference of its two
        sensitivities, and with the smaller of its two uncertainties: it is one
        quantity, and the better knowledge of it holds for both runs.

    Raises
    ------
    InputError
        If the units differ.

    Notes
    -----
    JCGM 100:2008 (GUM), 5.2.2 with correlation coefficient 1 for what is common
    (F.1.2.3), 0 for the rest, and G.4 for the degrees of freedom.
    """
    if earlier.unit != later.unit:
        raise InputError(
            f"one figure is in {earlier.unit}, the other in {later.unit}",
            hint="recompute both runs with one version of the analysis",
        )
    before = {_cause(line): line for line in earlier.budget}
    budget: list[Contribution] = []
    cancelled: set[str] = set()
    for line in later.budget:
        cause = _cause(line)
        other = before.get(cause)
        if (
            other is not None
            and cause.removesuffix(TWICE) in common
            and line.unit == other.unit
        ):
            cancelled.add(cause)
            known = min(line, other, key=lambda one: one.standard_uncertainty)
            left = line.sensitivity - other.sensitivity
            budget.append(replace(known, sensitivity=left))
        else:
            budget.append(replace(line, name=f"{line.name}, {_LATER}"))
    budget += [
        replace(line, name=f"{line.name}, {_EARLIER}", sensitivity=-line.sensitivity)
        for cause, line in before.items()
        if cause not in cancelled
    ]
    return figure(
        later.value - earlier.value,
        later.unit,
        budget,
        n=earlier.n + later.n,
        why_none="; ".join(
            f"the {name} has none: {one.why_none}"
            for name, one in ((_EARLIER, earlier), (_LATER, later))
            if one.expanded_uncertainty is None
        ),
    )


def _cause(line: Contribution) -> str:
    return parted_name(line.name)[0]
