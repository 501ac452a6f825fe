"""A verdict before all sweeps are taken: only where it is clear far beyond the rule."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any, Final

from rig.analysis.limits.verdict import Decision, gravest
from rig.analysis.numbers.uncertainty import coverage_factor
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run

# Coverage of the interval that has to be clear of a limit before the last sweep
EARLY_COVERAGE: Final = 0.9999
_CLEAR = (Decision.CONFORMS, Decision.DOES_NOT_CONFORM)


def widened(figures: RunFigures) -> RunFigures:
    """Give every figure the interval that an early verdict has to rest on.

    Parameters
    ----------
    figures : RunFigures
        Figures of the sweeps so far.

    Returns
    -------
    RunFigures
        The same, expanded uncertainties with the coverage `EARLY_COVERAGE`; a figure
        without one stays without.

    Notes
    -----
    The figures of a run are looked at after every sweep, and each look is another
    chance to be wrong. By Haybittle (1971) and Peto (1976), both from memory, looks
    before the last are held to a level so strict that the last keeps its own: with one
    chance in 20 000 a look on either side of a limit, all looks but the last of a run
    of ten sweeps spend at most 0.05 of the 2.5 points in a hundred that guarded
    acceptance leaves at the limit, however the looks depend on each other (Bonferroni).
    What is wrong in all looks alike, the bench, is in the interval as in the last one,
    and so are the degrees of freedom, which at few sweeps widen it most.
    """
    changed: dict[str, Any] = {
        field.name: _widened(figure)
        for field in fields(figures)
        if isinstance(figure := getattr(figures, field.name), Figure)
    }
    return replace(figures, **changed)


def _widened(figure: Figure) -> Figure:
    if figure.expanded_uncertainty is None or not figure.coverage_factor:
        return figure
    factor = float(
        coverage_factor(figure.effective_degrees_of_freedom or 0.0, EARLY_COVERAGE)
    )
    standard = figure.expanded_uncertainty / figure.coverage_factor
    return replace(
        figure, expanded_uncertainty=factor * standard, coverage_factor=factor
    )


def clear_of_limits(decision: Decision | None) -> Decision | None:
    """Return a decision that ends the sweeps; None for one that leaves more to learn.

    Parameters
    ----------
    decision : Decision or None
        Decision of the widened figures; None where nothing decides.

    Returns
    -------
    Decision or None
        That the part conforms, or does not.
    """
    return decision if decision in _CLEAR else None


def decision_of_run(run: Run, figures: RunFigures) -> Decision | None:
    """Decide about a run by the limits of its product, or of its sensor without one.

    Operate point and differential travel decide, as in an inspection; the switching
    delays take every sweep that they can get.

    Parameters
    ----------
    run : Run
        The sweeps so far.
    figures : RunFigures
        Figures of these sweeps, widened for a decision before the last one.

    Returns
    -------
    Decision or None
        The gravest; None where no limit is for what was measured.

    Raises
    ------
    InputError
        If a limit of the data sheet is invalid.
    """
    verdicts = standard_of_run(run, figures).verdicts
    return gravest(one.decision for one in verdicts.values())
