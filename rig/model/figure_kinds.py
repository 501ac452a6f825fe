"""The kinds of figures that a run can give: names, symbols, units, meanings.

The one table behind every list of figures: command line, screens, reports, exported
columns, help and README take their words from here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from rig.errors import InputError
from rig.model.figures import Figure, RunFigures


class FigureGroup(StrEnum):
    """Figures that are read together; the value is their heading."""

    OBSERVED = "Observed points"
    REPEATABILITY = "Repeat accuracy"
    THRESHOLDS = "Noise-free thresholds"
    TIMING = "Timing"


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureKind:
    """One kind of figure.

    Attributes:
        field: Field of `RunFigures` that holds it.
        name: Name as the trade says it.
        short: Name for narrow columns.
        symbol: Symbol in IEC 60947-5-2; empty if it has none there.
        option: Name as typed after `--figure`; empty if it cannot be chosen there.
        unit: Unit of value and uncertainty.
        meaning: What it is, in a few words.
        group: Heading under which it stands.
        why_missing: Why a run may not have it; empty if every run has it.
    """

    field: str
    name: str
    short: str
    symbol: str = ""
    option: str = ""
    unit: str = "mm"
    meaning: str
    group: FigureGroup
    why_missing: str = ""


NO_TIME: Final = "all sweeps ran at one speed, and a response time needs two"
_LATCH = "time from switching to the latch, by the slope over speed"

FIGURE_KINDS: Final = (
    FigureKind(
        field="operate",
        name="operate point",
        short="operate",
        symbol="s_r",
        option="operate",
        meaning="gap at which the output operates on approach",
        group=FigureGroup.OBSERVED,
    ),
    FigureKind(
        field="release",
        name="release point",
        short="release",
        option="release",
        meaning="gap at which the output releases on retreat",
        group=FigureGroup.OBSERVED,
    ),
    FigureKind(
        field="differential_travel",
        name="differential travel",
        short="diff. travel",
        option="differential-travel",
        meaning="release point minus operate point",
        group=FigureGroup.OBSERVED,
    ),
    FigureKind(
        field="differential_travel_percent",
        name="differential travel, share",
        short="H",
        symbol="H",
        option="differential-travel-percent",
        unit="%",
        meaning="differential travel as a share of the operate point",
        group=FigureGroup.OBSERVED,
    ),
    FigureKind(
        field="repeat_accuracy_short_term",
        name="repeat accuracy, short term",
        short="R short term",
        meaning="largest minus smallest operate point; not the standard's 8 h test",
        group=FigureGroup.REPEATABILITY,
    ),
    FigureKind(
        field="first_passage_bias_operate",
        name="noise bias, operate",
        short="bias operate",
        meaning="how much earlier noise makes the output operate",
        group=FigureGroup.THRESHOLDS,
    ),
    FigureKind(
        field="first_passage_bias_release",
        name="noise bias, release",
        short="bias release",
        meaning="how much earlier noise makes the output release",
        group=FigureGroup.THRESHOLDS,
    ),
    FigureKind(
        field="threshold_operate",
        name="noise-free threshold, operate",
        short="thr. operate",
        meaning="operate point minus its noise bias",
        group=FigureGroup.THRESHOLDS,
    ),
    FigureKind(
        field="threshold_release",
        name="noise-free threshold, release",
        short="thr. release",
        meaning="release point plus its noise bias",
        group=FigureGroup.THRESHOLDS,
    ),
    FigureKind(
        field="response_time_operate",
        name="response time, operate",
        short="resp. operate",
        option="response-time",
        unit="ms",
        meaning=_LATCH,
        group=FigureGroup.TIMING,
        why_missing=NO_TIME,
    ),
    FigureKind(
        field="response_time_release",
        name="response time, release",
        short="resp. release",
        unit="ms",
        meaning=_LATCH,
        group=FigureGroup.TIMING,
        why_missing=NO_TIME,
    ),
)
KIND_OF_FIELD: Final = {kind.field: kind for kind in FIGURE_KINDS}
KIND_OF_OPTION: Final = {kind.option: kind for kind in FIGURE_KINDS if kind.option}
BUDGET_FIELDS: Final = ("operate", "release", "differential_travel")


def figure_name(option: str) -> str:
    """Return the trade name of a figure that was chosen by its option name.

    A name that is no option's, such as that of a ratio of figures, stays as it is.
    """
    kind = KIND_OF_OPTION.get(option)
    return option if kind is None else kind.name


def figures_by_kind(
    figures: RunFigures,
) -> Iterator[tuple[FigureKind, Figure | None]]:
    """Give every kind with the run's figure of it; None if the run has none."""
    for kind in FIGURE_KINDS:
        yield kind, getattr(figures, kind.field)


def figure_of(figures: RunFigures, option: str) -> Figure:
    """Return the figure that was chosen by its option name.

    Raises:
        InputError: The run does not give it.
    """
    kind = KIND_OF_OPTION[option]
    found: Figure | None = getattr(figures, kind.field)
    if found is None:
        raise InputError(
            f"the run gives no {kind.name}: {kind.why_missing}",
            hint="sweep at two speeds or more",
        )
    return found
