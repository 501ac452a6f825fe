"""What onlookers get from the server: a page, and the picture that it shows.

Reads a folder and answers. It has no hold of the app, its tabs or its rig, so nothing
that is asked for here can reach them.
"""

from __future__ import annotations

import asyncio
import gzip
import hashlib
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from aiohttp import web

from rig.tui.web.look_folder import picture_to_show
from rig.tui.web.web_access import LOOK_PAGE, LOOK_PICTURE

_PAGE: Final = Path(__file__).parent / "look.html"
# The page's own script and style; it may fetch from this server and nowhere else
_PAGE_POLICY: Final = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; "
    "connect-src 'self'; img-src 'self' blob: data:; frame-ancestors 'none'; "
    "base-uri 'none'; form-action 'none'"
)
_PICTURE_POLICY: Final = "default-src 'none'; sandbox; frame-ancestors 'none'"
_FAST_GZIP: Final = 4  # a class shares one network; more saves little


@dataclass(frozen=True, slots=True, kw_only=True)
class _Picture:
    """A picture ready to be handed out.

    Attributes:
        written: Path and time of the file that it was read from.
        etag: Entity tag of what it shows.
        packed: The SVG, compressed.
    """

    written: tuple[Path, int]
    etag: str
    packed: bytes


class LookOn:
    """The page for onlookers and its picture.

    Args:
        folder: Folder that the tabs write to.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._page = _PAGE.read_text("utf-8")
        self._latest: _Picture | None = None

    def routes(self) -> list[web.RouteDef]:
        """Return what can be asked for: to get two things, and to do nothing."""
        return [web.get(LOOK_PAGE, self._get_page), web.get(LOOK_PICTURE, self._get)]

    async def _get_page(self, _request: web.Request) -> web.Response:
        headers = {"Content-Security-Policy": _PAGE_POLICY, "Cache-Control": "no-store"}
        return web.Response(text=self._page, content_type="text/html", headers=headers)

    async def _get(self, request: web.Request) -> web.Response:
        picture = await asyncio.to_thread(self._read)
        headers = {"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"}
        if picture is None:
            # No error: there is nothing to see at the moment
            return web.Response(status=204, headers=headers)
        headers |= {
            "ETag": picture.etag,
            "Vary": "Accept-Encoding",
            "Content-Security-Policy": _PICTURE_POLICY,
        }
        if request.headers.get("If-None-Match") == picture.etag:
            return web.Response(status=304, headers=headers)
        body = picture.packed
        if "gzip" in request.headers.get("Accept-Encoding", ""):
            headers["Content-Encoding"] = "gzip"
        else:
            body = gzip.decompress(body)
        return web.Response(body=body, content_type="image/svg+xml", headers=headers)

    def _read(self) -> _Picture | None:
        """Return the picture of now; read and compressed once for all onlookers."""
        path = picture_to_show(self._folder, now_s=time.time())
        if path is None:
            return None
        try:
            written = (path, path.stat().st_mtime_ns)
            latest = self._latest
            if latest is None or latest.written != written:
                latest = self._latest = _pack(written, path.read_bytes())
        except OSError:
            return None  # it ended this very moment
        return latest


def _pack(written: tuple[Path, int], svg: bytes) -> _Picture:
    mark = hashlib.blake2b(svg, digest_size=12).hexdigest()
    packed = gzip.compress(svg, _FAST_GZIP)
    return _Picture(written=written, etag=f'"{mark}"', packed=packed)
