"""The command palette: everything that can be done now, as `noun: Verb`."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from textual.app import App, SystemCommand
from textual.command import DiscoveryHit, Hits
from textual.screen import Screen
from textual.system_commands import SystemCommandsProvider

from rig.tui.frame.screen_list import SCREENS
from rig.tui.state.keys import BY_CHORD_ONLY, shown

# Title, explanation, action of the app
_OF_THE_APP = (
    ("help: Keys and words", "Explain keys and words", "help"),
    ("axis: Stop", "Stop the axis at once", "stop_now"),
    ("run: Details", "Operator, part, temperature and note of the next run", "details"),
    ("theme: Light or dark", "Change the colours", "light_or_dark"),
    (
        "theme: High contrast",
        "Take the colours that stand out most, or the dark ones again",
        "high_contrast",
    ),
    (
        "motion: Full or reduced",
        "Let target and dots move smoothly, or only now and then",
        "motion_full_or_reduced",
    ),
    ("bell: On or off", "Ring at the end of a run, or not", "bell_on_or_off"),
)
_LAST = ("app: Quit", "Leave; asks while something moves or would be lost", "quit")


class InOrder(SystemCommandsProvider):
    """Lists the commands in their own order, so that Enter alone only explains."""

    async def discover(self) -> Hits:
        """Yield all commands, before anything is typed."""
        for title, words, callback, _ in self.app.get_system_commands(self.screen):
            yield DiscoveryHit(title, callback, help=words)


def commands(app: App[None], screen: Screen[object]) -> Iterable[SystemCommand]:
    """Yield what the app and its screens offer; quitting comes last."""
    first, *others = _OF_THE_APP
    yield _of_the_app(app, *first)
    yield from _of_the_screen(app, screen)
    for command in others:
        yield _of_the_app(app, *command)
    for entry in SCREENS:
        go = partial(app.run_action, f"open_screen('{entry.name}')")
        yield SystemCommand(f"screen: {entry.title}", entry.sentence.capitalize(), go)
    yield _of_the_app(app, *_LAST)


def _of_the_app(app: App[None], title: str, words: str, action: str) -> SystemCommand:
    return SystemCommand(title, words, partial(app.run_action, action))


def _of_the_screen(app: App[None], screen: Screen[object]) -> Iterable[SystemCommand]:
    """Yield what its own keys do: a key `run.note` stands as "run: Note".

    What begins a motion or is kept is only named: a choice ends in Enter.
    """
    for active in screen.active_bindings.values():
        binding = active.binding
        noun, dot, _ = (binding.id or "").partition(".")
        if active.node is screen and active.enabled and dot:
            title = f"{noun}: {binding.description}"
            words = binding.tooltip or f"Key {binding.key_display or binding.key}"
            run = partial(screen.run_action, binding.action)
            if binding.key in BY_CHORD_ONLY:
                tell = partial(app.notify, f"{words}.", title=shown(binding.key))
                yield SystemCommand(title, f"{words}: {shown(binding.key)}", tell)
            else:
                yield SystemCommand(title, words, run)


def keys_of(screen: Screen[object]) -> list[tuple[str, str]]:
    """Return the screen's own keys with what they do."""
    return [
        (
            binding.key_display or binding.key,
            (binding.tooltip or binding.description).rstrip("."),
        )
        for active in screen.active_bindings.values()
        if active.node is screen and (binding := active.binding).id
    ]
