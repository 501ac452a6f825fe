"""One run as the lines of text that a screen shows of it. Reads; decides no looks."""

from __future__ import annotations

from dataclasses import dataclass

from textual.content import Content

from rig.inquiry.recorded_run import RecordedRun, recorded_run
from rig.records import Store
from rig.sheets.figure_rows import BudgetTable, FigureRow
from rig.sheets.run_sheet import RunSheet, run_sheet
from rig.sheets.verdict_rows import VerdictRow
from rig.tui.pictures.sweep_dots import SweepPoint, SweepPoints
from rig.tui.state.local_time import with_local_times
from rig.tui.state.status_words import BAD, CARE, GOOD

_NAME_WIDTH = 34
_BAR_CELLS = 10
_DECISION_STYLES = {"conforms": GOOD, "does not conform": BAD, "undecided": CARE}
SweepCells = tuple[str, ...]
SWEEP_HEADS = (
    *("sweep", "mm/s", "operate mm", "release mm"),
    *("operate, no delay", "release, no delay", "edges", "state"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFacts:
    """A run on record, and what is said of it.

    Attributes:
        found: The run with its notes.
        sheet: All that is said of it.
    """

    found: RecordedRun
    sheet: RunSheet


def read_facts(store: Store, run_id: str) -> RunFacts:
    """Read a run and hold it against its limits.

    Raises:
        RigError: It is not on record, or a limit of its data sheet is not possible.
    """
    found = recorded_run(store, run_id)
    return RunFacts(found=found, sheet=run_sheet(found))


def head_lines(facts: RunFacts) -> Content:
    """Return what was measured, when and by whom."""
    sheet = facts.sheet
    sensor, _, target = sheet.name.partition(" against ")
    part = f", part {sheet.part}" if sheet.part else ""
    parts: list[str | tuple[str, str]] = [
        (f"{sensor}{part} against {target}", "bold"),
        f"  {sheet.good} sweeps, {with_local_times(sheet.started)}",
    ]
    if sheet.simulated:
        parts.append(("  SIMULATED", "bold $text-warning"))
    if sheet.void:
        parts.append((f"\n✗ VOID: {sheet.void}", f"bold {BAD}"))
    elif not sheet.ended:
        parts.append((f"\n◐ It never ended: {sheet.outcome}.", f"bold {CARE}"))
    parts += [f"\n{sentence}" for sentence in sheet.attempts]
    return Content.assemble(*parts)


def figure_lines(facts: RunFacts) -> Content:
    """Return every figure with its uncertainty, or the words why it has none."""
    sheet = facts.sheet
    lines = [Content(sheet.no_figures)] if sheet.no_figures else []
    for group in sheet.figure_groups:
        lines.append(_heading(group.heading))
        lines += [_pair(row.name, _figure(row)) for row in group.rows]
    lines += [_remark(sentence) for sentence in sheet.warnings]
    return Content("\n").join([*lines, Content(""), *_conditions(sheet)])


def _figure(row: FigureRow) -> str:
    return f"none: {row.why_missing}" if row.text is None else str(row.text)


def _conditions(sheet: RunSheet) -> list[Content]:
    lines = [_heading("Conditions and evidence")]
    lines += [_pair(name, value) for name, value in (*sheet.job, *sheet.bench)]
    for number, head in enumerate(sheet.condition_heads):
        if len(sheet.condition_heads) > 1:
            lines.append(Content(f"  {head}"))
        lines += [_pair(name, cells[number]) for name, cells in sheet.condition_rows]
    return lines + [_pair(name, value) for name, value in sheet.evidence]


def verdict_lines(facts: RunFacts) -> Content:
    """Return every verdict with figure, limits, their source and the rule."""
    sheet = facts.sheet
    if sheet.no_figures:
        return Content("No verdict: there are no figures to hold against limits.")
    verdicts = sheet.verdicts
    lines = [line for row in verdicts.rows for line in _verdict(row)]
    if verdicts.rule:
        lines.append(Content(f"Decision rule: {verdicts.rule}."))
    lines += [_remark(sentence) for sentence in verdicts.statements]
    return Content("\n").join(lines)


def _verdict(row: VerdictRow) -> list[Content]:
    style = f"bold {_DECISION_STYLES.get(row.decision, '')}"
    name = f"  {row.symbol} {row.name}".rstrip()
    return [
        Content.assemble((f"{row.sign} {row.decision.upper()}", style), name),
        Content(f"    {row.text}"),
        Content(f"    limits {row.limits} ({row.source})"),
        Content(f"    probability of lying within them: {row.chance}"),
        Content(""),
    ]


def budget_lines(facts: RunFacts) -> Content:
    """Return what makes up the uncertainty of all figures."""
    if facts.sheet.no_figures:
        return Content("No figures, so no budget.")
    lines: list[Content] = []
    for table in facts.sheet.budgets:
        lines += _budget(table)
    return Content("\n").join([*lines, Content(facts.sheet.not_included)])


def _budget(table: BudgetTable) -> list[Content]:
    head = f"{table.figure_name}: {table.text}"
    lines = [Content.styled(head, "bold $text-primary")]
    for row in table.rows:
        cells = max(0, min(_BAR_CELLS, round(_BAR_CELLS * row.share_percent / 100)))
        bar = "█" * cells + "░" * (_BAR_CELLS - cells)
        lines.append(
            Content.assemble(
                f"  {row.name}",
                (
                    f"\n    {bar} {row.share:>6}  u = {row.standard_uncertainty}, "
                    f"type {row.evaluation}, times {row.sensitivity}, "
                    f"ν = {row.degrees_of_freedom}",
                    "$text-muted",
                ),
            )
        )
    if table.combined:
        lines.append(Content(f"  combined standard uncertainty {table.combined}"))
    return [*lines, Content("")]


def note_lines(facts: RunFacts) -> Content:
    """Return the notes, oldest first."""
    lines: list[Content] = []
    before = facts.found.run.header.conditions.note
    if before:
        lines.append(Content(f"Before the run: {before}"))
    for note in facts.sheet.notes:
        head = (f"{note.head}: ", "$text-muted")
        if note.withdrawn:
            back = (f" ({note.withdrawn})", "$text-muted")
            lines.append(Content.assemble(head, (note.text, "strike"), back))
        else:
            lines.append(Content.assemble(head, note.text))
    return Content("\n").join(lines) if lines else Content("No notes yet.")


def points_picture(facts: RunFacts) -> SweepPoints:
    """Return the points of every sweep, void ones among them, as a picture."""
    return SweepPoints(
        sweeps=tuple(
            SweepPoint(
                number=one.number,
                operate_mm=one.operate_delayed_mm,
                release_mm=one.release_delayed_mm,
                void=bool(one.void),
            )
            for one in facts.found.readings
        )
    )


def sweep_cells(facts: RunFacts) -> list[SweepCells]:
    """Return one row a sweep, void ones among them."""
    return [
        (
            row.number,
            row.speed,
            row.operate_delayed,
            row.release_delayed,
            row.operate_corrected,
            row.release_corrected,
            row.edges,
            row.state,
        )
        for row in facts.sheet.sweeps
    ]


def _heading(words: str) -> Content:
    return Content.styled(words, "bold $text-primary")


def _pair(name: str, value: str) -> Content:
    return Content.assemble((f"  {name:<{_NAME_WIDTH}} ", "$text-muted"), value)


def _remark(sentence: str) -> Content:
    return Content.assemble(("! ", "bold $text-warning"), sentence)
