"""The run under the cursor, beside the list: figures, verdicts, small pictures."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.inquiry.deciding_figure import DecidingFigure
from rig.model.figure_kinds import FIGURE_KINDS
from rig.sheets.figure_rows import figure_groups
from rig.tui.pictures.interval import Interval
from rig.tui.state.status_words import BAD, VERDICT_STYLES
from rig.tui.technician.run_sections import RunFacts, points_picture
from rig.tui.widgets.picture_view import PictureView
from rig.tui.widgets.verdict_interval import interval_of

_EFFECTIVE = "s_r"
_MAIN = 5  # figures that come first: the points, H and R
_NAME_WIDTH = max(len(kind.short) for kind in FIGURE_KINDS) + 2


class RunDetail(Container):
    """Shows one run in the room that a list leaves."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id, classes="list-detail")
        self.run_id = ""

    def compose(self) -> ComposeResult:
        """Yield words, the effective distance against its limits, the sweeps."""
        with VerticalScroll(classes="detail-scroll framed", can_focus=False):
            yield Static("", id="detail-words")
            yield PictureView(id="detail-interval", classes="detail-strip -none")
            yield PictureView(id="detail-points", classes="detail-picture -none")
            yield Static("", id="detail-more")

    def wait_for(self, run_id: str, words: str) -> None:
        """Say what is known of a run until it is read."""
        self.run_id = run_id
        self.query_one("#detail-words", Static).update(words)
        self.query_one("#detail-more", Static).update("")
        for view in self.query(PictureView):
            view.add_class("-none")

    def show(self, facts: RunFacts) -> None:
        """Show a run."""
        self.run_id = facts.found.run.header.run_id
        self.query_one("#detail-words", Static).update(detail_words(facts))
        interval = self.query_one("#detail-interval", PictureView)
        interval.picture = effective_interval(facts)
        interval.set_class(interval.picture is None, "-none")
        points = self.query_one("#detail-points", PictureView)
        points.picture = points_picture(facts)
        points.set_class(not facts.found.readings, "-none")
        self.query_one("#detail-more", Static).update(more_words(facts))


def detail_words(facts: RunFacts) -> Content:
    """Return what was measured, its verdicts and main figures, in few lines."""
    sheet = facts.sheet
    part = f"part {sheet.part}, " if sheet.part else ""
    lines = [
        Content.assemble(
            (sheet.name, "bold"),
            ("  SIMULATED", "bold $text-warning") if sheet.simulated else "",
        ),
        Content(f"{part}{sheet.good} sweeps, {sheet.started}"),
    ]
    if sheet.void:
        lines.append(Content.styled(f"✗ VOID: {sheet.void}", f"bold {BAD}"))
    if sheet.no_figures:
        lines.append(Content(sheet.no_figures))
    verdicts: list[Content] = []
    for verdict in sheet.verdicts.rows:
        name = verdict.symbol or verdict.name
        style = f"bold {VERDICT_STYLES.get(verdict.sign, '')}".strip()
        decided = f"{verdict.sign} {name} {verdict.decision}"
        verdicts.append(Content.styled(decided, style))
    if verdicts:
        lines.append(Content("   ").join(verdicts))
    rows = _figures(facts)
    lines += rows[:_MAIN]
    return Content("\n").join(lines)


def more_words(facts: RunFacts) -> Content:
    """Return the other figures, and what is to be minded."""
    statements = [Content(sentence) for sentence in facts.sheet.verdicts.statements]
    return Content("\n").join([*_figures(facts)[_MAIN:], *statements])


def _figures(facts: RunFacts) -> list[Content]:
    found = facts.found
    if found.figures is None:
        return []
    groups = figure_groups(found.figures, found.run.header.timetable)
    return [
        Content.assemble(
            (f"{row.kind.short:<{_NAME_WIDTH}}", "$text-muted"),
            f"{row.text.brief}  n {row.text.n}",
        )
        for group in groups
        for row in group.rows
        if row.text is not None
    ]


def effective_interval(facts: RunFacts) -> Interval | None:
    """Return the effective distance against its limits; None without a verdict."""
    standard = facts.found.standard
    verdict = None if standard is None else standard.verdicts.get(_EFFECTIVE)
    if verdict is None:
        return None
    return interval_of(DecidingFigure(name=_EFFECTIVE, verdict=verdict))
