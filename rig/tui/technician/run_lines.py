"""Past runs as lines of a table: what they say, what they sort by, a page of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from rig.inquiry.effective_range import EffectiveRange, effective_range
from rig.inquiry.tried import Tried, tried_on_record
from rig.model.attempts import Outcome
from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.records import Reader, RunCheck, RunFilter, RunSummary, Store
from rig.records.notes import NoteBook
from rig.records.run_index import (
    RunsBy,
    RunState,
    RunsWanted,
    computed_runs,
    find_runs,
)
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.tried_sheet import tried_sheet
from rig.tui.pictures.interval import track
from rig.tui.state.local_time import local_cell
from rig.tui.state.status_words import BAD, CARE, GOOD, Sign

PAGE = 200  # runs that are read at once
_TRACK_WIDTH = 19
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


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table: head, text of a line, what it sorts by; None for never."""

    head: str
    text: Callable[[RunLine], str]
    by: RunsBy | None


def figure_text(figure: Figure | None) -> str:
    """Return value and uncertainty; the unit stands in the head of the column."""
    if figure is None:
        return "–"
    return format_figure(figure).cell


def _operate(line: RunLine) -> str:
    if line.operate is None and line.outcome is not Outcome.FIGURES:
        return line.result
    return figure_text(line.operate)


def _track(line: RunLine) -> str:
    """Return the operate point as an interval against its limits."""
    found, limits = line.operate, line.limits
    if found is None or limits is None:
        return "–"
    ends = (limits.lower_mm, limits.upper_mm)
    sign = VERDICT_SIGNS[limits.decision]
    row = track(found.value, found.expanded_uncertainty, ends, _TRACK_WIDTH)
    return f"{sign} {row}"


def _sweeps(line: RunLine) -> str:
    return f"{line.run.good_sweeps}/{line.run.sweeps_wanted}"


COLUMNS: Final = (
    Column("", lambda x: x.state.glyph, RunsBy.STATE),
    Column("started (UTC)", lambda x: local_cell(x.run.started_at), RunsBy.STARTED),
    Column("sensor", lambda x: x.run.sensor, RunsBy.SENSOR),
    Column("target", lambda x: x.run.target, RunsBy.TARGET),
    Column("operate mm (95 %)", _operate, RunsBy.OPERATE),
    Column("rig", lambda x: "SIMULATED" if x.run.simulated else "real", RunsBy.RIG),
    Column("part", lambda x: x.run.part or "–", RunsBy.PART),
    Column("s_r: lower, upper", _track, None),
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
        *("", "operate mm (95 %)", "rig", "target", "part", "sensor"),
        "s_r: lower, upper",
    )
    for number, column in enumerate(COLUMNS)
    if column.head == head
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLines:
    """A page of the list.

    Attributes:
        lines: Runs in the order asked for.
        matching: How many have all words that were asked for.
        on_record: How many there are at all.
    """

    lines: tuple[RunLine, ...]
    matching: int
    on_record: int


def read_lines(store: Store, wanted: RunsWanted) -> RunLines:
    """Read a page of runs.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        found = find_runs(moment, wanted)
        run_ids = found.run_ids
        reader = Reader(moment)
        tried = tried_on_record(moment, RunFilter(run_ids=run_ids))
        computed, checks = reader.latest_computations(run_ids), reader.checks(run_ids)
        notes = NoteBook(moment).counts()
        headers = reader.headers(list(computed))
        later = reader.later_conditions(list(computed))
    line_of = {}
    for one in tried:
        latest = computed.get(one.run_id)
        figures = None if latest is None else latest.figures
        header, changed = headers.get(one.run_id), _changed(checks.get(one.run_id))
        limits = None
        whole = one.run is not None and not one.run.void and not changed
        if whole and header is not None and figures is not None:
            limits = effective_range(header, figures, later.get(one.run_id, ()))
        line_of[one.run_id] = RunLine(
            run=one.run or _as_a_run(one),
            outcome=one.outcome,
            result=one.words,
            changed=changed,
            limits=limits,
            seen="" if one.run else _seen(one),
            operate=None if figures is None else figures.operate,
            travel=None if figures is None else figures.differential_travel,
            notes=notes.get(one.run_id, 0),
        )
    return RunLines(
        lines=tuple(line_of[run_id] for run_id in run_ids if run_id in line_of),
        matching=found.matching,
        on_record=found.on_record,
    )


def runs_that_fit(store: Store, wanted: RunsWanted) -> list[str]:
    """Return all runs that have the words, attempts that came to none left out.

    Raises:
        RecordsError: The records cannot be read.
    """
    return list(find_runs(store, replace(wanted, only_runs=True)).run_ids)


def runs_with_figures(store: Store, wanted: RunsWanted) -> list[str]:
    """Return all runs that have the words, and figures.

    Raises:
        RecordsError: The records cannot be read.
    """
    run_ids = runs_that_fit(store, wanted)
    computed = computed_runs(store)
    return [run_id for run_id in run_ids if run_id in computed]


def _changed(check: RunCheck | None) -> bool:
    return check is not None and bool(check.changes)


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
