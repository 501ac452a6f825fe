"""The first screen: which rig."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Button, Input, OptionList, Static
from textual.widgets.option_list import Option

from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.rig.bench_job import Connect
from rig.tui.state.memory import RIG
from rig.tui.state.situation import LinkState, Situation

_SIMULATED = "sim://?sensor=capacitive&target=steel&pace="
SIMULATED = {
    f"{_SIMULATED}real": "Simulated rig, at the pace of a real one: about a minute",
    f"{_SIMULATED}fast": "Simulated rig, without waiting",
}


class RigScreen(FramedScreen):
    """Choose a rig and connect to it."""

    HEADING = "Rig"
    AUTO_FOCUS = "#rigs"

    def compose_body(self) -> ComposeResult:
        """Yield the list, and a field for what is not in it."""
        yield Static(
            "Measures at which gap a proximity sensor operates and releases.\n"
            "The simulated rig needs nothing; all that it gives says SIMULATED.",
            classes="caption",
        )
        rigs = OptionList(id="rigs", classes="framed")
        rigs.border_title = "Which rig?"
        yield rigs
        yield Static("Another port, or a pyserial URL", classes="caption")
        with Horizontal(id="other-row"):
            yield Input(placeholder="e.g. socket://localhost:4000", id="other")
            yield Button("Connect", id="connect")

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.link is LinkState.LIVE:
            return "Connected. F3 goes to the bench; Enter connects to another rig."
        return "Choose a rig with the arrow keys and press Enter."

    def show(self, now: Situation) -> None:
        """Fill the list of rigs."""
        rigs = self.query_one("#rigs", OptionList)
        names = [*SIMULATED, *(port.name for port in now.ports or ())]
        given, last = self.app.rig_name, self.app.kept(RIG)
        for name in (last, given):
            if name and name not in names:
                names.insert(0, name)
        if [option.id for option in rigs.options] != names:
            described = {port.name: port.description for port in now.ports or ()}
            rigs.clear_options()
            rigs.add_options(
                Option(_label(name, described.get(name, ""), last), id=name)
                for name in names
            )
            rigs.highlighted = names.index(given or last or names[0])
        self.query_one("#connect", Button).disabled = now.under_way is not None
        rigs.disabled = now.under_way is not None

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the list."""
        self.query_one("#rigs").focus()

    @on(OptionList.OptionSelected, "#rigs")
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.ask(Connect(rig_name=str(event.option.id)))

    @on(Input.Submitted, "#other")
    @on(Button.Pressed, "#connect")
    def _typed(self) -> None:
        name = self.query_one("#other", Input).value.strip()
        if name and self.app.situation.under_way is None:
            self.ask(Connect(rig_name=name))
        elif not name:
            self.query_one("#rigs", OptionList).action_select()


def rig_words(name: str) -> str:
    """Return what a rig is called in the list."""
    return SIMULATED.get(name, name)


def _label(name: str, description: str, last: str) -> str:
    words = rig_words(name)
    if description:
        words = f"{words}  ·  {description}"
    return f"{words}  ·  used last" if name == last else words
