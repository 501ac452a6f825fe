"""The server of the UI in a browser: the UI library's own, with a guard at its door.

Needs the extra `web`. Each tab is a process of its own; the lock of the port keeps two
of them off one rig.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import logging
import signal
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Final

from aiohttp import WSMsgType, web
from textual_serve.app_service import AppService
from textual_serve.server import Server, to_int

from rig.errors import InputError
from rig.tui.web.brakes import GuessBrake, MessageBrake
from rig.tui.web.idle_connections import ASKING_PATIENCE_S, IdleConnections
from rig.tui.web.tab_process import TabProcess
from rig.tui.web.web_access import Access, Request
from rig.tui.web.web_look import LookOn

TITLE: Final = "Gapsweep"
_PAGE_FOLDER: Final = Path(__file__).parent
# The page's own script and style, the terminal's, and nothing from elsewhere
_POLICY: Final = (
    "default-src 'none'; script-src 'self' 'unsafe-inline'; connect-src 'self'; "
    "style-src 'self' 'unsafe-inline'; font-src 'self'; img-src 'self' data:; "
    "frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)
MOST_TABS: Final = 8
_USUAL_SIZE: Final = (80, 24)  # columns and rows of a page that says none
_LONGEST_LINE: Final = 4096  # bytes of a request's first line
_LONGEST_FIELD: Final = 8192  # bytes of a header: cookies of other pages here are there
_KEPT_OPEN_S: Final = 15.0  # between two requests
_LOOK_EVERY_S: Final = 0.5
_LONGEST_MESSAGE: Final = 65_536  # bytes; the longest is what somebody pastes
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class GuardedServer(Server):
    """Serves the UI to whom `Access` lets in.

    Args:
        access: Where, and to whom.
        rig_name: A rig to offer first; None for none.
        records: Where the records are; None for the user's own.
        look_folder: Where the tabs leave pictures for onlookers; for this user alone.
        patience_s: How long a connection without a tab may ask for nothing.
    """

    def __init__(
        self,
        access: Access,
        *,
        rig_name: str | None,
        records: str | None,
        look_folder: Path,
        patience_s: float = ASKING_PATIENCE_S,
    ) -> None:
        super().__init__(
            TITLE,
            host=access.host,
            port=access.port,
            title=TITLE,
            templates_path=_PAGE_FOLDER,
        )
        self._access = access
        self._words = _command(rig_name, records, look_folder)
        self._tabs = 0
        self._processes: set[TabProcess] = set()
        self._guesses = GuessBrake(time.monotonic)
        self._look_on = LookOn(look_folder)
        self._idle = IdleConnections(time.monotonic, patience_s)

    def serve(self, debug: bool = False) -> None:
        """Serve until a signal to end comes.

        Raises:
            OSError: The address or the port is not to be had.
        """
        self.initialize_logging()
        with asyncio.Runner() as runner, contextlib.suppress(asyncio.CancelledError):
            runner.run(self._listen_until_told())

    async def _listen_until_told(self) -> None:
        listening = asyncio.current_task()
        assert listening is not None
        loop = asyncio.get_running_loop()
        with contextlib.suppress(NotImplementedError):
            for number in (signal.SIGINT, signal.SIGTERM):
                loop.add_signal_handler(number, listening.cancel)
        await self.listen()

    async def listen(self) -> None:
        """Serve, and cut off what is slow, until it is cancelled.

        Raises:
            OSError: The address or the port is not to be had.
        """
        runner = web.AppRunner(
            await self._make_app(),
            keepalive_timeout=_KEPT_OPEN_S,
            max_line_size=_LONGEST_LINE,
            max_field_size=_LONGEST_FIELD,
        )
        await runner.setup()
        try:
            await web.TCPSite(runner, self._access.host, self._access.port).start()
            while True:
                await asyncio.sleep(_LOOK_EVERY_S)
                server = runner.server
                assert server is not None
                for connection in self._idle.to_cut_off(server.connections):
                    connection.force_close()
        finally:
            await runner.cleanup()

    def initialize_logging(self) -> None:
        """Let only what is wrong through, to standard error."""
        logging.basicConfig(level=logging.WARNING, format="%(message)s")

    async def on_startup(self, app: web.Application) -> None:
        """Say nothing: the command has said it."""

    async def on_shutdown(self, app: web.Application) -> None:
        """Have the tabs stop the axis first; browsers may take long to say goodbye."""
        await asyncio.gather(*(tab.stop() for tab in self._processes))

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.add_routes(self._look_on.routes())
        app.middlewares.append(self._guard)
        return app

    @web.middleware
    async def _guard(
        self, request: web.Request, handler: Handler
    ) -> web.StreamResponse:
        self._idle.note_request(request.protocol)
        access = self._access
        token = request.query.get("token", "")
        # What will be carried out counts, not how its address is written
        resource = request.match_info.route.resource
        asked = Request(
            host=request.host,
            origin=request.headers.get("Origin", ""),
            cookies=request.cookies,
            token=token,
            path="" if resource is None else resource.canonical,
        )
        address = request.remote or ""
        if access.shows_a_token(asked) and self._guesses.holds(address):
            sentence = "Too many wrong tokens came from there: wait a minute.\n"
            return web.Response(status=429, text=sentence)
        refused = access.why_refused(asked)
        if refused:
            if access.shows_a_wrong_token(asked):
                self._guesses.note_wrong(address)
            return web.Response(status=403, text=f"Refused: {refused}.\n")
        if token and resource is not None:
            raise self._moved(request.path, token)
        if request.body_exists and resource is not None:
            too_long = web.Response(status=413, text="No request here has a body.\n")
            too_long.force_close()
            return too_long
        response = await handler(request)
        if not response.prepared:
            response.headers.setdefault("Content-Security-Policy", _POLICY)
            response.headers["Referrer-Policy"] = "no-referrer"
        return response

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """Open a tab and serve it until it goes."""
        if self._tabs >= MOST_TABS:
            sentence = f"{MOST_TABS} tabs are open, and no more are served.\n"
            raise web.HTTPServiceUnavailable(text=sentence)
        self._tabs += 1
        self._idle.note_tab(request.protocol)
        try:
            return await self._serve_tab(request)
        finally:
            self._tabs -= 1

    async def _serve_tab(self, request: web.Request) -> web.WebSocketResponse:
        socket = web.WebSocketResponse(heartbeat=15, max_msg_size=_LONGEST_MESSAGE)
        width = to_int(request.query.get("width", ""), _USUAL_SIZE[0])
        height = to_int(request.query.get("height", ""), _USUAL_SIZE[1])
        await socket.prepare(request)
        tab = TabProcess(
            self._words,
            write_bytes=socket.send_bytes,
            write_str=socket.send_str,
            close=socket.close,
            download_manager=self.download_manager,
        )
        self._processes.add(tab)
        try:
            await tab.start(width, height)
            await self._process_messages(socket, tab)
        finally:
            # The server may be leaving, and the axis must be stopped all the same
            await tab.stop()
            self._processes.discard(tab)
        return socket

    async def _process_messages(
        self, websocket: web.WebSocketResponse, app_service: AppService
    ) -> None:
        """Pass on what the page tells, until it tells too much or nonsense."""
        brake = MessageBrake(time.monotonic)
        async for message in websocket:
            if not brake.takes_one():
                await websocket.close(code=1008, message=b"too many messages")
                return
            if message.type != WSMsgType.TEXT:
                continue
            try:
                await _pass_on(json.loads(message.data), websocket, app_service)
            except (ValueError, TypeError, LookupError, RecursionError):
                await websocket.close(code=1008, message=b"no such message")
                return

    def _moved(self, path: str, token: str) -> web.HTTPSeeOther:
        """Take a token out of the address line, the history and the referrer."""
        moved = web.HTTPSeeOther(path)
        cookie = self._access.cookie_for(token)
        if cookie is not None:
            moved.set_cookie(
                cookie.name,
                token,
                path=cookie.path,
                httponly=True,
                samesite=cookie.same_site,
            )
        return moved


async def _pass_on(
    told: list[str | dict[str, int]], websocket: web.WebSocketResponse, tab: AppService
) -> None:
    """Pass a message of the page on to its process.

    Raises:
        TypeError, LookupError, ValueError: It is no such message.
    """
    match told:
        case ["stdin", str(keys)]:
            await tab.send_bytes(keys.encode("utf-8"))
        case ["resize", {"width": int(width), "height": int(height)}]:
            await tab.set_terminal_size(width, height)
        case ["ping", sent]:
            await websocket.send_json(["pong", sent])
        case ["blur", *_]:
            await tab.blur()
        case ["focus", *_]:
            await tab.focus()
        case _:
            raise ValueError("no such message")


def _command(rig_name: str | None, records: str | None, look_folder: Path) -> list[str]:
    words = [sys.executable, "-m", "rig.tui", "--look-folder", str(look_folder)]
    if rig_name is not None:
        words += ["--rig", rig_name]
    if records is not None:
        words += ["--records", records]
    return words


def _picture_folder() -> tempfile.TemporaryDirectory[str]:
    """Make the folder that tabs leave pictures in; no other user can look into it."""
    try:
        # Tabs may still write while it goes
        return tempfile.TemporaryDirectory(
            prefix="gapsweep-look-", ignore_cleanup_errors=True
        )
    except OSError as exc:
        raise InputError(
            f"no folder for pictures of the screen can be made: {exc.strerror}",
            hint="set TMPDIR to a folder that can be written to",
        ) from exc


def serve_until_stopped(
    access: Access, *, rig_name: str | None, records: str | None
) -> None:
    """Serve until Ctrl-C.

    Raises:
        InputError: There is no place for temporary files.
        OSError: The address or the port is not to be had.
    """
    with _picture_folder() as folder:
        GuardedServer(
            access, rig_name=rig_name, records=records, look_folder=Path(folder)
        ).serve()
