"""A headless Chromium over its remote-control pipe, with the standard library alone."""

from __future__ import annotations

import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.patience import PATIENCE_S

CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--remote-debugging-pipe",
)
# The browser takes orders on descriptor 3 and answers on 4; above 9 neither is lost
LAUNCH = """
import fcntl, os, sys
ends = [fcntl.fcntl(int(end), fcntl.F_DUPFD, 10) for end in sys.argv[1:3]]
for number, end in enumerate(ends, start=3):
    os.dup2(end, number)
    os.close(end)
os.execv(sys.argv[3], sys.argv[3:])
"""


class Chromium:
    """One page in one browser; collects what the page asks for and complains of."""

    def __init__(self) -> None:
        assert CHROMIUM is not None
        self._profile = tempfile.mkdtemp(prefix="report-chromium-")
        orders_out, self._orders = os.pipe()
        self._answers, answers_in = os.pipe()
        self._process = subprocess.Popen(
            [
                sys.executable,
                "-c",
                LAUNCH,
                str(orders_out),
                str(answers_in),
                CHROMIUM,
                *FLAGS,
                f"--user-data-dir={self._profile}",
            ],
            pass_fds=(orders_out, answers_in),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(orders_out)
        os.close(answers_in)
        self._pending = b""
        self._number = 0
        self._session: str | None = None
        self.events: list[dict[str, Any]] = []

    def __enter__(self) -> Chromium:
        try:
            self._attach()
        except BaseException:
            self._end()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self._session = None
        try:
            self.ask("Browser.close")
            self._process.wait(PATIENCE_S)
        finally:
            self._end()

    def _end(self) -> None:
        self._process.kill()
        self._process.wait()
        os.close(self._orders)
        os.close(self._answers)
        shutil.rmtree(self._profile, ignore_errors=True)

    def _attach(self) -> None:
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask(
            "Target.attachToTarget", targetId=target, flatten=True
        )["sessionId"]
        for domain in ("Page", "Network", "Log", "Runtime"):
            self.ask(f"{domain}.enable")

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        self._number += 1
        order: dict[str, Any] = {
            "id": self._number,
            "method": method,
            "params": params,
        }
        if self._session:
            order["sessionId"] = self._session
        text = json.dumps(order).encode() + b"\0"
        while text:
            text = text[os.write(self._orders, text) :]
        while (message := self._next()).get("id") != self._number:
            self.events.append(message)
        if "error" in message:
            raise RuntimeError(f"{method}: {message['error']}")
        return message["result"]

    def open(self, page: Path) -> None:
        self.events.clear()
        self.ask("Page.navigate", url=page.as_uri())
        while not self._happened("Page.loadEventFired"):
            self.events.append(self._next())

    def evaluate(self, expression: str) -> Any:
        answer = self.ask("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"]["value"]

    def requests(self) -> list[str]:
        return [
            event["params"]["request"]["url"]
            for event in self._happened("Network.requestWillBeSent")
        ]

    def complaints(self) -> list[dict[str, Any]]:
        names = (
            "Log.entryAdded",
            "Runtime.consoleAPICalled",
            "Runtime.exceptionThrown",
        )
        return [event for name in names for event in self._happened(name)]

    def _happened(self, name: str) -> list[dict[str, Any]]:
        return [event for event in self.events if event.get("method") == name]

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._pending:
            ready, _, _ = select.select([self._answers], [], [], PATIENCE_S)
            if not ready:
                raise TimeoutError("Chromium does not answer")
            chunk = os.read(self._answers, 1 << 16)
            if not chunk:
                raise EOFError("Chromium is gone")
            self._pending += chunk
        text, _, self._pending = self._pending.partition(b"\0")
        return json.loads(text)
