"""Past runs as lines of a table: what they say, how they sort, which ones fit. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.records import Reader, RunFilter, RunSummary, Store
from rig.records.notes import NoteBook
from rig.tui.state.status_words import BAD, CARE, GOOD, Sign

NEWEST = 1000
ENDED = Sign("✓", "ended", GOOD)
CUT_SHORT = Sign("◐", "unfinished", CARE)
VOID = Sign("✗", "void", BAD)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLine:
    """One run.

    Attributes:
        run: Run as the records sum it up.
        operate: None if it has no figures.
        travel: Differential travel; None if it has no figures.
        notes: Number of notes that stand.
    """

    run: RunSummary
    operate: Figure | None
    travel: Figure | None
    notes: int

    @property
    def state(self) -> Sign:
        """Whether it ended, and well."""
        if self.run.void:
            return VOID
        return CUT_SHORT if self.run.ended_at is None else ENDED

    def words(self) -> str:
        """Return all that a filter may be looking for, in small letters."""
        run = self.run
        kind = "simulated" if run.simulated else "real"
        noted = "note" if self.notes else ""
        parts = (
            *(run.run_id, run.sensor, run.target, run.material, run.part),
            *(self.state.word, kind, noted, f"{run.started_at:%Y-%m-%d}", run.void),
        )
        return " ".join(parts).lower()


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table: head, width, text of a line, and what it sorts by."""

    head: str
    width: int
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


def _sweeps(line: RunLine) -> str:
    return f"{line.run.good_sweeps}/{line.run.sweeps_wanted}"


COLUMNS: Final = (
    Column("", 1, lambda x: x.state.glyph, _by_text(lambda x: x.state.word)),
    Column(
        "started (UTC)",
        16,
        lambda line: f"{line.run.started_at:%Y-%m-%d %H:%M}",
        lambda line: (0, line.run.started_at.timestamp()),
    ),
    Column("sensor", 11, lambda x: x.run.sensor, _by_text(lambda x: x.run.sensor)),
    Column("target", 15, lambda x: x.run.target, _by_text(lambda x: x.run.target)),
    Column("part", 8, lambda x: x.run.part or "–", _by_text(lambda x: x.run.part)),
    Column(
        "operate mm (95 %)",
        19,
        lambda x: figure_text(x.operate),
        _by_figure(lambda x: x.operate),
    ),
    Column("state", 12, lambda x: str(x.state), _by_text(lambda x: x.state.word)),
    Column("n", 7, _sweeps, lambda x: (0, float(x.run.good_sweeps))),
    Column(
        "diff. travel mm (95 %)",
        22,
        lambda x: figure_text(x.travel),
        _by_figure(lambda x: x.travel),
    ),
    Column(
        "rig",
        9,
        lambda x: "SIMULATED" if x.run.simulated else "real",
        _by_text(lambda x: str(x.run.simulated)),
    ),
    Column(
        "notes",
        5,
        lambda x: str(x.notes or "–"),
        lambda x: (0, float(x.notes)),
    ),
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
    reader = Reader(store)
    runs = reader.runs(RunFilter(newest=NEWEST))
    computed = reader.latest_computations([run.run_id for run in runs])
    notes = NoteBook(store).counts()
    lines = []
    for run in reversed(runs):
        found = computed.get(run.run_id)
        figures = None if found is None else found.figures
        lines.append(
            RunLine(
                run=run,
                operate=None if figures is None else figures.operate,
                travel=None if figures is None else figures.differential_travel,
                notes=notes.get(run.run_id, 0),
            )
        )
    return lines
