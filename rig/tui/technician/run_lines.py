"""Past runs as lines of a table: what they say, how they sort, which ones fit. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from rig.inquiry.effective_range import EffectiveRange, effective_range
from rig.inquiry.tried import Tried, tried_on_record
from rig.model.attempts import Outcome
from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.records import Reader, RunCheck, RunFilter, RunSummary, Store
from rig.records.notes import NoteBook
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.tried_sheet import tried_sheet
from rig.tui.pictures.interval import track
from rig.tui.state.local_time import local_cell
from rig.tui.state.status_words import BAD, CARE, GOOD, Sign

NEWEST = 1000
_TRACK_WIDTH = 19
ENDED = Sign("✓", "ended", GOOD)
CUT_SHORT = Sign("◐", "unfinished", CARE)
VOID = Sign("✗", "void", BAD)
CHANGED = Sign("!", "changed", BAD)
FAILED = Sign("✗", "no figures", BAD)


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

    def words(self) -> str:
        """Return all that a filter may be looking for, in small letters."""
        run = self.run
        kind = "simulated" if run.simulated else "real"
        noted = "note" if self.notes else ""
        parts = (
            *(run.run_id, run.sensor, run.target, run.material, run.part),
            *(self.state.word, kind, noted, f"{run.started_at:%Y-%m-%d}", run.void),
            "" if self.outcome is Outcome.FIGURES else self.result,
        )
        return " ".join(parts).lower()


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table: head, text of a line, and what it sorts by."""

    head: str
    text: Callable[[RunLine], str]
    key: Callable[[RunLine], tuple[int, float | str]]


def _by_text(text: Callable[[RunLine], str]) -> Callable[[RunLine], tuple[int, str]]:
    return lambda line: (0, text(line).lower())


def _by_figure(
    figure: Callable[[RunLine], Figure | None],
) -> Callable[[RunLine], tuple[int, float]]:
    def key(line: RunLine) -> tuple[int, float]:
        found = figure(line)
        return (1, 0.0) if found is None else (0, found.value)

    return key


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


def _place(line: RunLine) -> tuple[int, float]:
    """Return where the operate point lies between its limits, 0 to 1."""
    found, limits = line.operate, line.limits
    if found is None or limits is None:
        return (1, 0.0)
    span_mm = limits.upper_mm - limits.lower_mm
    return (0, (found.value - limits.lower_mm) / span_mm)


def _sweeps(line: RunLine) -> str:
    return f"{line.run.good_sweeps}/{line.run.sweeps_wanted}"


COLUMNS: Final = (
    Column("", lambda x: x.state.glyph, _by_text(lambda x: x.state.word)),
    Column(
        "started (UTC)",
        lambda line: local_cell(line.run.started_at),
        lambda line: (0, line.run.started_at.timestamp()),
    ),
    Column("sensor", lambda x: x.run.sensor, _by_text(lambda x: x.run.sensor)),
    Column("target", lambda x: x.run.target, _by_text(lambda x: x.run.target)),
    Column("operate mm (95 %)", _operate, _by_figure(lambda x: x.operate)),
    Column(
        "rig",
        lambda x: "SIMULATED" if x.run.simulated else "real",
        _by_text(lambda x: str(x.run.simulated)),
    ),
    Column("part", lambda x: x.run.part or "–", _by_text(lambda x: x.run.part)),
    Column("s_r: lower, upper", _track, _place),
    Column("state", lambda x: str(x.state), _by_text(lambda x: x.state.word)),
    Column("n", _sweeps, lambda x: (0, float(x.run.good_sweeps))),
    Column(
        "diff. travel mm (95 %)",
        lambda x: figure_text(x.travel),
        _by_figure(lambda x: x.travel),
    ),
    Column("notes", lambda x: str(x.notes or "–"), lambda x: (0, float(x.notes))),
)
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


def fitting(lines: Sequence[RunLine], wanted: str) -> list[RunLine]:
    """Return the lines that have every word that was typed, or its beginning."""
    words = wanted.lower().split()
    return [line for line in lines if all(word in line.words() for word in words)]


def in_order(lines: Sequence[RunLine], column: int, *, falling: bool) -> list[RunLine]:
    """Return the lines by a column; a run without a figure comes last either way."""
    key = COLUMNS[column].key
    there = [line for line in lines if key(line)[0] == 0]
    rest = [line for line in lines if key(line)[0] != 0]
    return sorted(there, key=key, reverse=falling) + rest


def read_lines(store: Store) -> list[RunLine]:
    """Read the newest runs, newest first.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        reader = Reader(moment)
        tried = tried_on_record(moment, RunFilter(newest=NEWEST))
        run_ids = [one.run_id for one in tried]
        computed, checks = reader.latest_computations(run_ids), reader.checks(run_ids)
        notes = NoteBook(moment).counts()
        headers = reader.headers(list(computed))
        later = reader.later_conditions(list(computed))
    lines = []
    for one in reversed(tried):
        found = computed.get(one.run_id)
        figures = None if found is None else found.figures
        header, changed = headers.get(one.run_id), _changed(checks.get(one.run_id))
        limits = None
        whole = one.run is not None and not one.run.void and not changed
        if whole and header is not None and figures is not None:
            limits = effective_range(header, figures, later.get(one.run_id, ()))
        lines.append(
            RunLine(
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
        )
    return lines


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
