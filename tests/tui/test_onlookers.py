"""Onlookers see the screen of the tab that acts, and have no hand on it."""

from __future__ import annotations

import asyncio
import http.client
import stat
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from xml.etree import ElementTree

import aiohttp
import pytest
from aiohttp.test_utils import TestClient, TestServer, unused_port

from rig.tui.web.look_folder import TabPicture
from rig.tui.web.web_access import Access
from rig.tui.web.web_server import GuardedServer
from tests.patience import PATIENCE_S
from tests.report.chromium import CHROMIUM, Chromium
from tests.tui.conftest import FAST
from tests.tui.serving import (
    LOOK_TOKEN,
    TOKEN,
    is_an_error,
    served,
    visit,
)
from tests.tui.serving import until as wait_until

Client = TestClient[aiohttp.web.Request, aiohttp.web.Application]
LOOKING = {"token": LOOK_TOKEN}


@pytest.fixture
def pictures(tmp_path: Path) -> Path:
    folder = tmp_path / "pictures"
    folder.mkdir()
    return folder


# ------------------------------------------------------------- what the server gives


@asynccontextmanager
async def server(folder: Path, *, token: str, look_token: str) -> AsyncIterator[Client]:
    port = unused_port()
    access = Access(host="127.0.0.1", port=port, token=token, look_token=look_token)
    guarded = GuardedServer(access, rig_name=None, records=None, look_folder=folder)
    app = await guarded._make_app()
    async with TestClient(TestServer(app, port=port)) as client:
        yield client


@pytest.fixture
async def for_a_class(pictures: Path) -> AsyncIterator[Client]:
    async with server(pictures, token=TOKEN, look_token=LOOK_TOKEN) as client:
        yield client


@pytest.fixture
async def for_this_computer(pictures: Path) -> AsyncIterator[Client]:
    async with server(pictures, token="", look_token="") as client:
        yield client


def onlooker(client: Client) -> dict[str, str]:
    return {"Cookie": f"gapsweep-look-{client.port}={LOOK_TOKEN}"}


async def test_a_picture_is_given_once_and_then_only_when_it_is_new(
    for_this_computer: Client, pictures: Path
) -> None:
    async def get(etag: str = "") -> aiohttp.ClientResponse:
        headers = {"If-None-Match": etag} if etag else {}
        return await for_this_computer.get("/look/screen.svg", headers=headers)

    tab = TabPicture(pictures)
    nothing = await get()
    tab.show("<svg>1</svg>", has_rig=True)
    first = await get()
    first_text = await first.text()
    tab.keep()
    same = await get(first.headers["ETag"])
    tab.show("<svg>2</svg>", has_rig=True)
    second = await get(first.headers["ETag"])
    second_text = await second.text()
    tab.end()
    ended = await get(second.headers["ETag"])

    statuses = [a.status for a in (nothing, first, same, second, ended)]
    assert statuses == [204, 200, 304, 200, 204]
    assert (first_text, second_text) == ("<svg>1</svg>", "<svg>2</svg>")
    for answer in (nothing, first, same, second, ended):
        assert answer.headers["Cache-Control"] == "no-store"
    assert first.content_type == "image/svg+xml"
    assert "default-src 'none'; sandbox" in first.headers["Content-Security-Policy"]
    assert first.headers["Content-Encoding"] == "gzip"
    plain = await for_this_computer.get(
        "/look/screen.svg", headers={"Accept-Encoding": "identity"}
    )
    assert plain.status == 204


async def test_who_takes_no_compressed_answer_gets_a_plain_one(
    for_this_computer: Client, pictures: Path
) -> None:
    TabPicture(pictures).show("<svg/>", has_rig=True)

    answer = await for_this_computer.get(
        "/look/screen.svg", headers={"Accept-Encoding": "identity"}
    )

    assert "Content-Encoding" not in answer.headers
    assert await answer.text() == "<svg/>"


