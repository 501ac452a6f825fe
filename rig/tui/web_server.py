"""The server of the UI in a browser: the UI library's own, with a guard at its door.

Needs the extra `web`. Each tab is a process of its own; the lock of the port keeps two
of them off one rig.
"""

from __future__ import annotations

import asyncio
import logging
import shlex
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Final

from aiohttp import web
from textual_serve.server import Server

from rig.tui.web_access import Access, Request

TITLE: Final = "Gapsweep"
_PAGE_FOLDER: Final = Path(__file__).parent / "web"
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
    """

    def __init__(
        self, access: Access, *, rig_name: str | None, records: str | None
    ) -> None:
        super().__init__(
            _command(rig_name, records),
            host=access.host,
            port=access.port,
            title=TITLE,
            templates_path=_PAGE_FOLDER,
        )
        self._access = access

    def initialize_logging(self) -> None:
        """Let only what is wrong through, to standard error."""
        logging.basicConfig(level=logging.WARNING, format="%(message)s")

    async def on_startup(self, app: web.Application) -> None:
        """Say nothing: the command has said it."""

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(self._guard)
        return app

    @web.middleware
    async def _guard(
        self, request: web.Request, handler: Handler
    ) -> web.StreamResponse:
        access = self._access
        token = request.query.get("token", "")
        refused = access.why_refused(
            Request(
                host=request.host,
                origin=request.headers.get("Origin", ""),
                cookies=request.cookies,
                token=token,
            )
        )
        if refused:
            return web.Response(status=403, text=f"Refused: {refused}.\n")
        if token:
            # Out of the address line, the history and the referrer
            moved = web.HTTPSeeOther(request.path)
            moved.set_cookie(access.cookie, token, httponly=True, samesite="Strict")
            raise moved
        response = await handler(request)
        if not response.prepared:
            response.headers["Content-Security-Policy"] = _POLICY
            response.headers["Referrer-Policy"] = "no-referrer"
        return response


def _command(rig_name: str | None, records: str | None) -> str:
    words = [sys.executable, "-m", "rig.tui"]
    if rig_name is not None:
        words += ["--rig", rig_name]
    if records is not None:
        words += ["--records", records]
    return shlex.join(words)


def serve_until_stopped(
    access: Access, *, rig_name: str | None, records: str | None
) -> None:
    """Serve until Ctrl-C.

    Raises:
        OSError: The address or the port is not to be had.
    """
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    try:
        GuardedServer(access, rig_name=rig_name, records=records).serve()
    finally:
        asyncio.set_event_loop(None)
        loop.close()
