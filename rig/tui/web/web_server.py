"""The server of the UI in a browser: the UI library's own, with a guard at its door.

Needs the extra `web`. Each tab is a process of its own; the lock of the port keeps two
of them off one rig.
"""

from __future__ import annotations

import asyncio
import logging
import shlex
import sys
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Final

from aiohttp import web
from textual_serve.server import Server

from rig.errors import InputError
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
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class GuardedServer(Server):
    """Serves the UI to whom `Access` lets in.

    Args:
        access: Where, and to whom.
        rig_name: A rig to offer first; None for none.
        records: Where the records are; None for the user's own.
        look_folder: Where the tabs leave pictures for onlookers; for this user alone.
    """

    def __init__(
        self,
        access: Access,
        *,
        rig_name: str | None,
        records: str | None,
        look_folder: Path,
    ) -> None:
        super().__init__(
            _command(rig_name, records, look_folder),
            host=access.host,
            port=access.port,
            title=TITLE,
            templates_path=_PAGE_FOLDER,
        )
        self._access = access
        self._look_on = LookOn(look_folder)

    def initialize_logging(self) -> None:
        """Let only what is wrong through, to standard error."""
        logging.basicConfig(level=logging.WARNING, format="%(message)s")

    async def on_startup(self, app: web.Application) -> None:
        """Say nothing: the command has said it."""

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.add_routes(self._look_on.routes())
        app.middlewares.append(self._guard)
        return app

    @web.middleware
    async def _guard(
        self, request: web.Request, handler: Handler
    ) -> web.StreamResponse:
        access = self._access
        token = request.query.get("token", "")
        # What will be carried out counts, not how its address is written
        resource = request.match_info.route.resource
        refused = access.why_refused(
            Request(
                host=request.host,
                origin=request.headers.get("Origin", ""),
                cookies=request.cookies,
                token=token,
                path="" if resource is None else resource.canonical,
            )
        )
        if refused:
            return web.Response(status=403, text=f"Refused: {refused}.\n")
        if token and resource is not None:
            raise self._moved(request.path, token)
        response = await handler(request)
        if not response.prepared:
            response.headers.setdefault("Content-Security-Policy", _POLICY)
            response.headers["Referrer-Policy"] = "no-referrer"
        return response

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


def _command(rig_name: str | None, records: str | None, look_folder: Path) -> str:
    words = [sys.executable, "-m", "rig.tui", "--look-folder", str(look_folder)]
    if rig_name is not None:
        words += ["--rig", rig_name]
    if records is not None:
        words += ["--records", records]
    return shlex.join(words)


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
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    try:
        with _picture_folder() as folder:
            GuardedServer(
                access, rig_name=rig_name, records=records, look_folder=Path(folder)
            ).serve()
    finally:
        asyncio.set_event_loop(None)
        loop.close()
