"""One run as the lines of text that a screen shows of it. Reads; decides no looks."""

from __future__ import annotations

from dataclasses import dataclass

from textual.content import Content

from rig.analysis.edges.sweep_points import points_of_run
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.model.figures import RunFigures
from rig.model.rounding import format_decimals
from rig.model.sweeps import Run
from rig.records import EdgesCheck, Reader, Store
from rig.records.notes import NoteBook, RunNote
from rig.sheets.bench_words import utc
from rig.sheets.figure_rows import BudgetTable, budget_tables, figure_groups
from rig.sheets.sweep_rows import readings
from rig.sheets.verdict_rows import VerdictTable, verdict_table
from rig.tui.pictures.sweep_dots import SweepPoint, SweepPoints
from rig.tui.words import BAD, CARE, GOOD, sensor_text, target_text

_NAME_WIDTH = 28
_BAR_CELLS = 10
_DECISION_STYLES = {"conforms": GOOD, "does not conform": BAD, "undecided": CARE}
_CHECK_WORDS = {
    True: "raw edges are as they were at the end of the run",
    False: "RAW EDGES WERE CHANGED after the end of the run",
    None: "the run never ended, so its edges have no checksum",
}
SweepCells = tuple[str, ...]
SWEEP_HEADS = (
    *("sweep", "mm/s", "operate mm", "release mm"),
    *("operate, no delay", "release, no delay", "edges", "state"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFacts:
    """All that is on record of a run.

    Attributes:
        run: With its edges.
        figures: The latest; None if none were worked out.
        verdicts: By the limits of its sensor; None without figures.
        check: Of its edges.
        notes: Those taken back among them.
    """

    run: Run
    figures: RunFigures | None
    verdicts: VerdictTable | None
    check: EdgesCheck
    notes: tuple[RunNote, ...]


def read_facts(store: Store, run_id: str) -> RunFacts:
    """Read a run and hold it against its limits.

    Raises:
        RigError: It is not on record, or a limit of its data sheet is of no use.
    """
    reader = Reader(store)
    run, figures = reader.run(run_id), reader.latest_figures(run_id)
    verdicts = None
    if figures is not None:
        verdicts = verdict_table(standard_of_run(run, figures))
    return RunFacts(
        run=run,
        figures=figures,
        verdicts=verdicts,
        check=reader.verify(run_id),
        notes=tuple(NoteBook(store).notes(run_id)),
    )


def head_lines(facts: RunFacts) -> Content:
    """Return what was measured, when and by whom."""
    header = facts.run.header
    conditions = header.conditions
    good = sum(1 for sweep in facts.run.sweeps if not sweep.void)
    part = f", part {header.part}" if header.part else ""
    parts: list[str | tuple[str, str]] = [
        (f"{header.sensor.name}{part} against {header.target.name}", "bold"),
        f"  {good} of {header.sweeps_wanted} sweeps, {utc(header.started_at)}",
    ]
    if conditions.simulated:
        parts.append(("  SIMULATED", "bold $text-warning"))
    if facts.run.void:
        parts.append((f"\n✗ VOID: {facts.run.void}", f"bold {BAD}"))
    elif facts.run.ended_at is None:
        parts.append(("\n◐ It was cut short and never ended.", f"bold {CARE}"))
    return Content.assemble(*parts)


def figure_lines(facts: RunFacts) -> Content:
    """Return every figure with its uncertainty, or the words why it has none."""
    if facts.figures is None:
        return Content("No figures were worked out for this run.")
    lines: list[Content] = []
    for group in figure_groups(facts.figures, facts.run.header.timetable):
        lines.append(Content.styled(group.heading, "bold $text-primary"))
        for row in group.rows:
            said = row.why_missing if row.text is None else str(row.text)
            name = f"  {row.name:<{_NAME_WIDTH}} "
            lines.append(Content.assemble((name, "$text-muted"), said))
    lines += [_remark(sentence) for sentence in facts.figures.warnings]
    return Content("\n").join([*lines, Content(""), *_conditions(facts)])


def _conditions(facts: RunFacts) -> list[Content]:
    header = facts.run.header
    said = header.conditions
    warm = said.temperature_c
    pairs = (
        ("Run", header.run_id),
        ("Sensor", f"{header.sensor.name}: {sensor_text(header.sensor)}"),
        ("Target", f"{header.target.name}: {target_text(header.target)}"),
        ("Operator", said.operator or "not recorded"),
        ("Temperature", "not recorded" if warm is None else f"{warm:g} °C"),
        ("Note before the run", said.note or "none"),
        ("Rig", f"{said.rig_id}, firmware {said.firmware_version}"),
        ("Edges", _CHECK_WORDS[facts.check.intact]),
        ("SHA-256 of the edges", facts.check.computed),
    )
    head = Content.styled("Conditions and evidence", "bold $text-primary")
    return [head] + [
        Content.assemble((f"  {name:<{_NAME_WIDTH}} ", "$text-muted"), value)
        for name, value in pairs
    ]


def verdict_lines(facts: RunFacts) -> Content:
    """Return every verdict with figure, limits, their source and the rule."""
    verdicts = facts.verdicts
    if verdicts is None:
        return Content("No verdict: there are no figures to hold against limits.")
    lines: list[Content] = []
    for row in verdicts.rows:
        style = f"bold {_DECISION_STYLES.get(row.decision, '')}"
        name = f"  {row.symbol} {row.name}".rstrip()
        lines += [
            Content.assemble((f"{row.sign} {row.decision.upper()}", style), name),
            Content(f"    {row.text}"),
            Content(f"    limits {row.limits} ({row.source})"),
            Content(f"    probability of lying within them: {row.chance}"),
            Content(""),
        ]
    if verdicts.rule:
        lines.append(Content(f"Decision rule: {verdicts.rule}."))
    lines += [_remark(sentence) for sentence in verdicts.statements]
    return Content("\n").join(lines)


def budget_lines(facts: RunFacts) -> Content:
    """Return what makes up the uncertainty of the main figures."""
    if facts.figures is None:
        return Content("No figures, so no budget.")
    lines: list[Content] = []
    for table in budget_tables(facts.figures):
        lines += _budget(table)
    return Content("\n").join(lines)


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
    if facts.run.header.conditions.note:
        lines.append(Content(f"Before the run: {facts.run.header.conditions.note}"))
    for note in facts.notes:
        by = f" {note.author}" if note.author else ""
        head = f"{note.entry + 1}. {utc(note.entered_at)}{by}: "
        if note.withdrawn_at is None:
            lines.append(Content.assemble((head, "$text-muted"), note.text))
        else:
            back = f" (taken back {utc(note.withdrawn_at)})"
            lines.append(
                Content.assemble(
                    (head, "$text-muted"), (note.text, "strike"), (back, "$text-muted")
                )
            )
    return Content("\n").join(lines) if lines else Content("No notes yet.")


def points_picture(facts: RunFacts) -> SweepPoints:
    """Return the points of every sweep, void ones among them, as a picture."""
    points = zip(facts.run.sweeps, points_of_run(facts.run), strict=True)
    return SweepPoints(
        sweeps=tuple(
            SweepPoint(
                number=sweep.index + 1,
                operate_mm=operate_mm,
                release_mm=release_mm,
                void=bool(sweep.void),
            )
            for sweep, (operate_mm, release_mm) in points
        )
    )


def sweep_cells(facts: RunFacts) -> list[SweepCells]:
    """Return one row a sweep, void ones among them; without figures fewer columns."""
    if facts.figures is None:
        return [
            (
                str(sweep.index + 1),
                f"{sweep.speed_mm_s:.4g}",
                *["–"] * 4,
                str(len(sweep.edges)),
                f"void: {sweep.void}" if sweep.void else "good",
            )
            for sweep in facts.run.sweeps
        ]
    return [
        (
            str(one.number),
            f"{one.speed_mm_s:.4g}",
            _gap(one.operate_delayed_mm),
            _gap(one.release_delayed_mm),
            _gap(one.operate_corrected_mm),
            _gap(one.release_corrected_mm),
            str(one.edges),
            f"void: {one.void}" if one.void else "good",
        )
        for one in readings(facts.run, facts.figures)
    ]


def _gap(gap_mm: float | None) -> str:
    return "–" if gap_mm is None else format_decimals(gap_mm, 4)


def _remark(sentence: str) -> Content:
    return Content.assemble(("! ", "bold $text-warning"), sentence)
