"""The first screen of who has worked here: where work was left, on one Enter."""

from __future__ import annotations

from textual import on, work
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rig.errors import InputError, RigError
from rig.tui.app.places_left import PlaceEnded, PlaceLeft, place_left
from rig.tui.bench.rig_screen import rig_words
from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.rig.bench_job import Connect
from rig.tui.state.memory import RIG
from rig.tui.state.situation import LinkState, Situation
from rig.tui.widgets.picture_view import PictureView

_START = "start"


class CarryOnScreen(FramedScreen):
    """Choose where to go on; Enter opens the place and moves nothing."""

    HEADING = "Carry on"
    AUTO_FOCUS = "#left"

    def __init__(self) -> None:
        super().__init__()
        self._left: tuple[PlaceLeft, ...] = ()

    def compose_body(self) -> ComposeResult:
        """Yield what has ended, the places, and how far the marked one is."""
        yield Static("", id="ended")
        places = OptionList(id="left", classes="framed")
        places.border_title = "Where you were"
        yield places
        with Vertical(id="left-card", classes="framed"):
            yield PictureView(id="left-picture")
        yield Static("", id="left-rig")

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._left:
            return "Enter opens the marked place; nothing moves. F2 goes to the rigs."
        return "Nothing is left open. Enter goes to the rigs, F5 lists all screens."

    def show(self, now: Situation) -> None:
        """Say which rig the place is opened with."""
        self.put("#left-rig", self._rig_words(now) if self._left else "")

    def _rig_words(self, now: Situation) -> str:
        if now.link is LinkState.LIVE:
            return f"Rig: {rig_words(now.rig_name)}; it is connected."
        if now.link is LinkState.OPENING:
            return f"Rig: {rig_words(now.rig_name)}; it is being connected."
        name = self._rig_to_connect()
        if name:
            used = "" if self.app.rig_name else ", used last"
            what = f"Rig: {rig_words(name)}{used}."
            return f"{what} Enter connects to it too."
        return "Rig: none was used yet. F2 connects to one."

    def _rig_to_connect(self) -> str:
        return self.app.rig_name or self.app.kept(RIG)

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the places."""
        self.query_one("#left").focus()

    def resumed(self) -> None:
        """Read how far the work is now."""
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        found: list[PlaceLeft | PlaceEnded] = []
        try:
            store = self.app.records()
            found = [place_left(one, store) for one in self.app.places.newest_first()]
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
        self.hand_over(self._take, found)

    def _take(self, found: list[PlaceLeft | PlaceEnded]) -> None:
        ended = [one for one in found if isinstance(one, PlaceEnded)]
        self._left = tuple(one for one in found if isinstance(one, PlaceLeft))
        told = self.query_one("#ended", Static)
        told.display = bool(ended)
        told.update("\n".join(f"{one.sign} {one.sentence}" for one in ended))
        for one in ended:
            # It is told once
            self.app.places.forget(one.place)
        places = self.query_one("#left", OptionList)
        places.clear_options()
        places.add_options(
            Option(f"◐ {one.line}", id=str(number))
            for number, one in enumerate(self._left)
        )
        places.add_option(Option("▸ Start: choose a rig", id=_START))
        places.highlighted = 0
        self.show_again()

    @on(OptionList.OptionHighlighted, "#left")
    def _marked(self, event: OptionList.OptionHighlighted) -> None:
        left = self._left_of(event.option)
        card = self.query_one("#left-card")
        card.display = left is not None
        if left is not None:
            made = "  SIMULATED" if left.simulated else ""
            card.border_title = f"How far it is{made}"
            self.query_one(PictureView).picture = left.card

    def _left_of(self, option: Option) -> PlaceLeft | None:
        if option.id is None or option.id == _START:
            return None
        return self._left[int(option.id)]

    @on(OptionList.OptionSelected, "#left")
    async def _chosen(self, event: OptionList.OptionSelected) -> None:
        left = self._left_of(event.option)
        if left is None:
            await self.app.switch_mode("rig")
        else:
            await self._open(left)

    async def _open(self, left: PlaceLeft) -> None:
        """Open the place where it stands, and connect as the screen of the rigs does.

        A screen of that place that is open already stays as it is.
        """
        app, now = self.app, self.app.situation
        rig = self._rig_to_connect()
        if now.link not in {LinkState.LIVE, LinkState.OPENING} and rig:
            self.ask(Connect(rig_name=rig))
        await app.switch_mode(left.mode)
        open_there = [getattr(one, "place", None) for one in app.screen_stack]
        if left.place in open_there:
            return
        if now.under_way is not None:
            # The screen that follows it must not go
            app.show_problem(InputError(f"not now: {now.doing}"))
            return
        while len(app.screen_stack) > 1:
            await app.pop_screen()
        await app.push_screen(left.make())
