"""Opens what was written, with what the computer of whoever looks at the screen has."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Final

from textual.app import App

from rig.errors import InputError

_DESKTOPS: Final = ("DISPLAY", "WAYLAND_DISPLAY")


def open_written(app: App[None], path: Path) -> None:
    """Open a file or a folder; in a browser tab, hand the file to the browser.

    Raises:
        InputError: It is not there, or there is nothing to open it with.
    """
    if not path.exists():
        raise InputError(
            f"nothing was written to {path} yet", hint="Ctrl+O writes a report"
        )
    if app.is_web:
        if path.is_dir():
            raise InputError(
                f"a browser cannot open the folder {path}",
                hint="it is on the computer that serves this page",
            )
        app.deliver_text(path, open_method="browser", mime_type="text/html")
        return
    if not has_desktop():
        # A browser of the terminal would take the terminal from this program
        raise InputError(
            f"this terminal has no desktop to open {path} on",
            hint="open the file by its path, or fetch it from there",
        )
    app.open_url(path.resolve().as_uri())


def has_desktop() -> bool:
    """Whether windows can be opened here."""
    if sys.platform in ("win32", "darwin"):
        return True
    return any(os.environ.get(name) for name in _DESKTOPS)