async def test_the_look_token_opens_the_page_and_the_picture(
    for_a_class: Client, pictures: Path
) -> None:
    TabPicture(pictures).show("<svg/>", has_rig=True)
    bare = await for_a_class.get("/look")
    moved = await for_a_class.get("/look", params=LOOKING, allow_redirects=False)
    page = await for_a_class.get("/look", headers=onlooker(for_a_class))
    picture = await for_a_class.get("/look/screen.svg", headers=onlooker(for_a_class))

    assert bare.status == 403
    assert moved.status == 303
    assert moved.headers["Location"] == "/look"
    cookie = moved.cookies[f"gapsweep-look-{for_a_class.port}"]
    assert (cookie.value, cookie["path"], cookie["httponly"]) == (
        LOOK_TOKEN,
        "/look",
        True,
    )
    assert page.status == picture.status == 200
    text = await page.text()
    assert "Read only" in text
    assert "WebSocket" not in text
    assert "websocket" not in text
    assert page.headers["Referrer-Policy"] == "no-referrer"


async def test_the_token_for_acting_looks_on_too_and_keeps_its_own_cookie(
    for_a_class: Client,
) -> None:
    moved = await for_a_class.get(
        "/look", params={"token": TOKEN}, allow_redirects=False
    )
    cookie = moved.cookies[f"gapsweep-{for_a_class.port}"]
    page = await for_a_class.get("/look", headers={"Cookie": cookie.OutputString()})

    assert cookie["path"] == "/"
    assert page.status == 200


UPGRADE = {
    "Upgrade": "websocket",
    "Connection": "Upgrade",
    "Sec-WebSocket-Version": "13",
    "Sec-WebSocket-Key": "MDEyMzQ1Njc4OWFiY2RlZg==",
}


@pytest.mark.parametrize(
    "path",
    ["/", "/ws", "/ws?width=80&height=24", "/download/any", "/static/js/textual.js"],
)
async def test_no_onlooker_reaches_what_acts(for_a_class: Client, path: str) -> None:
    mixed = {"Cookie": f"gapsweep-{for_a_class.port}={LOOK_TOKEN}"}
    for headers in (onlooker(for_a_class), mixed):
        answer = await for_a_class.get(path, headers={**headers, **UPGRADE})
        assert answer.status == 403
        answer = await for_a_class.get(path, params=LOOKING, headers=headers)
        assert answer.status == 403
        assert "Set-Cookie" not in answer.headers


@pytest.mark.parametrize("path", ["/look", "/look/screen.svg"])
async def test_a_socket_to_what_only_shows_is_an_answer_and_no_socket(
    for_a_class: Client, pictures: Path, path: str
) -> None:
    TabPicture(pictures).show("<svg/>", has_rig=True)

    answer = await for_a_class.get(path, headers={**onlooker(for_a_class), **UPGRADE})

    assert answer.status == 200
    assert "Upgrade" not in answer.headers


@pytest.mark.parametrize("path", ["/look", "/look/screen.svg"])
@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS"])
async def test_onlookers_can_only_get(
    for_a_class: Client, for_this_computer: Client, method: str, path: str
) -> None:
    one = await for_a_class.request(
        method, path, headers=onlooker(for_a_class), data=b"x"
    )
    other = await for_this_computer.request(method, path, data=b"x")

    assert (one.status, other.status) == (403, 405)


@pytest.mark.parametrize(
    "path",
    [
        "/look/../ws",
        "/look/%2e%2e/ws",
        "/look/..%2fws",
        "/look/../",
        "/look/screen.svg/../../ws",
        "/look/../records.sqlite",
        "/look/..%2f..%2frecords.sqlite",
        "/look/%2fetc%2fpasswd",
        "/look//etc/passwd",
        "/look/other.svg",
        "/look/",
        "/lookout",
        "//look",
    ],
)
async def test_no_spelling_of_a_path_leads_anywhere_else(
    for_a_class: Client, pictures: Path, path: str
) -> None:
    (pictures.parent / "records.sqlite").write_text("secret", "utf-8")
    (pictures / "other.svg").write_text("secret", "utf-8")
    acting = {"Cookie": f"gapsweep-{for_a_class.port}={TOKEN}"}

    looking_on = await asked_as_written(for_a_class, path, onlooker(for_a_class))
    with_all_rights = await asked_as_written(for_a_class, path, acting)

    assert looking_on[0] == 403
    assert b"secret" not in with_all_rights[1]
    assert b"root:" not in with_all_rights[1]


