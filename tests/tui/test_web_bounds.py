"""What a browser can ask of the server is bounded, and tabs end with their server."""

from __future__ import annotations

import asyncio
import os
import signal
import socket as sockets
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from pathlib import Path

import aiohttp
import pytest

from rig.tui.web.brakes import (
    GUESS_PAUSE_S,
    MESSAGE_BURST,
    MESSAGES_S,
    MOST_GUESSES,
    GuessBrake,
    MessageBrake,
)
from rig.tui.web.idle_connections import (
    ASKING_PATIENCE_S,
    MOST_CONNECTIONS,
    IdleConnections,
)
from rig.tui.web.tab_process import HIGHEST, WIDEST, TabProcess, bounded_size
from rig.tui.web.web_access import Access
from rig.tui.web.web_server import MOST_TABS, GuardedServer
from tests.patience import PATIENCE_S
from tests.recorded_port import recorded_rig
from tests.tui.serving import TOKEN, served, until

pytestmark = pytest.mark.long


class Clock:
    def __init__(self) -> None:
        self.now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def children_of(number: int) -> list[int]:
    found = []
    for place in Path("/proc").glob("[0-9]*"):
        try:
            fields = (place / "stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == number and fields[0] != "Z":
            found.append(int(place.name))
    return found


def test_a_size_that_no_screen_has_is_brought_into_bounds() -> None:
    assert bounded_size(10**9, 10**9) == (WIDEST, HIGHEST)
    assert bounded_size(-5, 0) == bounded_size(1, 1)
    assert bounded_size(120, 40) == (120, 40)


def test_an_address_that_guesses_waits_and_others_do_not() -> None:
    clock = Clock()
    brake = GuessBrake(clock)
    for _ in range(MOST_GUESSES):
        assert not brake.holds("10.0.0.1")
        brake.note_wrong("10.0.0.1")

    assert brake.holds("10.0.0.1")
    assert not brake.holds("10.0.0.2")
    clock.now_s += GUESS_PAUSE_S
    assert not brake.holds("10.0.0.1")


def test_addresses_without_end_are_not_kept_without_end() -> None:
    brake = GuessBrake(Clock())
    for number in range(5000):
        brake.note_wrong(f"2001:db8::{number:x}")

    assert len(brake._guesses) <= 1000


def test_messages_at_the_pace_of_hands_pass_and_a_flood_does_not() -> None:
    clock = Clock()
    brake = MessageBrake(clock)
    for _ in range(int(10 * MESSAGE_BURST)):
        clock.now_s += 1.01 / MESSAGES_S
        assert brake.takes_one()

    taken = [brake.takes_one() for _ in range(int(MESSAGE_BURST) + 5)]

    assert not taken[-1]


def status_of(address: str) -> int:
    try:
        with urllib.request.urlopen(address, timeout=PATIENCE_S) as answer:
            return answer.status
    except urllib.error.HTTPError as exc:
        return exc.code


def test_guessing_is_braked_and_the_right_token_from_there_waits_too(
    tmp_path: Path,
) -> None:
    with served(tmp_path, "--token", TOKEN) as address:
        guesses = [status_of(f"{address}?token=guess{n}") for n in range(MOST_GUESSES)]
        later = status_of(f"{address}?token=guess")
        right = status_of(f"{address}?token={TOKEN}")

    assert guesses == [403] * MOST_GUESSES
    assert later == right == 429


def test_a_connection_that_asks_for_nothing_is_cut_off_and_a_tab_is_not() -> None:
    clock = Clock()
    idle = IdleConnections(clock)
    idle.note_request("tab")
    idle.note_tab("tab")
    there = ["tab", "silent", "asks"]
    assert idle.to_cut_off(there) == []

    clock.now_s += ASKING_PATIENCE_S - 1.0
    idle.note_request("asks")
    assert idle.to_cut_off(there) == []
    clock.now_s += 1.0

    assert idle.to_cut_off(there) == ["silent"]


def test_of_too_many_connections_the_last_to_come_are_cut_off() -> None:
    idle = IdleConnections(Clock())
    idle.note_tab(0)

    assert idle.to_cut_off(range(MOST_CONNECTIONS + 3)) == [
        MOST_CONNECTIONS + 1,
        MOST_CONNECTIONS + 2,
    ]


@asynccontextmanager
async def listening(folder: Path) -> AsyncIterator[int]:
    """Serve in this process with little patience; gives the port."""
    with sockets.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    server = GuardedServer(
        Access(host="127.0.0.1", port=port),
        rig_name=None,
        records=None,
        look_folder=folder,
        patience_s=0.2,
    )
    task = asyncio.create_task(server.listen())
    try:
        async with asyncio.timeout(PATIENCE_S):
            while True:
                try:
                    _, writer = await asyncio.open_connection("127.0.0.1", port)
                except ConnectionRefusedError:
                    assert not task.done()
                    await asyncio.sleep(0.01)
                else:
                    writer.close()
                    break
        yield port
    finally:
        task.cancel()
        await asyncio.wait([task])


async def answer_to(port: int, request: bytes) -> bytes:
    """Return all that is answered until the server closes."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(request)
    async with asyncio.timeout(PATIENCE_S):
        answer = await reader.read()
    writer.close()
    return answer


@pytest.mark.parametrize(
    "begun", [b"", b"GET / HT", b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: a"]
)
async def test_who_never_ends_a_request_is_cut_off_without_an_answer(
    tmp_path: Path, begun: bytes
) -> None:
    async with listening(tmp_path) as port:
        assert await answer_to(port, begun) == b""


@pytest.mark.parametrize(
    ("line", "header", "body", "status"),
    [
        ("/", "X: a", "", b"200"),
        ("/" + "a" * 5000, "X: a", "", b"400"),
        ("/", "X: " + "a" * 9000, "", b"400"),
        ("/", "\r\n".join(f"X{n}: a" for n in range(1000)), "", b"400"),
        ("/", "Content-Length: 7", "a body.", b"413"),
        ("/", "Content-Length: 99999999999", "", b"413"),
        ("/", "Transfer-Encoding: chunked", "1\r\na\r\n", b"413"),
    ],
)
async def test_line_headers_and_body_of_a_request_are_bounded(
    tmp_path: Path, line: str, header: str, body: str, status: bytes
) -> None:
    async with listening(tmp_path) as port:
        request = f"GET {line} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n{header}\r\n\r\n"
        answer = await answer_to(port, (request + body).encode())

    assert answer.split()[1] == status


async def frames_until(socket: aiohttp.ClientWebSocketResponse, words: bytes) -> None:
    seen = b""
    async with asyncio.timeout(PATIENCE_S):
        while words not in seen:
            frame = await socket.receive()
            assert frame.type is aiohttp.WSMsgType.BINARY, frame
            seen += frame.data


async def test_a_page_that_talks_nonsense_or_floods_is_closed(tmp_path: Path) -> None:
    with served(tmp_path) as address:
        async with aiohttp.ClientSession() as session:
            for told in ('["stdin"]', "{", '["resize", {"width": "x"}]', "[]", "9"):
                async with session.ws_connect(f"{address}ws") as socket:
                    await socket.send_str(told)
                    code = await closing_code(socket)
                assert code == 1008, told
            async with session.ws_connect(f"{address}ws") as socket:
                for _ in range(int(2 * MESSAGE_BURST)):
                    await socket.send_str('["ping", "1"]')
                assert await closing_code(socket) == 1008


async def closing_code(socket: aiohttp.ClientWebSocketResponse) -> int | None:
    async with asyncio.timeout(PATIENCE_S):
        while not socket.closed:
            await socket.receive()
    return socket.close_code


async def test_a_tab_of_absurd_size_works_and_one_too_many_is_refused(
    tmp_path: Path,
) -> None:
    with served(tmp_path) as address:
        async with aiohttp.ClientSession() as session:
            size = "width=999999999&height=999999999"
            first = await session.ws_connect(f"{address}ws?{size}")
            await frames_until(first, b"Which rig?")
            more = [
                await session.ws_connect(f"{address}ws") for _ in range(MOST_TABS - 1)
            ]
            with pytest.raises(aiohttp.WSServerHandshakeError) as refused:
                await session.ws_connect(f"{address}ws")
            for socket in (first, *more):
                await socket.close()

    assert refused.value.status == 503


@contextmanager
def server(tmp_path: Path, rig: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    with sockets.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    code = "from rig.cli.main import main; main()"
    own = {"GAPSWEEP_RECORDS": str(tmp_path / "records.sqlite"), "HOME": str(tmp_path)}
    with subprocess.Popen(
        [sys.executable, "-c", code, "serve", "--port", str(port), "--rig", rig],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **own},
        text=True,
    ) as process:
        try:
            assert process.stdout is not None
            address = process.stdout.readline().strip()
            until(lambda: status_there(address) == 200)
            yield process, address
        finally:
            process.kill()


def status_there(address: str) -> int:
    try:
        return status_of(address)
    except urllib.error.URLError:
        return 0


@pytest.mark.parametrize("name", ["SIGKILL", "SIGTERM"])
async def test_a_tab_ends_with_its_server_and_stops_the_axis(
    tmp_path: Path, name: str
) -> None:
    with recorded_rig() as port, server(tmp_path, port.path) as (process, address):
        async with aiohttp.ClientSession() as session:
            socket = await session.ws_connect(f"{address}ws")
            await frames_until(socket, b"Which rig?")
            await socket.send_str('["stdin", "\\r"]')
            await frames_until(socket, b"Check the bench")
            tabs = children_of(process.pid)
            before = port.stops

            process.send_signal(getattr(signal, name))
            await asyncio.to_thread(port.wait_for, b"#")
            await asyncio.to_thread(until, lambda: not any(map(is_there, tabs)))

    assert len(tabs) == 1
    assert before == 0


def is_there(number: int) -> bool:
    try:
        fields = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return False
    return fields[0] != "Z"


async def test_a_browser_that_takes_nothing_is_cut_off() -> None:
    takes = asyncio.Event()  # never set

    async def never(_data: bytes) -> None:
        await takes.wait()

    async def nothing(*_told: str) -> None:
        pass

    writing = (
        "import sys; sys.stdout.write('__GANGLION__\\nD\\0\\0\\0\\1x' * 9); input()"
    )
    tab = TabProcess(
        [sys.executable, "-c", writing],
        reading_patience_s=0.0,
        write_bytes=never,
        write_str=nothing,
        close=nothing,
        download_manager=Downloads(),
    )
    await tab.start(80, 24)
    assert tab._process is not None

    async with asyncio.timeout(PATIENCE_S):
        assert tab._task is not None
        await tab._task
        await tab.stop()

    assert tab._process.returncode is not None


class Downloads:
    async def cancel_app_downloads(self, app_service_id: str) -> None:
        pass
