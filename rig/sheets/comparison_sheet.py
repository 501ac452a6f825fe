"""Two runs of one part beside one another in rows, words and rounded numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.inquiry.recorded_run import RecordedRun
from rig.inquiry.run_comparison import (
    ContributionBeside,
    FigureBeside,
    RunComparison,
)
from rig.model.bench_declaration import BenchKnowledge, ValueSource
from rig.model.figure_kinds import KIND_OF_FIELD
from rig.model.rounding import (
    FigureText,
    format_decimals,
    format_figure,
    format_significant,
)
from rig.sheets.bench_words import (
    backlash_words,
    calibration_words,
    item_number,
    item_words,
    utc,
)
from rig.sheets.figure_rows import not_included_words

HEADS = ("Earlier run", "Later run")
_LEAST_SHARE = 0.1  # of the largest contribution; smaller ones stand in the budgets
_NONE = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedRow:
    """One figure of both runs.

    Attributes:
        name: Name of the figure.
        earlier: Figure of the earlier run.
        later: Figure of the later run.
        ratio: Uncertainty of the later in % of that of the earlier, with the sign %.
        ratio_percent: Number before that sign, for a bar.
        difference: Later less earlier, with its own uncertainty.
        agreement: Whether the difference lies within that, or why it has none.
    """

    name: str
    earlier: FigureText
    later: FigureText
    ratio: str
    ratio_percent: float
    difference: FigureText
    agreement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedContribution:
    """One cause in the budgets of both runs.

    Attributes:
        cause: What it is.
        earlier: Standard uncertainty in the earlier run with its unit, or a dash.
        later: Standard uncertainty in the later run with its unit, or a dash.
        earlier_source: Where the number of the earlier run comes from; empty where it
            is measured.
        later_source: Where the number of the later run comes from; empty as well.
        earlier_percent: Size in % of the largest of the table, for a bar.
        later_percent: Size in % of the largest of the table, for the later run's bar.
        change: What became of it.
    """

    cause: str
    earlier: str
    later: str
    earlier_source: str
    later_source: str
    earlier_percent: float
    later_percent: float
    change: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedBudget:
    """The budgets of one figure beside one another.

    Attributes:
        name: Name of the figure.
        rows: The largest contributions, those of either run.
        earlier: Expanded uncertainty of the earlier run with sign and unit.
        later: Expanded uncertainty of the later run with sign and unit.
    """

    name: str
    rows: tuple[ComparedContribution, ...]
    earlier: str
    later: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonSheet:
    """All that is shown of two runs beside one another.

    Attributes:
        name: Sensor, part and target.
        lead: What it is, in a sentence.
        simulated: How many of the two a simulated rig made.
        heads: Names of the two columns.
        knowledge: What each run rests on: name, then earlier and later.
        figures: Every figure that both give.
        budgets: Budgets of the figures whose uncertainty changed.
        statements: What the differences say, and what changed no uncertainty.
        common: What cancels in the differences, as a sentence.
        left_out: Contributions that the tables do not have, as a sentence.
        not_included: What no budget includes, as a sentence.
    """

    name: str
    lead: str
    simulated: int
    heads: tuple[str, str]
    knowledge: tuple[tuple[str, tuple[str, str]], ...]
    figures: tuple[ComparedRow, ...]
    budgets: tuple[ComparedBudget, ...]
    statements: tuple[str, ...]
    common: str
    left_out: str
    not_included: str


def comparison_sheet(found: RunComparison) -> ComparisonSheet:
    """Put two runs beside one another into words."""
    header = found.later.run.header
    part = f" part {header.part}" if header.part else ""
    both = (found.earlier, found.later)
    return ComparisonSheet(
        name=f"{header.sensor.name}{part} against {header.target.name}, twice",
        lead=(
            "One part on one target, measured under two states of knowledge of its"
            " bench: how far each run knows it, and why."
        ),
        simulated=sum(any(c.simulated for c in one.run.conditions) for one in both),
        heads=HEADS,
        knowledge=_knowledge(both),
        figures=tuple(_row(one) for one in found.figures),
        budgets=tuple(_budget(one) for one in found.figures if one.changed),
        statements=_statements(found.figures),
        common=(
            "Common to both runs, so that only its change is in the difference:"
            f" {'; '.join(found.common)}."
            if found.common
            else "Nothing is known to be common to both runs, so nothing cancels in the"
            " differences."
        ),
        left_out=(
            "Contributions below a tenth of the largest are left out here; the"
            " budgets of the runs have them."
        ),
        not_included=not_included_words(),
    )


def _knowledge(
    both: tuple[RecordedRun, RecordedRun],
) -> tuple[tuple[str, tuple[str, str]], ...]:
    earlier, later = (_pairs(one) for one in both)
    return tuple(
        (name, (before, after))
        for (name, before), (_, after) in zip(earlier, later, strict=True)
    )


def _pairs(one: RecordedRun) -> tuple[tuple[str, str], ...]:
    run = one.run
    conditions = run.header.conditions
    known, bench = conditions.calibration, conditions.bench
    calibration = calibration_words(run)
    if known is not None:
        made = "gauge blocks" if known.by_blocks else "readings of an indicator"
        calibration += f"; by {made}, on record as {known.calibration_id}"
    return (
        ("Run", run.header.run_id),
        ("Begun", utc(run.header.started_at)),
        ("Rig", conditions.rig_id + (", SIMULATED" if conditions.simulated else "")),
        ("Calibration of the axis", calibration),
        ("Declared of the bench", _declared(bench)),
        ("Assumed of the bench", _assumed(bench, calibrated=known is not None)),
        ("Backlash", backlash_words(conditions.backlash)),
    )


def _declared(bench: BenchKnowledge | None) -> str:
    if bench is None:
        return "nothing; touch probe and axis as stated at that time"
    found = [
        f"{item_words(value.key)} {item_number(value)} ({value.source})"
        for value in bench.values
        if value.source is not ValueSource.ASSUMED
    ]
    return "; ".join(found) or "nothing"


def _assumed(bench: BenchKnowledge | None, *, calibrated: bool) -> str:
    values = () if bench is None else bench.values
    assumed = [v.key for v in values if v.source is ValueSource.ASSUMED]
    if not assumed:
        return "nothing"
    groups = dict.fromkeys(key.partition(".")[0] for key in assumed)
    words = [
        "screw (where the calibration says nothing)"
        if calibrated and group == "screw"
        else group
        for group in groups
    ]
    return ", ".join(words)


def _row(one: FigureBeside) -> ComparedRow:
    name = KIND_OF_FIELD[one.field].name
    return ComparedRow(
        name=name[0].upper() + name[1:],
        earlier=format_figure(one.earlier),
        later=format_figure(one.later),
        ratio=(
            _NONE
            if one.uncertainty_ratio is None
            else f"{format_decimals(100.0 * one.uncertainty_ratio, 0)} %"
        ),
        ratio_percent=round(100.0 * (one.uncertainty_ratio or 0.0), 1),
        difference=format_figure(one.difference),
        agreement=_agreement(one),
    )


def _agreement(one: FigureBeside) -> str:
    if one.agrees is None:
        return one.difference.why_none
    return "within its ±" if one.agrees else "BEYOND its ±"


def _budget(one: FigureBeside) -> ComparedBudget:
    unit = format_figure(one.later).unit
    largest = max(
        (max(c.earlier or 0.0, c.later or 0.0) for c in one.contributions), default=0.0
    )
    return ComparedBudget(
        name=KIND_OF_FIELD[one.field].name,
        rows=tuple(
            _contribution(each, unit, largest)
            for each in one.contributions
            if max(each.earlier or 0.0, each.later or 0.0) >= _LEAST_SHARE * largest
        ),
        earlier=_expanded(format_figure(one.earlier)),
        later=_expanded(format_figure(one.later)),
    )


def _expanded(text: FigureText) -> str:
    return f"± {text.expanded_uncertainty} {text.unit}".strip()


def _contribution(
    one: ContributionBeside, unit: str, largest: float
) -> ComparedContribution:
    return ComparedContribution(
        cause=one.cause,
        earlier=_size(one.earlier, unit),
        later=_size(one.later, unit),
        earlier_source=one.earlier_source,
        later_source=one.later_source,
        earlier_percent=round(100.0 * (one.earlier or 0.0) / largest, 1),
        later_percent=round(100.0 * (one.later or 0.0) / largest, 1),
        change=one.change.value,
    )


def _size(size: float | None, unit: str) -> str:
    return _NONE if size is None else f"{format_significant(size)} {unit}"


def _statements(figures: Sequence[FigureBeside]) -> tuple[str, ...]:
    names = {one.field: KIND_OF_FIELD[one.field].name for one in figures}
    beyond = [names[one.field] for one in figures if one.agrees is False]
    same = [
        names[one.field]
        for one in figures
        if one.uncertainty_ratio is not None and not one.changed
    ]
    found = []
    if beyond:
        found.append(
            f"The runs differ by more than the ± of their difference in"
            f" {'; '.join(beyond)}: something changed between them that no budget"
            " includes, or the ± of one of them is too small."
        )
    elif any(one.agrees for one in figures):
        found.append("Every difference that has a ± lies within it.")
    if same:
        found.append(f"Known as well as before, to a tenth: {'; '.join(same)}.")
    return tuple(found)
