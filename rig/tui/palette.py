"""The command palette: everything that can be done now, as `noun: Verb`."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from textual.app import App, SystemCommand
from textual.screen import Screen

from rig.tui.places import PLACES

# Title, explanation, action of the app
_OF_THE_APP = (
    ("axis: Stop", "Stop the axis at once", "stop_now"),
    ("run: Details", "Operator, part, temperature and note of the next run", "details"),
    ("help: Keys and words", "Explain keys and words", "help"),
    ("theme: Light or dark", "Change the colours", "light_or_dark"),
    ("bell: On or off", "Ring at the end of a run, or not", "bell_on_or_off"),
    ("app: Quit", "Stop the axis and leave", "quit"),
)


def commands(app: App[None], screen: Screen[object]) -> Iterable[SystemCommand]:
    """Yield what the app, the places and the screen in view offer."""
    yield from _of_the_screen(screen)
    for title, words, action in _OF_THE_APP:
        yield SystemCommand(title, words, partial(app.run_action, action))
    for entry in PLACES:
        go = partial(app.run_action, f"place('{entry.name}')")
        yield SystemCommand(f"place: {entry.title}", entry.sentence.capitalize(), go)


def _of_the_screen(screen: Screen[object]) -> Iterable[SystemCommand]:
    """Yield what its own keys do: a key `run.note` stands as "run: Note"."""
    for active in screen.active_bindings.values():
        binding = active.binding
        noun, dot, _ = (binding.id or "").partition(".")
        if active.node is screen and active.enabled and dot:
            yield SystemCommand(
                f"{noun}: {binding.description}",
                binding.tooltip or f"Key {binding.key_display or binding.key}",
                partial(screen.run_action, binding.action),
            )


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
