"""Past runs as lines of a table: what they say, what they sort by, a page of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from rig.inquiry.effective_range import EffectiveRange
from rig.inquiry.judged_tries import JudgedTry, judged_tries
from rig.inquiry.limit_margins import limit_margins
from rig.inquiry.tried import Tried
from rig.model.attempts import Outcome
from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.records import RunSummary, Store
from rig.records.notes import NoteBook
from rig.records.run_index import (
    RunsBy,
    RunsFound,
    RunState,
    RunsWanted,
    computed_runs,
    find_runs,
)
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.tried_sheet import tried_sheet
from rig.tui.frame.list_screen import Column, ListPage
from rig.tui.pictures.interval import track
from rig.tui.state.local_time import local_cell
from rig.tui.state.status_words import BAD, CARE, GOOD, Sign

_TRACK_WIDTH = 15
LIMITS_HEAD = "s_r: lower, upper"
ENDED = Sign("✓", RunState.ENDED, GOOD)
CUT_SHORT = Sign("◐", RunState.UNFINISHED, CARE)
VOID = Sign("✗", RunState.VOID, BAD)
CHANGED = Sign("!", "changed", BAD)
FAILED = Sign("✗", RunState.NO_FIGURES, BAD)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLine:
    """One run, or an attempt that came to none.

    Attributes:
        run: Run as the records sum it up; of an attempt what a run would have had.
        outcome: How the last attempt ended.
        result: Outcome in a word or two, such as "not detected".
        seen: What was seen, with likely causes, for an attempt that came to no run;
            empty for a run.
        operate: None if it has no figures.
        travel: Differential travel; None if it has no figures.
        notes: Number of notes that stand.
        changed: Whether it is not as it was written.
        limits: Limits of the operate point, and the decision; None where there can be
            no verdict.
    """

    run: RunSummary
    outcome: Outcome
    result: str
    seen: str
    operate: Figure | None
    travel: Figure | None
    notes: int
    changed: bool = False
    limits: EffectiveRange | None = None

    @property
    def state(self) -> Sign:
        """Whether it ended, and well."""
        if self.changed:
            return CHANGED
        if self.run.void:
            return VOID
        if self.outcome.of_the_sensor:
            return FAILED
        return CUT_SHORT if self.run.ended_at is None else ENDED


def figure_text(figure: Figure | None) -> str:
    """Return value and uncertainty; the unit stands in the head of the column."""
    if figure is None:
        return "–"
    return format_figure(figure).cell


def _operate(line: RunLine) -> str:
    if line.operate is None and line.outcome is not Outcome.FIGURES:
        return line.result
    return figure_text(line.operate)


def limits_cell(figure: Figure | None, limits: EffectiveRange | None) -> str:
    """Return the operate point as an interval against its limits, with the verdict."""
    if figure is None or limits is None:
        return "–"
    ends = (limits.lower_mm, limits.upper_mm)
    sign = VERDICT_SIGNS[limits.decision]
    row = track(figure.value, figure.expanded_uncertainty, ends, _TRACK_WIDTH)
    return f"{sign} {row}"


def _sweeps(line: RunLine) -> str:
    return f"{line.run.good_sweeps}/{line.run.sweeps_wanted}"


COLUMNS: Final[tuple[Column[RunLine], ...]] = (
    Column("", lambda x: x.state.glyph, RunsBy.STATE),
    Column("started (UTC)", lambda x: local_cell(x.run.started_at), RunsBy.STARTED),
    Column("sensor", lambda x: x.run.sensor, RunsBy.SENSOR),
    Column("target", lambda x: x.run.target, RunsBy.TARGET),
    Column("operate mm (95 %)", _operate, RunsBy.OPERATE),
    Column("rig", lambda x: "SIMULATED" if x.run.simulated else "real", RunsBy.RIG),
    Column("part", lambda x: x.run.part or "–", RunsBy.PART),
    Column(
        LIMITS_HEAD,
        lambda x: limits_cell(x.operate, x.limits),
        RunsBy.MARGIN,
    ),
    Column("state", lambda x: str(x.state), RunsBy.STATE),
    Column("n", _sweeps, RunsBy.SWEEPS),
    Column("diff. travel mm (95 %)", lambda x: figure_text(x.travel), RunsBy.TRAVEL),
    Column("notes", lambda x: str(x.notes or "–"), RunsBy.NOTES),
)
STARTED: Final = 1  # the column
# A figure never stands without the word that it is simulated
WEIGHTIEST: Final = tuple(
    number
    for head in (
        *("", "operate mm (95 %)", "rig", "part", LIMITS_HEAD, "target", "sensor"),
    )
    for number, column in enumerate(COLUMNS)
    if column.head == head
)


def read_lines(store: Store, wanted: RunsWanted) -> ListPage[RunLine]:
    """Read a page of runs.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        found = _find(moment, wanted)
        judged = judged_tries(moment, found.run_ids)
        notes = NoteBook(moment).counts()
    return ListPage(
        lines=tuple(
            _line(judged[run_id], notes.get(run_id, 0))
            for run_id in found.run_ids
            if run_id in judged
        ),
        matching=found.matching,
        on_record=found.on_record,
    )


def _find(store: Store, wanted: RunsWanted) -> RunsFound:
    margins = limit_margins(store) if wanted.by is RunsBy.MARGIN else None
    return find_runs(store, wanted, margins)


def _line(one: JudgedTry, notes: int) -> RunLine:
    tried, figures = one.tried, one.figures
    return RunLine(
        run=tried.run or _as_a_run(tried),
        outcome=tried.outcome,
        result=tried.words,
        changed=one.changed,
        limits=one.limits,
        seen="" if tried.run else _seen(tried),
        operate=None if figures is None else figures.operate,
        travel=None if figures is None else figures.differential_travel,
        notes=notes,
    )


def runs_that_fit(store: Store, wanted: RunsWanted) -> list[str]:
    """Return all runs that have the words, attempts that came to none left out.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        return list(_find(moment, replace(wanted, only_runs=True)).run_ids)


def runs_with_figures(store: Store, wanted: RunsWanted) -> list[str]:
    """Return all runs that have the words, and figures.

    Raises:
        RecordsError: The records cannot be read.
    """
    run_ids = runs_that_fit(store, wanted)
    computed = computed_runs(store)
    return [run_id for run_id in run_ids if run_id in computed]


def _as_a_run(one: Tried) -> RunSummary:
    """Return an attempt that came to no run as the run that it would have been."""
    return RunSummary(
        run_id=one.run_id,
        sensor=one.sensor.name,
        target=one.target.name,
        material=one.target.material,
        simulated=one.simulated,
        started_at=one.started_at,
        ended_at=None,
        sweeps_wanted=one.sweeps_wanted,
        good_sweeps=0,
        void_sweeps=0,
        void="",
        plan_id=one.plan_id,
        plan_item=one.plan_item,
        part=one.part,
    )


def _seen(one: Tried) -> str:
    sheet = tried_sheet(one)
    return " ".join(filter(None, [f"{sheet.outcome}.", sheet.sentence, sheet.causes]))
