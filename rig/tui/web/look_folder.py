"""The folder in which each tab leaves a picture of its screen for onlookers.

Knows neither the app nor the server. Tabs write and the server reads; nothing goes the
other way.
"""

from __future__ import annotations

import os
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Final

# A tab says once a second that it is there. One that was killed says nothing more, and
# its picture is no longer what anybody works with
_GONE_AFTER_S: Final = 5.0
_WITH_RIG: Final = "rig"
_WITHOUT: Final = "none"


class TabPicture:
    """The picture of one tab, for whichever thread writes it.

    Args:
        folder: Made by the server, for its user alone.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        # In the order in which tabs opened; two never have the same
        self._name = f"{time.time_ns():020d}-{os.getpid()}"
        self._path: Path | None = None
        self._ended = False
        self._lock = threading.Lock()

    def show(self, svg: str, *, has_rig: bool) -> None:
        """Put a new picture in the place of the old one: whole, or not at all.

        Raises:
            OSError: It could not be written; the old one stays.
        """
        with self._lock:
            if self._ended:
                return
            suffix = _WITH_RIG if has_rig else _WITHOUT
            path = self._folder / f"{self._name}.{suffix}.svg"
            part = path.with_suffix(".part")
            part.write_bytes(svg.encode("utf-8"))
            part.replace(path)
            before, self._path = self._path, path
            if before not in (None, path):
                before.unlink(missing_ok=True)

    def keep(self) -> None:
        """Say that the tab is there and the picture holds.

        Raises:
            OSError: The picture is gone.
        """
        with self._lock:
            if self._path is not None and not self._ended:
                os.utime(self._path)

    def end(self) -> None:
        """Take the picture away, for good."""
        with self._lock:
            self._ended = True
            if self._path is not None:
                with suppress(OSError):
                    self._path.unlink(missing_ok=True)


def picture_to_show(folder: Path, *, now_s: float) -> Path | None:
    """Return the picture for onlookers; None if no tab shows one.

    A tab that has a rig goes before one that has none; of equals the one that was
    opened last. So the picture does not jump between two tabs that both draw.

    Args:
        folder: Folder that the tabs write to.
        now_s: The time, seconds since the epoch.
    """
    there = []
    for path in folder.glob("*.svg"):
        with suppress(OSError):  # it ended this very moment
            if now_s - path.stat().st_mtime <= _GONE_AFTER_S:
                there.append(path)
    return max(there, key=_rank, default=None)


def _rank(path: Path) -> tuple[bool, str]:
    name, _, suffix = path.stem.rpartition(".")
    return suffix == _WITH_RIG, name
