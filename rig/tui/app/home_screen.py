"""The list of all screens, by way of working."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.frame.screen_list import SCREENS, ScreenEntry, Way
from rig.tui.state.situation import LinkState, Situation

_TITLE_WIDTH = 15
_HEADS = {
    Way.EVERYBODY: "Everybody: the rig, step by step",
    Way.TECHNICIAN: "Technician: the day's measurements",
    Way.INSTRUCTOR: "Instructor: in front of a class",
    Way.INSPECTOR: "Inspector: lots",
}


class HomeScreen(FramedScreen):
    """Choose where to go."""

    HEADING = "Screens"
    AUTO_FOCUS = "#screens"

    def compose_body(self) -> ComposeResult:
        """Yield the list, a head above each way of working."""
        options: list[Option] = []
        for way in Way:
            entries = [e for e in SCREENS if e.way is way and e.name != "home"]
            if entries:
                head = Content.styled(_HEADS[way], "bold $text-primary")
                options.append(Option(head, disabled=True))
                options += [Option(_line(e), id=e.name) for e in entries]
        yield OptionList(*options, id="screens", classes="framed")

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.link is not LinkState.LIVE:
            return "Choose a screen with Enter; F2 first for a rig. ^Q quits."
        return "Choose a screen with the arrow keys and Enter. Ctrl+Q quits."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the list."""
        self.query_one("#screens").focus()

    @on(OptionList.OptionSelected, "#screens")
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.app.switch_mode(str(event.option.id))


def _line(entry: ScreenEntry) -> Content:
    title = f"  {entry.title}".ljust(_TITLE_WIDTH)
    key = entry.key.upper().ljust(4)
    return Content.assemble((title, "bold"), (key, "$text-muted"), entry.sentence)
