"""`gapsweep serve` in a process of its own, and a browser that visits it."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.patience import PATIENCE_S
from tests.report.chromium import Chromium

PROGRAM = (sys.executable, "-c", "from rig.cli.main import main; main()")
TOKEN = "a-token-of-some-length"
LOOK_TOKEN = "another-for-looking-on"
WINDOW = {"width": 1000, "height": 640, "deviceScaleFactor": 1, "mobile": False}


@contextmanager
def served(tmp_path: Path, *options: str, **variables: str) -> Iterator[str]:
    """Serve the UI from a process of its own; gives the address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    own = {"GAPSWEEP_RECORDS": str(tmp_path / "records.sqlite"), "HOME": str(tmp_path)}
    process = subprocess.Popen(
        [*PROGRAM, "serve", "--port", str(port), *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, **own, **variables},
        text=True,
    )
    try:
        assert process.stdout is not None
        assert process.stdout.readline().startswith(f"http://127.0.0.1:{port}/")
        until(lambda: answers(port))
        yield f"http://127.0.0.1:{port}/"
    finally:
        process.terminate()
        process.communicate(timeout=PATIENCE_S)


def answers(port: int) -> bool:
    with socket.socket() as trial:
        return trial.connect_ex(("127.0.0.1", port)) == 0


def until(claim: Callable[[], bool]) -> None:
    give_up_s = time.monotonic() + PATIENCE_S
    while not claim():
        assert time.monotonic() < give_up_s, "it never came about"
        time.sleep(0.1)


def visit(browser: Chromium, address: str) -> None:
    browser.events.clear()
    browser.ask("Emulation.setDeviceMetricsOverride", **WINDOW)
    browser.ask("Page.navigate", url=address)


def is_an_error(complaint: dict[str, Any]) -> bool:
    """Whether the page is at fault; the library logs how long a ping took."""
    told = complaint["params"]
    level = told.get("entry", told).get("level", told.get("type", "error"))
    return level not in ("log", "info", "warning", "verbose")