async def asked_as_written(
    client: Client, path: str, headers: dict[str, str]
) -> tuple[int, bytes]:
    """Ask for a path that no client tidies up on the way."""

    def ask() -> tuple[int, bytes]:
        connection = http.client.HTTPConnection("127.0.0.1", client.port or 0)
        try:
            connection.request("GET", path, headers=headers)
            answer = connection.getresponse()
            return answer.status, answer.read()
        finally:
            connection.close()

    return await asyncio.to_thread(ask)


# ------------------------------------------------------------------- the whole of it


def cookie(address: str, token: str, *, looking: bool = False) -> dict[str, str]:
    port = address.rstrip("/").rpartition(":")[2]
    return {"Cookie": f"gapsweep-{'look-' if looking else ''}{port}={token}"}


async def picture_when(
    session: aiohttp.ClientSession, address: str, status: int, words: str = ""
) -> str:
    """Look on until a picture comes, or none any more; gives what stands in it."""
    headers = cookie(address, LOOK_TOKEN, looking=True)
    give_up_s = time.monotonic() + PATIENCE_S
    while time.monotonic() < give_up_s:
        async with session.get(f"{address}look/screen.svg", headers=headers) as answer:
            text = await answer.text()
            if answer.status == status and words in text.replace("\u00a0", " "):
                return text
        await asyncio.sleep(0.2)
    raise AssertionError("it never came about")


@pytest.mark.long
async def test_onlookers_see_a_tab_from_its_first_screen_to_its_end(
    tmp_path: Path,
) -> None:
    tokens = ("--token", TOKEN, "--look-token", LOOK_TOKEN)
    # A folder of the test's own, to see what becomes of what the server makes in it
    places = tmp_path / "places"
    places.mkdir()
    with served(tmp_path, *tokens, "--rig", FAST, TMPDIR=str(places)) as address:
        async with aiohttp.ClientSession() as session:
            await picture_when(session, address, 204)
            async with session.ws_connect(
                f"{address}ws?width=120&height=40", headers=cookie(address, TOKEN)
            ) as tab:
                await picture_when(session, address, 200, "Which rig?")
                (folder,) = places.glob("gapsweep-look-*")
                rights = stat.S_IMODE(folder.stat().st_mode)
                await tab.send_json(["stdin", "\r"])
                bench = await picture_when(session, address, 200, "Check the bench")
            await picture_when(session, address, 204)

    assert rights == 0o700
    assert ElementTree.fromstring(bench) is not None
    assert list(places.glob("gapsweep-look-*")) == []


STATE = "document.getElementById('state')?.textContent ?? ''"
WIDTH = "document.getElementById('screen').naturalWidth"


@pytest.mark.long
@pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")
def test_a_browser_that_looks_on_shows_the_screen_and_says_when_it_ends(
    tmp_path: Path,
) -> None:
    tokens = ("--token", TOKEN, "--look-token", LOOK_TOKEN)
    with (
        served(tmp_path, *tokens, "--rig", FAST) as address,
        Chromium() as acting,
        Chromium() as looking,
    ):
        visit(looking, f"{address}look?token={LOOK_TOKEN}")
        wait_until(lambda: "Nothing is shown yet" in looking.evaluate(STATE))
        visit(acting, f"{address}?token={TOKEN}")
        wait_until(lambda: looking.evaluate(WIDTH) > 0)
        told = looking.evaluate("document.body.innerText")
        where = looking.evaluate("location.href")
        seen = looking.evaluate("document.getElementById('screen').alt")
        acting.ask("Page.navigate", url="about:blank")
        wait_until(lambda: "has ended" in looking.evaluate(STATE))
        hidden = looking.evaluate("document.getElementById('screen').hidden")
        asked_for = looking.requests()
        complaints = [c for c in looking.complaints() if is_an_error(c)]

    assert "Read only" in told
    assert "Nothing here moves the axis" in told
    assert "Picture of the screen" in seen
    assert where == f"{address}look"
    assert hidden is True
    own = (address, f"blob:{address}", "data:")
    assert all(url.startswith(own) for url in asked_for), asked_for
    assert complaints == []
