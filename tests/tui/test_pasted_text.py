"""What is pasted into any field is text: nothing in it is obeyed by a terminal."""

from __future__ import annotations

import pytest
from textual import events
from textual.widgets import Input

from tests.tui.conftest import MakeApp, at_screen, until

pytestmark = pytest.mark.long


@pytest.mark.parametrize(
    ("text", "taken"),
    [
        ("A3\x1b[2K\x9b1A", "A3[2K1A"),
        ("A3\u202esmrofnoc", "A3smrofnoc"),
        ("A\u200b3", "A3"),
        ("u\u0308ber", "\u00fcber"),
        ("A-0017", "A-0017"),
    ],
)
async def test_what_is_pasted_is_text(make_app: MakeApp, text: str, taken: str) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f4")
        await at_screen(pilot, "Sweeps")
        field = app.screen.query_one("#part", Input)
        field.focus()
        await until(pilot, lambda: app.focused is field)
        app.post_message(events.Paste(text))
        await until(pilot, lambda: field.value != "")
        value = field.value

    assert value == taken


@pytest.mark.parametrize("sign", ["\x1b", "\x9b", "\u202e", "\u2066", "\u200b"])
async def test_a_key_cannot_type_it_either(make_app: MakeApp, sign: str) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f4")
        await at_screen(pilot, "Sweeps")
        field = app.screen.query_one("#part", Input)
        field.focus()
        await until(pilot, lambda: app.focused is field)
        app.post_message(events.Key("unknown", sign))
        app.post_message(events.Key("a", "a"))
        await until(pilot, lambda: field.value.endswith("a"))
        value = field.value

    assert value == "a"
