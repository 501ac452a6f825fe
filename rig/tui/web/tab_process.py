"""The process behind one browser tab: bounded in size, cut off when nobody reads.

It ends with its tab and with its server: the server tells it to, closes its input, and
kills what has not ended by then. A server that is killed closes the input too.
"""

from __future__ import annotations

import asyncio
import sys
from asyncio.subprocess import Process
from collections.abc import Sequence
from contextlib import suppress
from typing import Any, Final

from textual_serve.app_service import AppService

# Columns and rows of the largest screen with the smallest letters, and of a small one
WIDEST: Final = 500
HIGHEST: Final = 200
NARROWEST: Final = 20
LOWEST: Final = 6
DRIVER: Final = "rig.tui.web.tab_driver:TabDriver"
_READING_PATIENCE_S: Final = 15.0  # a tab that takes nothing for so long is cut off
_LEAVING_PATIENCE_S: Final = 10.0  # closing the rig takes up to 3


def bounded_size(width: int, height: int) -> tuple[int, int]:
    """Return the size of a tab, columns and rows, brought into its bounds."""
    return (
        max(NARROWEST, min(WIDEST, width)),
        max(LOWEST, min(HIGHEST, height)),
    )


class TabProcess(AppService):
    """Starts, feeds and ends the process of one tab.

    Args:
        words: The command, word by word.
        options: What the library's own takes.
        reading_patience_s: How long a browser may take nothing.
    """

    def __init__(
        self,
        words: Sequence[str],
        *,
        reading_patience_s: float = _READING_PATIENCE_S,
        **options: Any,
    ) -> None:
        super().__init__("", **options)
        self._words = words
        self._reading_patience_s = reading_patience_s
        self._stopping: asyncio.Task[None] | None = None

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        environment: dict[str, str] = super()._build_environment(width, height)
        return {**environment, "TEXTUAL_DRIVER": DRIVER}

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        width, height = bounded_size(width, height)
        # No shell between: it would be the shell that is killed
        self._process = process = await asyncio.create_subprocess_exec(
            *self._words,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE,
            env=self._build_environment(width, height),
        )
        assert process.stdin is not None
        self._stdin = process.stdin
        return process

    async def set_terminal_size(self, width: int, height: int) -> None:
        """Tell the process a new size, within the bounds."""
        await super().set_terminal_size(*bounded_size(width, height))

    async def on_data(self, payload: bytes) -> None:
        """Pass on what the process draws; cut off whoever does not take it."""
        try:
            async with asyncio.timeout(self._reading_patience_s):
                await super().on_data(payload)
        except TimeoutError as exc:
            raise ConnectionResetError("the browser takes nothing") from exc

    async def run(self) -> None:
        """Serve the tab until its process or its browser goes."""
        await super().run()
        with suppress(Exception):  # it may be gone, or stuck
            async with asyncio.timeout(1.0):
                await self.remote_close()

    async def stop(self) -> None:
        """Tell the process to leave, and see to it that it does.

        Goes on to its end even if whoever waits for it is cancelled.
        """
        if self._stopping is None:
            self._stopping = asyncio.create_task(self._stop())
        await asyncio.shield(self._stopping)

    async def _stop(self) -> None:
        process = self._process
        if process is None or process.returncode is not None:
            await super().stop()
            return
        try:
            async with asyncio.timeout(_LEAVING_PATIENCE_S):
                await self.send_meta({"type": "quit"})
                self.stdin.close()
                await asyncio.gather(_drained(process, self._task), process.wait())
        except TimeoutError:
            print("a tab did not leave and was ended", file=sys.stderr)  # noqa: T201
            with suppress(ProcessLookupError):
                process.kill()
            await process.wait()
        await super().stop()


async def _drained(process: Process, task: asyncio.Task[None] | None) -> None:
    """Read what a leaving process still writes, or it waits for its reader."""
    if task is not None:
        await asyncio.wait([task])
    assert process.stdout is not None
    while await process.stdout.read(65536):
        pass
