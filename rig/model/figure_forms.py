"""Figures of runs taken apart: what their numbers are, and the numbers themselves.

Runs of one kind have the same figures, units, contributions and words; they differ in
their numbers alone. So the form is kept once, and the numbers in a row for each run.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, Final

from rig.model.figures import Contribution, Evaluation, Figure, RunFigures

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

FIGURE_NAMES: Final = tuple(
    field.name
    for field in fields(RunFigures)
    if field.name not in ("warnings", "analysis_version")
)
OPTIONAL_NUMBERS: Final = (
    "expanded_uncertainty",
    "coverage_factor",
    "effective_degrees_of_freedom",
    "standard_deviation",
)
LINE_NUMBERS: Final = ("standard_uncertainty", "sensitivity", "degrees_of_freedom")


@dataclass(frozen=True, slots=True, kw_only=True)
class LineForm:
    """A contribution without its numbers.

    Attributes:
        name: What it is, in words.
        evaluation: Type A or B.
        unit: Unit of the standard uncertainty.
    """

    name: str
    evaluation: Evaluation
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureForm:
    """A figure without its numbers.

    Its numbers are the value, those of `OPTIONAL_NUMBERS` that are given, and for each
    line of the budget those of `LINE_NUMBERS`, in this order.

    Attributes:
        name: Field of `RunFigures`.
        unit: Unit of the figure.
        n: Number of readings behind it.
        why_none: Why it has no uncertainty; empty if it has.
        given: Names of the optional numbers that it has.
        budget: The contributions.
        pooled_runs: Number of runs whose noise is pooled in it; 0 for none.
    """

    name: str
    unit: str
    n: int
    why_none: str
    given: tuple[str, ...]
    budget: tuple[LineForm, ...]
    pooled_runs: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureBlock:
    """Figures of k runs that differ in their numbers alone.

    Attributes:
        run_ids: The runs, k of them.
        forms: The figures that each of them has.
        numbers: Numbers of each run, figure after figure, shape (k, m).
        warnings: Sentences that go with the figures of each run, k tuples.
        analysis_version: Version of the analysis that made them.
    """

    run_ids: tuple[str, ...]
    forms: tuple[FigureForm, ...]
    numbers: npt.NDArray[np.float64]
    warnings: tuple[tuple[str, ...], ...]
    analysis_version: str

    def figures(self) -> Iterator[RunFigures]:
        """Yield the figures of each run."""
        for numbers, warnings in zip(self.numbers.tolist(), self.warnings, strict=True):
            yield figures_from(self.forms, numbers, warnings, self.analysis_version)


def numbers_in(forms: Sequence[FigureForm]) -> int:
    """Return how many numbers figures of these forms have."""
    return sum(
        1 + len(form.given) + len(LINE_NUMBERS) * len(form.budget) for form in forms
    )


def block_of_run(run_id: str, figures: RunFigures) -> FigureBlock:
    """Take the figures of one run apart."""
    # Deferred: importing the model must not load it
    import numpy as np

    forms: list[FigureForm] = []
    numbers: list[float] = []
    for name in FIGURE_NAMES:
        figure: Figure | None = getattr(figures, name)
        if figure is not None:
            form = _form(name, figure)
            forms.append(form)
            numbers.append(figure.value)
            numbers += [getattr(figure, each) for each in form.given]
            numbers += [
                getattr(line, each) for line in figure.budget for each in LINE_NUMBERS
            ]
    return FigureBlock(
        run_ids=(run_id,),
        forms=tuple(forms),
        numbers=np.array([numbers]),
        warnings=(figures.warnings,),
        analysis_version=figures.analysis_version,
    )


def _form(name: str, figure: Figure) -> FigureForm:
    return FigureForm(
        name=name,
        unit=figure.unit,
        n=figure.n,
        why_none=figure.why_none,
        given=tuple(
            each for each in OPTIONAL_NUMBERS if getattr(figure, each) is not None
        ),
        budget=tuple(
            LineForm(name=line.name, evaluation=line.evaluation, unit=line.unit)
            for line in figure.budget
        ),
        pooled_runs=figure.pooled_runs,
    )


def figures_from(
    forms: Sequence[FigureForm],
    numbers: Sequence[float],
    warnings: tuple[str, ...],
    analysis_version: str,
) -> RunFigures:
    """Put the figures of a run together again.

    Raises:
        ValueError: There are more or fewer numbers than the forms have.
    """
    if len(numbers) != numbers_in(forms):
        raise ValueError(f"{len(numbers)} numbers do not fill the forms of the figures")
    row = iter(numbers)
    by_name: dict[str, Any] = dict.fromkeys(FIGURE_NAMES)
    by_name |= {form.name: _figure(form, row) for form in forms}
    return RunFigures(**by_name, warnings=warnings, analysis_version=analysis_version)


def _figure(form: FigureForm, row: Iterator[float]) -> Figure:
    value = next(row)
    optional: dict[str, Any] = dict.fromkeys(OPTIONAL_NUMBERS)
    optional |= {name: next(row) for name in form.given}
    return Figure(
        value=value,
        unit=form.unit,
        n=form.n,
        why_none=form.why_none,
        budget=tuple(_line(line, row) for line in form.budget),
        pooled_runs=form.pooled_runs,
        **optional,
    )


def _line(line: LineForm, row: Iterator[float]) -> Contribution:
    numbers = {name: next(row) for name in LINE_NUMBERS}
    return Contribution(
        name=line.name, evaluation=line.evaluation, unit=line.unit, **numbers
    )
