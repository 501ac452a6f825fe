"""The part under the cursor, beside the list: verdict, history, small pictures."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.inquiry.part_history import PartEventKind, PartHistory
from rig.inquiry.part_list import PartRow
from rig.sheets.part_history_sheet import PartEventRow, part_history_sheet
from rig.sheets.run_list_sheet import DASH
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.tried_sheet import verdict_word
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.interval import Interval
from rig.tui.pictures.picture import Mark
from rig.tui.state.local_time import with_local_times
from rig.tui.state.status_words import VERDICT_STYLES
from rig.tui.widgets.picture_view import PictureView
from rig.tui.widgets.verdict_interval import interval_within

_FEWEST = 2  # results that a picture of their order is drawn of


class PartDetail(Container):
    """Shows one part in the room that a list leaves."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id, classes="list-detail")
        self.part = ""

    def compose(self) -> ComposeResult:
        """Yield verdict, the value against its limits, results in order, history."""
        with VerticalScroll(classes="detail-scroll framed", can_focus=False):
            yield Static("", id="part-words")
            yield PictureView(id="part-interval", classes="detail-strip -none")
            yield PictureView(id="part-results", classes="detail-picture -none")
            yield Static("", id="part-events")

    def show_row(self, row: PartRow | None) -> None:
        """Show what the list holds; its history comes once it is read."""
        self.part = "" if row is None else row.part
        words = Content("") if row is None else head_words(row)
        self.query_one("#part-words", Static).update(words)
        self.query_one("#part-events", Static).update("")
        self._draw("#part-interval", None if row is None else effective_interval(row))
        self._draw("#part-results", None)

    def show_history(self, row: PartRow, history: PartHistory) -> None:
        """Show all that is on record of it."""
        events = Content("\n").join(event_lines(history))
        self.query_one("#part-events", Static).update(events)
        self._draw("#part-results", results_picture(row, history))

    def _draw(self, selector: str, picture: Chart | Interval | None) -> None:
        view = self.query_one(selector, PictureView)
        view.picture = picture
        view.set_class(picture is None, "-none")


def head_words(row: PartRow) -> Content:
    """Return which part it is, and what counts of it."""
    lines = [
        Content.assemble(
            (f"part {row.part}", "bold"),
            ("  SIMULATED", "bold $text-warning") if row.simulated else "",
        )
    ]
    if row.changed:
        changed = "! CHANGED: a run of it is not as it was written"
        lines.append(Content.styled(changed, "bold $text-error"))
    if row.decision is not None:
        sign = VERDICT_SIGNS[row.decision]
        style = f"bold {VERDICT_STYLES[sign]}"
        lines.append(Content.styled(f"{sign} {verdict_word(row.decision)}", style))
    if row.sensor:
        lines.append(Content(f"{row.sensor} against {row.target}: {row.result}"))
    return Content("\n").join(lines)


def effective_interval(row: PartRow) -> Interval | None:
    """Return the operate point against its limits; None without."""
    if row.limits is None or row.operate is None:
        return None
    limits = row.limits.lower_mm, row.limits.upper_mm
    return interval_within("s_r", row.operate, limits, row.limits.decision)


def results_picture(row: PartRow, history: PartHistory) -> Chart | None:
    """Return the operate points of a part in the order measured, with the limits.

    Only those of the sensor and target of its row; None for fewer than 2.
    """
    what = f"{row.sensor} against {row.target}"
    values = [
        (one.value, one.expanded_uncertainty)
        for one in history.events
        if one.kind is PartEventKind.RUN and one.what == what and one.value is not None
    ]
    if len(values) < _FEWEST:
        return None
    count = float(len(values))
    halves = tuple(half for _, half in values if half is not None)
    series = Series(
        name="operate ± U",
        x=tuple(float(number) for number in range(1, len(values) + 1)),
        y=tuple(value for value, _ in values),
        half_widths=halves if len(halves) == len(values) else (),
        mark=Mark.MEASURED,
    )
    limits = () if row.limits is None else (row.limits.lower_mm, row.limits.upper_mm)
    lines = [
        Series(name=name, x=(1.0, count), y=(end, end), joined=True)
        for name, end in zip(("limits", ""), limits, strict=False)
    ]
    return Chart(
        x_title="run",
        y_title="mm",
        series=(*lines, series),
        whole_x=True,
        y_narrowest=1e-6,
    )


def event_lines(history: PartHistory) -> list[Content]:
    """Return everything that is on record of a part, the newest first."""
    return [_event(line) for line in reversed(part_history_sheet(history).rows)]


def _event(line: PartEventRow) -> Content:
    at = with_local_times(f"{line.at} UTC")
    value = f" {line.value}" if line.value != DASH else ""
    verdict = f"  {line.verdict}" if line.verdict else ""
    made = "  SIMULATED" if line.simulated else ""
    return Content.assemble(
        (f"{at}\n", "$text-muted"),
        f"  {line.kind}, {line.what}: {line.result}{value}{verdict}{made}",
    )
