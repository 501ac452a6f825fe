"""Who may open the UI in a browser: everybody else is refused, in one sentence."""

from __future__ import annotations

import pytest

from rig.errors import InputError
from rig.tui.web_access import Access, Request, warning

TOKEN = "abcdefghijklmnop0123"


def request(**told: str) -> Request:
    cookies = {"gapsweep-8420": told["cookie"]} if "cookie" in told else {}
    return Request(
        host=told.get("host", "127.0.0.1:8420"),
        origin=told.get("origin", ""),
        cookies=cookies,
        token=told.get("token", ""),
    )


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.1.5", "bench.example"])
def test_an_address_that_others_reach_is_refused_without_a_token(host: str) -> None:
    with pytest.raises(InputError, match="other computers") as raised:
        Access(host=host, port=8420)

    assert "GAPSWEEP_TOKEN" in raised.value.hint


@pytest.mark.parametrize("host", ["127.0.0.1", "::1", "localhost", "127.3.2.1"])
def test_the_loopback_address_needs_no_token(host: str) -> None:
    assert Access(host=host, port=8420).only_here


@pytest.mark.parametrize("token", ["short", "ümlautümlautümlaut"])
def test_a_token_that_is_guessed_or_garbled_is_refused(token: str) -> None:
    with pytest.raises(InputError, match="16 or more"):
        Access(host="0.0.0.0", port=8420, token=token)


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost", "[::1]"])
def test_the_own_page_is_let_in(name: str) -> None:
    access = Access(host="127.0.0.1", port=8420)
    host = f"{name}:8420"

    assert access.why_refused(request(host=host, origin=f"http://{host}")) == ""


@pytest.mark.parametrize(
    "told",
    [
        {"origin": "http://elsewhere.example"},
        {"origin": "null"},
        {"origin": "https://127.0.0.1:8420"},
        {"host": "rebound.example:8420", "origin": "http://rebound.example:8420"},
        {"host": "127.0.0.1:9"},
    ],
)
def test_other_pages_and_other_names_are_refused(told: dict[str, str]) -> None:
    access = Access(host="127.0.0.1", port=8420)

    assert access.why_refused(request(**told)) != ""


def test_with_a_token_only_who_shows_it_is_let_in() -> None:
    access = Access(host="0.0.0.0", port=8420, token=TOKEN)
    there = {"host": "bench.example:8420", "origin": "http://bench.example:8420"}

    assert "token is missing or wrong" in access.why_refused(request(**there))
    assert "token" in access.why_refused(request(**there, token=TOKEN[:-1]))
    assert "token" in access.why_refused(request(**there, cookie="é"))
    assert access.why_refused(request(**there, token=TOKEN)) == ""
    assert access.why_refused(request(**there, cookie=TOKEN)) == ""
    elsewhere = {**there, "origin": "http://elsewhere.example"}
    assert access.why_refused(request(**elsewhere, cookie=TOKEN)) != ""


def test_the_warning_says_what_can_happen() -> None:
    here = warning(Access(host="127.0.0.1", port=8420))
    anywhere = warning(Access(host="0.0.0.0", port=8420, token=TOKEN))

    assert "can move the axis" in here
    assert "can move the axis" in anywhere
    assert "Only programs on this computer" in here
    assert "unencrypted" in anywhere
    assert TOKEN not in anywhere
