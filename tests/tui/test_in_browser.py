"""The UI in a real browser: it loads, takes keys, and a second tab is told off."""

from __future__ import annotations

import base64
import re
import subprocess
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from sim.options import build, read_options
from sim.serve import serve_tcp
from tests.patience import PATIENCE_S
from tests.report.chromium import CHROMIUM, Chromium
from tests.tui.serving import (
    PROGRAM,
    TOKEN,
    is_an_error,
    served,
    until,
    visit,
)

_ESCAPES = re.compile(rb"\x1b\[[0-?]*[ -/]*[@-~]|\x1b[^\[]")

needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")


@pytest.fixture
def rig_url() -> Iterator[str]:
    """A simulated rig behind a URL, so that two processes want the same one."""
    server, (host, port) = serve_tcp(build(read_options({"seed": "7"})))
    thread = threading.Thread(target=server.run, name="simulated rig")
    thread.start()
    yield f"socket://{host}:{port}"
    server.stop()
    thread.join(PATIENCE_S)
    assert not thread.is_alive()


def shown(browser: Chromium) -> str:
    """Return all that the app wrote to the page so far, without its colours."""
    browser.evaluate("1")  # takes in what has happened meanwhile
    frames = [
        base64.b64decode(event["params"]["response"]["payloadData"])
        for event in browser.events
        if event.get("method") == "Network.webSocketFrameReceived"
        and event["params"]["response"]["opcode"] == 2
    ]
    return _ESCAPES.sub(b"", b"".join(frames)).decode("utf-8", "replace")


def press(browser: Chromium, key: str, code: int, text: str) -> None:
    what = {"key": key, "windowsVirtualKeyCode": code}
    browser.ask("Input.dispatchKeyEvent", type="keyDown", text=text, **what)
    browser.ask("Input.dispatchKeyEvent", type="keyUp", **what)


@pytest.mark.long
@needs_chromium
def test_the_page_loads_takes_keys_and_a_second_tab_gets_no_second_hand(
    tmp_path: Path, rig_url: str
) -> None:
    with served(tmp_path, "--rig", rig_url) as address, Chromium() as first:
        visit(first, address)
        until(lambda: "Which rig?" in shown(first))
        asked_for = first.requests()
        press(first, "Enter", 13, "\r")
        until(lambda: "Check the bench" in shown(first))
        with Chromium() as second:
            visit(second, address)
            until(lambda: "Which rig?" in shown(second))
            press(second, "Enter", 13, "\r")
            until(lambda: "in use by another" in shown(second))
            told = " ".join(shown(second).split())
        complaints = [c for c in first.complaints() if is_an_error(c)]

    assert all(url.startswith((address, "data:")) for url in asked_for), asked_for
    assert "ne window owns a rig" in told
    assert complaints == []


@pytest.mark.long
@needs_chromium
def test_leaving_the_page_ends_the_session_also_where_the_browser_keeps_the_page(
    tmp_path: Path,
) -> None:
    with served(tmp_path) as address, Chromium() as browser:
        visit(browser, address)
        until(lambda: "Which rig?" in shown(browser))
        # As when it is left; this way it stays, to be asked about its end
        browser.evaluate("window.dispatchEvent(new Event('pagehide'))")
        until(lambda: browser.evaluate("document.body.className.includes('-closed')"))
        told = browser.evaluate("document.body.innerText")

    assert "The session has ended and the axis was stopped" in told


def get(address: str, **headers: str) -> tuple[int, str]:
    asked = urllib.request.Request(address, headers=headers)
    try:
        with urllib.request.urlopen(asked, timeout=PATIENCE_S) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as exc:
        return exc.code, exc.read().decode()


@pytest.mark.long
def test_the_server_lets_in_only_its_own_page(tmp_path: Path) -> None:
    with served(tmp_path) as address:
        own = get(address)
        other_page = get(f"{address}ws", Origin="http://elsewhere.example")
        other_name = get(address, Host="rebound.example")

    assert own[0] == 200
    assert "Gapsweep" in own[1]
    assert "googleapis" not in own[1]
    assert other_page == (
        403,
        "Refused: request from another origin.\n",
    )
    assert other_name[0] == 403


@pytest.mark.long
def test_with_a_token_the_page_opens_for_who_shows_it(tmp_path: Path) -> None:
    with served(tmp_path, "--token", TOKEN) as address:
        bare = get(address)
        wrong = get(f"{address}?token=wrong")
        cookies = urllib.request.HTTPCookieProcessor()
        browser = urllib.request.build_opener(cookies)
        with browser.open(f"{address}?token={TOKEN}", timeout=PATIENCE_S) as answer:
            status, where = answer.status, answer.url
        with browser.open(address, timeout=PATIENCE_S) as again:
            later = again.status

    assert bare[0] == wrong[0] == 403
    assert status == later == 200
    assert TOKEN not in where


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.1"])
def test_another_address_is_refused_before_anything_listens(host: str) -> None:
    done = subprocess.run(
        [*PROGRAM, "serve", "--host", host],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )

    assert done.returncode == 2
    assert "can be reached from other computers" in done.stderr
    assert done.stdout == ""
