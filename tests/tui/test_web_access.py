"""Who may open the UI in a browser: everybody else is refused, in one sentence."""

from __future__ import annotations

import pytest

from rig.errors import InputError
from rig.tui.web.web_access import LOOK_PAGE, LOOK_PICTURE, Access, Request, warning

TOKEN = "abcdefghijklmnop0123"
LOOK_TOKEN = "only-for-looking-on-0"
THERE = {"host": "bench.example:8420", "origin": "http://bench.example:8420"}
ACTING = ("/", "/ws", "/download/{key}", "/static", "")


def request(**told: str) -> Request:
    names = {"cookie": "gapsweep-8420", "look_cookie": "gapsweep-look-8420"}
    cookies = {name: told[key] for key, name in names.items() if key in told}
    return Request(
        host=told.get("host", "127.0.0.1:8420"),
        origin=told.get("origin", ""),
        cookies=cookies,
        token=told.get("token", ""),
        path=told.get("path", "/"),
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


@pytest.fixture
def for_a_class() -> Access:
    return Access(host="0.0.0.0", port=8420, token=TOKEN, look_token=LOOK_TOKEN)


@pytest.mark.parametrize("shown", ["token", "look_cookie"])
@pytest.mark.parametrize("path", [LOOK_PAGE, LOOK_PICTURE])
def test_the_look_token_opens_what_only_shows(
    for_a_class: Access, shown: str, path: str
) -> None:
    asked = request(**THERE, path=path, **{shown: LOOK_TOKEN})

    assert for_a_class.why_refused(asked) == ""


@pytest.mark.parametrize("shown", ["token", "cookie", "look_cookie"])
@pytest.mark.parametrize("path", [*ACTING, "/looking", "/look/", "/look/../ws"])
def test_the_look_token_opens_nothing_that_acts(
    for_a_class: Access, shown: str, path: str
) -> None:
    asked = request(**THERE, path=path, **{shown: LOOK_TOKEN})

    assert for_a_class.why_refused(asked) != ""


def test_an_onlooker_at_the_wrong_page_is_told_the_right_one(
    for_a_class: Access,
) -> None:
    refused = for_a_class.why_refused(request(**THERE, token=LOOK_TOKEN))

    assert "for looking on: open http://127.0.0.1:8420/look" in refused


@pytest.mark.parametrize("path", [*ACTING, LOOK_PAGE, LOOK_PICTURE])
def test_the_token_opens_everything(for_a_class: Access, path: str) -> None:
    assert for_a_class.why_refused(request(**THERE, path=path, token=TOKEN)) == ""
    assert for_a_class.why_refused(request(**THERE, path=path, cookie=TOKEN)) == ""


@pytest.mark.parametrize("path", [LOOK_PAGE, LOOK_PICTURE])
def test_who_shows_no_token_does_not_look_on_either(
    for_a_class: Access, path: str
) -> None:
    without = Access(host="0.0.0.0", port=8420, token=TOKEN)

    for access in (for_a_class, without):
        assert "token" in access.why_refused(request(**THERE, path=path))
    wrong = request(**THERE, path=path, token=LOOK_TOKEN, look_cookie=LOOK_TOKEN)
    assert "token" in without.why_refused(wrong)
    empty = request(**THERE, path=path, token="", look_cookie="")
    assert "token" in without.why_refused(empty)


@pytest.mark.parametrize("path", [LOOK_PAGE, LOOK_PICTURE])
def test_other_pages_do_not_look_on(for_a_class: Access, path: str) -> None:
    here = Access(host="127.0.0.1", port=8420)
    elsewhere = {**THERE, "origin": "http://elsewhere.example", "path": path}

    assert "another origin" in for_a_class.why_refused(
        request(**elsewhere, look_cookie=LOOK_TOKEN)
    )
    assert here.why_refused(request(path=path)) == ""
    assert here.why_refused(request(path=path, host="rebound.example:8420")) != ""


@pytest.mark.parametrize(
    ("token", "look_token", "why"),
    [
        (TOKEN, "short", "the look token has 5 characters"),
        (TOKEN, "ümlautümlautümlaut", "look token .* ASCII"),
        (TOKEN, TOKEN, "is the one for acting"),
        ("", LOOK_TOKEN, "none for acting"),
    ],
)
@pytest.mark.parametrize("host", ["127.0.0.1", "0.0.0.0"])
def test_a_look_token_that_guards_nothing_is_refused(
    host: str, token: str, look_token: str, why: str
) -> None:
    if host == "0.0.0.0" and not token:
        why = "can be reached from other computers"
    with pytest.raises(InputError, match=why):
        Access(host=host, port=8420, token=token, look_token=look_token)


def test_each_token_is_kept_in_a_cookie_of_its_own(for_a_class: Access) -> None:
    acting, looking = for_a_class.cookie_for(TOKEN), for_a_class.cookie_for(LOOK_TOKEN)

    assert acting is not None
    assert looking is not None
    assert (acting.path, acting.same_site) == ("/", "Strict")
    assert looking.path == LOOK_PAGE
    assert acting.name != looking.name
    assert for_a_class.cookie_for("neither") is None
    assert for_a_class.cookie_for("") is None
    assert Access(host="127.0.0.1", port=8420).cookie_for("") is None


def test_the_warning_says_what_can_happen() -> None:
    here = warning(Access(host="127.0.0.1", port=8420))
    anywhere = warning(Access(host="0.0.0.0", port=8420, token=TOKEN))

    assert "can move the axis" in here
    assert "can move the axis" in anywhere
    assert "Only programs on this computer" in here
    assert "unencrypted" in anywhere
    assert TOKEN not in anywhere


def test_the_warning_says_who_may_look_on(for_a_class: Access) -> None:
    here = warning(Access(host="127.0.0.1", port=8420))
    one_token = warning(Access(host="127.0.0.1", port=8420, token=TOKEN))
    two_tokens = warning(for_a_class)

    for words in (here, one_token, two_tokens):
        assert "/look shows the tab with the rig" in words
        assert "read only" in words
        assert TOKEN not in words
        assert LOOK_TOKEN not in words
    assert "can also open the page that acts" in here
    assert "set GAPSWEEP_LOOK_TOKEN" in one_token
    assert "opens that page and nothing else" in two_tokens
