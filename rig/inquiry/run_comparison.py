"""One part measured twice, under two states of knowledge of its bench."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from rig.analysis.edges.bench_terms import parted_name
from rig.analysis.edges.run_difference import difference_of_runs
from rig.analysis.edges.shared_causes import causes_in_common
from rig.analysis.limits.verdict import GUARDED, Rule
from rig.errors import InputError
from rig.inquiry.recorded_run import RecordedRun, runs_with_figures
from rig.model.figure_kinds import FIGURE_KINDS, FigureKind
from rig.model.figures import Figure
from rig.records import Store

_ALIKE = 0.1  # what changed by no more than this share of itself counts as before
_RANGES = tuple(
    kind.field for kind in FIGURE_KINDS if kind.field.startswith("repeat_accuracy")
)
_RANGE_SCATTERS = (
    "each ± is that of the range of those readings; the range of others differs by more"
)


class ContributionChange(StrEnum):
    """What became of a contribution from the earlier run to the later one."""

    GONE = "gone"
    SMALLER = "smaller"
    SAME = "as before"
    LARGER = "larger"
    NEW = "new"


@dataclass(frozen=True, slots=True, kw_only=True)
class ContributionBeside:
    """One cause in the budgets of both runs.

    Attributes:
        cause: What it is, without where the number behind it comes from.
        earlier: Size in the earlier run, a standard uncertainty in the unit of the
            figure; None where the cause does not stand in that budget.
        later: Size in the later run, in the same unit; None as well.
        earlier_source: Source of the number behind it in the earlier run; empty where
            it is measured, or does not stand there.
        later_source: Source of the number behind it in the later run; empty as well.
        change: What became of it.
    """

    cause: str
    earlier: float | None
    later: float | None
    earlier_source: str
    later_source: str
    change: ContributionChange


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureBeside:
    """One figure of both runs.

    Attributes:
        field: Field of the figures that holds it.
        earlier: Figure of the earlier run.
        later: Figure of the later run.
        difference: Later less earlier, with what is common to both cancelled.
        uncertainty_ratio: Expanded uncertainty of the later over that of the earlier;
            None where one of them has none.
        agrees: Whether the difference lies within its own expanded uncertainty; None
            where it has none.
        contributions: Causes in either budget, the largest of either run first.
    """

    field: str
    earlier: Figure
    later: Figure
    difference: Figure
    uncertainty_ratio: float | None
    agrees: bool | None
    contributions: tuple[ContributionBeside, ...]

    @property
    def changed(self) -> bool:
        """Whether its uncertainty is another one in the later run."""
        ratio = self.uncertainty_ratio
        return ratio is not None and abs(ratio - 1.0) > _ALIKE


@dataclass(frozen=True, slots=True, kw_only=True)
class RunComparison:
    """Two runs of one part on one target, in the order in which they were taken.

    Attributes:
        earlier: The run that began first.
        later: The other one.
        common: Causes that are one quantity in both runs and cancel in differences.
        figures: Every figure that both runs give.
    """

    earlier: RecordedRun
    later: RecordedRun
    common: tuple[str, ...]
    figures: tuple[FigureBeside, ...]


def comparison_on_record(
    store: Store, run_id: str, other_id: str, *, rule: Rule = GUARDED
) -> RunComparison:
    """Set two runs of one part beside one another, in either order.

    Args:
        store: Open records.
        run_id: Identity of one run.
        other_id: Identity of the other.
        rule: Decision rule of the verdicts on each.

    Raises:
        InputError: They are not two runs of one part on one target, or one of them is
            void or has no figures.
        RecordsError: One of them is not on record.
    """
    if run_id == other_id:
        raise InputError(
            f"run {run_id} is named twice",
            hint="a run is set beside another one of the same part",
        )
    return run_comparison(*runs_with_figures(store, (run_id, other_id), rule))


def run_comparison(first: RecordedRun, second: RecordedRun) -> RunComparison:
    """Set two runs with figures beside one another, in either order.

    Raises:
        InputError: They are not of one part on one target, or one of them is void.
    """
    earlier, later = sorted((first, second), key=lambda one: one.run.header.started_at)
    _check(earlier, later)
    common = causes_in_common(
        earlier.run.header.conditions, later.run.header.conditions
    )
    figures = tuple(
        _beside(kind, before, after, common)
        for kind, before, after in _in_both(earlier, later)
    )
    in_both = {
        row.cause
        for one in figures
        for row in one.contributions
        if row.earlier is not None and row.later is not None
    }
    return RunComparison(
        earlier=earlier,
        later=later,
        common=tuple(sorted(common & in_both)),
        figures=figures,
    )


def _check(earlier: RecordedRun, later: RecordedRun) -> None:
    for one in (earlier, later):
        if one.run.void:
            raise InputError(f"run {one.run.header.run_id} is void: {one.run.void}")
    a, b = earlier.run.header, later.run.header
    if (a.sensor.name, a.part) != (b.sensor.name, b.part) or a.target != b.target:
        named = [
            f"run {h.run_id} is of {h.sensor.name} {h.part or 'without a part'} against"
            f" {h.target.name}"
            for h in (a, b)
        ]
        raise InputError(
            ", ".join(named),
            hint="two runs of one part on one target go beside one another",
        )


def _in_both(
    earlier: RecordedRun, later: RecordedRun
) -> Iterator[tuple[FigureKind, Figure, Figure]]:
    for kind in FIGURE_KINDS:
        before: Figure | None = getattr(earlier.figures, kind.field)
        after: Figure | None = getattr(later.figures, kind.field)
        if before is not None and after is not None:
            yield kind, before, after


def _beside(
    kind: FigureKind, before: Figure, after: Figure, common: frozenset[str]
) -> FigureBeside:
    difference = difference_of_runs(before, after, common)
    if kind.field in _RANGES:
        difference = replace(
            difference,
            expanded_uncertainty=None,
            coverage_factor=None,
            effective_degrees_of_freedom=None,
            why_none=_RANGE_SCATTERS,
        )
    expanded = difference.expanded_uncertainty
    return FigureBeside(
        field=kind.field,
        earlier=before,
        later=after,
        difference=difference,
        uncertainty_ratio=_ratio(before, after),
        agrees=None if expanded is None else abs(difference.value) <= expanded,
        contributions=_contributions(before, after),
    )


def _ratio(before: Figure, after: Figure) -> float | None:
    old, new = before.expanded_uncertainty, after.expanded_uncertainty
    return None if new is None or not old else new / old


def _contributions(before: Figure, after: Figure) -> tuple[ContributionBeside, ...]:
    old, new = _sizes(before), _sizes(after)
    found = [
        _contribution(cause, old.get(cause), new.get(cause))
        for cause in dict.fromkeys((*old, *new))
    ]
    return tuple(
        sorted(found, key=lambda one: -max(one.earlier or 0.0, one.later or 0.0))
    )


def _sizes(figure: Figure) -> dict[str, tuple[float, str]]:
    """Return size and source of every contribution above 0, by its cause."""
    found = {}
    for line in figure.budget:
        cause, source = parted_name(line.name)
        size = abs(line.sensitivity * line.standard_uncertainty)
        if size > 0.0:
            found[cause] = size, source
    return found


def _contribution(
    cause: str, old: tuple[float, str] | None, new: tuple[float, str] | None
) -> ContributionBeside:
    return ContributionBeside(
        cause=cause,
        earlier=None if old is None else old[0],
        later=None if new is None else new[0],
        earlier_source="" if old is None else old[1],
        later_source="" if new is None else new[1],
        change=_change(old, new),
    )


def _change(
    old: tuple[float, str] | None, new: tuple[float, str] | None
) -> ContributionChange:
    if old is None:
        return ContributionChange.NEW
    if new is None:
        return ContributionChange.GONE
    if abs(new[0] - old[0]) <= _ALIKE * old[0]:
        return ContributionChange.SAME
    smaller = new[0] < old[0]
    return ContributionChange.SMALLER if smaller else ContributionChange.LARGER
