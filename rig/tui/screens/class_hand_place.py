"""Readings by hand beside the rig's, and what more readings add."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from rig.analysis.classroom.hand_comparison import compare_by_hand
from rig.errors import InputError
from rig.model.rounding import format_figure
from rig.tui.lesson.book import READ, KeptRun
from rig.tui.lesson.lesson_pictures import growth_chart, hand_plot
from rig.tui.screens.typing_place import TypingPlace
from rig.tui.situation import Situation
from rig.tui.widgets.picture_view import PictureView


class ClassHandPlace(TypingPlace):
    """Everybody's dots, bias and spread, and how the mean settles."""

    PLACE = "By hand"
    FIGURE = READ
    WHAT = "reads"

    def compose_step(self) -> ComposeResult:
        """Yield the fields and the pictures."""
        yield from self.typing_row()
        yield PictureView(id="hands")
        yield PictureView(id="growth")
        yield Static("", id="finding")

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self.book.latest is None:
            return "Measure once (PgUp), so that there is something to compare with."
        return "Type name and reading, Enter adds. Two readings each show a spread."

    def next_step(self, now: Situation) -> str:
        """Say what to do next; readings can be typed without a rig's datum."""
        if now.sensor is None or now.target is None:
            return super().next_step(now)
        return self.next_in_step(now)

    def show_pictures(self, now: Situation) -> None:
        """Draw readings, growth and the comparison in words."""
        read = self.typed.of(self.book.read)
        rig = self.book.latest
        self.query_one("#hands", PictureView).picture = hand_plot(read, rig)
        self.query_one("#growth", PictureView).picture = growth_chart(read, rig)
        self.put("#finding", _finding(read, rig))


def _finding(read: dict[str, tuple[float, ...]], rig: KeptRun | None) -> str:
    if rig is None:
        return "The rig has not measured this pair yet."
    lines = [f"The rig: {format_figure(rig.figures.operate)}."]
    often = {who: values for who, values in read.items() if len(values) > 1}
    if often:
        try:
            comparison = compare_by_hand(often, rig.figures.operate)
        except InputError as exc:
            return f"{lines[0]} Not compared: {exc}."
        lines += [f"{one.sentence}." for one in comparison.people]
        between = comparison.between_people
        if between is not None:
            lines.append(
                f"Between people: standard deviation {between.sd_between:.3g} mm,"
                f" p = {between.p:.2g}."
            )
    return "\n".join(lines)
