"""The kinds of figures that a run can give: names, symbols, units, meanings.

The one table behind every list of figures: command line, screens, reports, exported
columns, help and README take their words from here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

from rig.errors import InputError

if TYPE_CHECKING:
    from rig.model.figures import Figure, RunFigures
    from rig.model.sweeps import Timetable


class FigureGroup(StrEnum):
    """Figures that are read together; the value is their heading."""

    OBSERVED = "Observed points"
    REPEATABILITY = "Repeat accuracy"
    THRESHOLDS = "Noise-free thresholds"
    TIMING = "Timing"


class Applies(StrEnum):
    """Which runs a kind of figure applies to."""

    EVERY_RUN = "every run"
    WITHOUT_TIMETABLE = "runs without a timetable"
    WITH_TIMETABLE = "runs with a timetable"


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
        applies: Runs that the figure applies to.
        why_missing: Why a run that it applies to may not have it; empty if it then
            stands nowhere.
        since: Version of the analysis that gave it first.
    """

    field: str
    name: str
    short: str
    symbol: str = ""
    option: str = ""
    unit: str = "mm"
    meaning: str
    group: FigureGroup
    applies: Applies = Applies.EVERY_RUN
    why_missing: str = ""
    since: int = 1

    @property
    def key(self) -> str:
        """Name in a JSON document, with its unit."""
        return f"{self.field}{_KEY_ENDINGS[self.unit]}"

    @property
    def uncertainty_key(self) -> str:
        """Name of a column with its expanded uncertainty, with the unit."""
        if self.unit == "%":
            field = self.field.removesuffix("_percent")
            return f"{field}_expanded_uncertainty_percent"
        return f"{self.field}_expanded_uncertainty{_KEY_ENDINGS[self.unit]}"


_KEY_ENDINGS: Final = {"mm": "_mm", "%": "", "ms": "_ms", "mm/h": "_mm_per_h"}
NO_TIME: Final = "all sweeps ran at one speed, and a response time needs two"
NO_TEST: Final = "the run is not a complete 8 h test of the standard"
TOO_FEW: Final = "fewer than three sweeps at one speed show no range"
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
        applies=Applies.WITHOUT_TIMETABLE,
        why_missing=TOO_FEW,
    ),
    FigureKind(
        field="repeat_accuracy_8_h",
        name="repeat accuracy, 8 h test",
        short="R 8 h",
        meaning="largest minus smallest operate point over the standard's 8 h test",
        group=FigureGroup.REPEATABILITY,
        applies=Applies.WITH_TIMETABLE,
        why_missing=NO_TEST,
        since=3,
    ),
    FigureKind(
        field="repeat_accuracy_8_h_percent",
        name="repeat accuracy, 8 h test, share",
        short="R 8 h %",
        symbol="R",
        unit="%",
        meaning="the same as a share of the operate point",
        group=FigureGroup.REPEATABILITY,
        applies=Applies.WITH_TIMETABLE,
        why_missing=NO_TEST,
        since=3,
    ),
    FigureKind(
        field="repeat_accuracy_timetable",
        name="repeat accuracy, timetable",
        short="R timetable",
        meaning="largest minus smallest operate point; not the standard's 8 h test",
        group=FigureGroup.REPEATABILITY,
        applies=Applies.WITH_TIMETABLE,
        since=3,
    ),
    FigureKind(
        field="repeat_accuracy_timetable_percent",
        name="repeat accuracy, timetable, share",
        short="R timetable %",
        unit="%",
        meaning="the same as a share of the operate point; not the 8 h test",
        group=FigureGroup.REPEATABILITY,
        applies=Applies.WITH_TIMETABLE,
        since=3,
    ),
    FigureKind(
        field="operate_drift",
        name="drift of the operate point",
        short="drift",
        unit="mm/h",
        meaning="slope of the operate point over the hours of the timetable",
        group=FigureGroup.REPEATABILITY,
        applies=Applies.WITH_TIMETABLE,
        why_missing="fewer than two readings of the timetable are complete",
        since=3,
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
    FigureKind(
        field="response_time_both",
        name="response time, both together",
        short="resp. both",
        unit="ms",
        meaning="both switching delays together, by the differential travel over speed",
        group=FigureGroup.TIMING,
        why_missing=NO_TIME,
        since=3,
    ),
)
KIND_OF_FIELD: Final = {kind.field: kind for kind in FIGURE_KINDS}
KIND_OF_OPTION: Final = {kind.option: kind for kind in FIGURE_KINDS if kind.option}


def figure_name(option: str) -> str:
    """Return the trade name of a figure that was chosen by its option name.

    A name that is no option's, such as that of a ratio of figures, stays as it is.
    """
    kind = KIND_OF_OPTION.get(option)
    return option if kind is None else kind.name


def applies(kind: FigureKind, timetable: Timetable | None) -> bool:
    """Whether a kind of figure applies to a run with this timetable, or without."""
    if kind.applies is Applies.EVERY_RUN:
        return True
    return (kind.applies is Applies.WITH_TIMETABLE) == (timetable is not None)


def applicable(figures: RunFigures, timetable: Timetable | None) -> RunFigures:
    """Return figures without those that do not apply to the run.

    An earlier analysis worked out the short-term figure for every run.
    """
    others: dict[str, Any] = {
        kind.field: None for kind in FIGURE_KINDS if not applies(kind, timetable)
    }
    return replace(figures, **others)


def figures_by_kind(
    figures: RunFigures, timetable: Timetable | None
) -> Iterator[tuple[FigureKind, Figure | None]]:
    """Give every kind that is to be shown, with the figure; None if it is missing.

    A kind is passed over if it does not apply to the run, or if it is missing and
    nothing is to be said of that.
    """
    for kind in FIGURE_KINDS:
        if not applies(kind, timetable):
            continue
        figure: Figure | None = getattr(figures, kind.field)
        if figure is not None or why_missing(kind.field, figures):
            yield kind, figure


def figures_with_budget(figures: RunFigures) -> Iterator[tuple[FigureKind, Figure]]:
    """Give every figure that has a budget, with its kind."""
    for kind in FIGURE_KINDS:
        figure: Figure | None = getattr(figures, kind.field)
        if figure is not None and figure.budget:
            yield kind, figure


def why_missing(field: str, figures: RunFigures) -> str:
    """Say why a figure is missing from figures; empty if nothing is to be said."""
    kind = KIND_OF_FIELD[field]
    version = figures.analysis_version
    if kind.why_missing and version.isdecimal() and int(version) < kind.since:
        return f"analysis {version} did not give it; `gapsweep recompute` does"
    return kind.why_missing


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
